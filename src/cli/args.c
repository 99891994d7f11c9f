/* Words of the command line -> struct args, by the tables of options. */
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "cli/command.h"

static const struct opt *find_opt(const struct command *c, struct str name)
{
    size_t n;
    const struct opt *common = common_opts(&n);
    for (size_t i = 0; i < c->n_opts; i++)
        if (str_is(name, c->opts[i].name))
            return &c->opts[i];
    for (size_t i = 0; i < n; i++)
        if (str_is(name, common[i].name))
            return &common[i];
    return NULL;
}

static const char *hint_for_command(const struct command *c, struct rt_problems *p)
{
    return arena_printf(p->arena, "rooftree help %s shows its options", c->name);
}

static enum rt_code fail_unknown(const struct command *c, struct str name, struct rt_problems *p)
{
    struct str known[64];
    size_t n_known = 0, n;
    const struct opt *common = common_opts(&n);
    for (size_t i = 0; i < c->n_opts && n_known < RT_COUNT(known); i++)
        known[n_known++] = str_from(c->opts[i].name);
    for (size_t i = 0; i < n && n_known < RT_COUNT(known); i++)
        known[n_known++] = str_from(common[i].name);
    const size_t near = str_nearest(name, known, n_known);
    const char *hint =
        near < n_known ? arena_printf(p->arena, "did you mean --%.*s?", STR_ARG(known[near])) : hint_for_command(c, p);
    return rt_fail(p, RT_USAGE, RT_NOWHERE, hint, "`%s` has no option --%.*s", c->name, STR_ARG(name));
}

/* One finite number that fills the whole text. */
static bool read_number(struct str s, double *out)
{
    char text[64];
    if (s.n == 0 || s.n >= sizeof text)
        return false;
    memcpy(text, s.p, s.n);
    text[s.n] = '\0';
    char *end;
    errno = 0;
    *out = strtod(text, &end);
    return *end == '\0' && end != text && isfinite(*out) && text[0] != ' ';
}

static bool is_one_of(struct str word, const char *words)
{
    while (*words) {
        const size_t n = strcspn(words, "|");
        if (str_eq(word, (struct str){ words, n }))
            return true;
        words += n + (words[n] == '|');
    }
    return false;
}

static bool are_all_of(struct str list, const char *words)
{
    while (true) {
        const char *comma = memchr(list.p, ',', list.n);
        const size_t n = comma ? (size_t)(comma - list.p) : list.n;
        if (!is_one_of((struct str){ list.p, n }, words))
            return false;
        if (!comma)
            return true;
        list = (struct str){ comma + 1, list.n - n - 1 };
    }
}

/* X,Y or X,Y,Z. */
static bool read_point(const struct opt *o, struct str s, struct vec3 *out)
{
    double v[3] = { 0.0, 0.0, RT_NOT_GIVEN };
    for (int i = 0; i < 3; i++) {
        const char *comma = memchr(s.p, ',', s.n);
        const size_t n = comma ? (size_t)(comma - s.p) : s.n;
        if (!read_number((struct str){ s.p, n }, &v[i]) || v[i] < o->lo || v[i] > o->hi)
            return false;
        if (!comma) {
            *out = (struct vec3){ v[0], v[1], v[2] };
            return i >= 1;
        }
        s = (struct str){ comma + 1, s.n - n - 1 };
    }
    return false;
}

static enum rt_code set_value(const struct opt *o, struct str value, struct args *args, struct rt_problems *p)
{
    char *member = (char *)args + o->offset;
    double number;
    bool ok = value.n > 0;
    switch (o->kind) {
    case OPT_FLAG:
        *(bool *)(void *)member = true;
        return RT_OK;
    case OPT_TEXT:
        break;
    case OPT_WORD:
        ok = ok && is_one_of(value, o->value);
        break;
    case OPT_WORDS:
        ok = ok && are_all_of(value, o->value);
        break;
    case OPT_NUM:
    case OPT_INT:
        ok = read_number(value, &number) && number >= o->lo && number <= o->hi &&
             (o->kind == OPT_NUM || number == floor(number));
        if (ok)
            *(double *)(void *)member = number;
        else
            return rt_fail(p, RT_USAGE, RT_NOWHERE, NULL, "--%s takes a %s from %g to %g, not `%.*s`", o->name,
                           o->kind == OPT_INT ? "whole number" : "number", o->lo, o->hi, STR_ARG(value));
        return RT_OK;
    case OPT_POINT:
        ok = ok && read_point(o, value, (struct vec3 *)(void *)member);
        args->at_given = ok;
        if (!ok)
            return rt_fail(p, RT_USAGE, RT_NOWHERE, "for example --at 2.5,4 or --at 2.5,4,0.6",
                           "--%s takes %s in metres, not `%.*s`", o->name, o->value, STR_ARG(value));
        return RT_OK;
    }
    if (!ok)
        return rt_fail(p, RT_USAGE, RT_NOWHERE, NULL, "--%s takes %s, not `%.*s`", o->name, o->value, STR_ARG(value));
    *(const char **)(void *)member = value.p;
    return RT_OK;
}

/* One word that begins with dashes, with its value behind '=' or in the next word. */
static void take_option(const struct command *c, int argc, char **argv, int *i, struct args *out, struct rt_problems *p)
{
    const char *word = argv[*i] + (argv[*i][1] == '-' ? 2 : 1);
    const char *equals = strchr(word, '=');
    const struct str name = { word, equals ? (size_t)(equals - word) : strlen(word) };
    const struct opt *o = find_opt(c, str_is(name, "h") ? STR("help") : str_is(name, "o") ? STR("out") : name);
    if (!o) {
        (void)fail_unknown(c, name, p);
        return;
    }
    struct str value = { 0 };
    if (o->kind == OPT_FLAG && equals) {
        rt_fail(p, RT_USAGE, RT_NOWHERE, NULL, "--%s takes no value", o->name);
        return;
    }
    if (o->kind != OPT_FLAG) {
        if (!equals && *i + 1 >= argc) {
            rt_fail(p, RT_USAGE, RT_NOWHERE, hint_for_command(c, p), "--%s needs %s", o->name, o->value);
            return;
        }
        value = str_from(equals ? equals + 1 : argv[++*i]);
    }
    if (set_value(o, value, out, p) != RT_OK)
        return; /* said; go on to find the other mistakes too */
}

static bool is_given_on_line(const struct opt *o, const struct args *args)
{
    if (o->kind == OPT_POINT)
        return args->at_given;
    return *(const char *const *)(const void *)((const char *)args + o->offset) != NULL;
}

enum rt_code args_parse(const struct command *c, int argc, char **argv, struct args *out, struct rt_problems *p)
{
    *out = (struct args){ .order = RT_NOT_GIVEN,
                          .cell_m = RT_NOT_GIVEN,
                          .paths = RT_NOT_GIVEN,
                          .availability = RT_NOT_GIVEN,
                          .seconds = RT_NOT_GIVEN,
                          .skip = RT_NOT_GIVEN,
                          .dpi = RT_NOT_GIVEN,
                          .port = RT_NOT_GIVEN };
    bool only_words = false;
    for (int i = 0; i < argc; i++) {
        if (!only_words && strcmp(argv[i], "--") == 0)
            only_words = true;
        else if (!only_words && argv[i][0] == '-' && argv[i][1])
            take_option(c, argc, argv, &i, out, p);
        else if (!c->takes)
            rt_fail(p, RT_USAGE, RT_NOWHERE, hint_for_command(c, p), "`%s` takes no argument, but got `%s`", c->name,
                    argv[i]);
        else if (out->file)
            rt_fail(p, RT_USAGE, RT_NOWHERE, hint_for_command(c, p), "`%s` takes one %s, but got `%s` too", c->name,
                    c->takes, argv[i]);
        else
            out->file = argv[i];
    }
    if (out->help)
        return RT_OK;
    if (c->takes_required && !out->file)
        rt_fail(p, RT_USAGE, RT_NOWHERE, arena_printf(p->arena, "for example: rooftree %s", c->example),
                "`%s` needs a %s", c->name, strcmp(c->takes, "FILE") == 0 ? "file" : "house file");
    for (size_t i = 0; i < c->n_opts; i++)
        if (c->opts[i].required && !is_given_on_line(&c->opts[i], out))
            rt_fail(p, RT_USAGE, RT_NOWHERE, arena_printf(p->arena, "for example: rooftree %s", c->example),
                    "`%s` needs --%s %s", c->name, c->opts[i].name, c->opts[i].value);
    return p->n_errors ? RT_USAGE : RT_OK;
}
