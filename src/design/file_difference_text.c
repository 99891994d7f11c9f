/* The differences of two house files, as JSON and as text. */
#include <string.h>

#include "design/file_difference.h"

static const char *kind_name(enum file_difference_kind kind)
{
    static const char *const NAMES[] = {
        [FILE_ONLY_FIRST] = "only_first", [FILE_ONLY_SECOND] = "only_second", [FILE_CHANGED] = "changed"
    };
    return NAMES[kind];
}

/* ---- JSON ---- */

static void write_side(struct json *j, struct str side)
{
    if (side.p)
        json_str(j, NULL, side);
    else
        json_null(j, NULL);
}

static void write_member_json(struct json *j, const struct differing_member *m)
{
    json_begin_object(j, NULL);
    json_str(j, "member", m->member);
    json_str(j, "says", m->says);
    json_text(j, "unit", m->unit);
    json_begin_array(j, "sides");
    write_side(j, m->sides[0]);
    write_side(j, m->sides[1]);
    json_end_array(j);
    json_end_object(j);
}

void file_differences_write_json(struct json *j, const file_difference_list *list)
{
    json_begin_array(j, "differences");
    for (uint32_t i = 0; i < list->n; i++) {
        const struct file_difference *d = &list->v[i];
        json_begin_object(j, NULL);
        json_str(j, "section", file_difference_section(j->out->arena, d));
        json_str(j, "id", d->id);
        json_str(j, "says", d->says);
        json_text(j, "change", kind_name(d->kind));
        json_begin_array(j, "members");
        for (uint32_t m = 0; m < d->members.n; m++)
            write_member_json(j, &d->members.v[m]);
        json_end_array(j);
        json_end_object(j);
    }
    json_end_array(j);
}

/* ---- text ---- */

enum { HEAD_COLUMNS = 2, MEMBER_COLUMNS = 6 };

/* A line that hangs: what does not fit goes below, deeper. */
static void put_lines(struct buf *out, const char *mark, struct str text, unsigned indent, unsigned columns)
{
    buf_text(out, mark);
    for (bool first = true; first || text.n; first = false) {
        buf_fill(out, ' ', first ? indent - (unsigned)strlen(mark) : indent + 2);
        buf_str(out, str_take_line(&text, columns - indent - 2));
        buf_char(out, '\n');
    }
}

static void put_side(struct buf *b, const struct differing_member *m, int k)
{
    buf_str(b, m->sides[k].p ? m->sides[k] : STR("left out"));
    if (m->sides[k].p && m->unit[0])
        buf_printf(b, " %s", m->unit);
}

static void write_member(struct buf *out, const struct file_difference *d, const struct differing_member *m,
                         unsigned columns)
{
    struct buf b = { .arena = out->arena };
    buf_str(&b, m->says);
    buf_text(&b, ": ");
    if (d->kind != FILE_ONLY_SECOND)
        put_side(&b, m, 0);
    if (d->kind == FILE_CHANGED)
        buf_text(&b, " -> ");
    if (d->kind != FILE_ONLY_FIRST)
        put_side(&b, m, 1);
    out->failed |= b.failed;
    put_lines(out, "", buf_done(&b), MEMBER_COLUMNS, columns);
}

static void write_thing(struct buf *out, const struct file_difference *d, unsigned columns)
{
    static const char *const MARKS[] = {
        [FILE_ONLY_FIRST] = "  -", [FILE_ONLY_SECOND] = "  +", [FILE_CHANGED] = "  *"
    };
    struct buf b = { .arena = out->arena };
    buf_str(&b, d->id);
    if (d->says.n && !str_eq(d->says, d->id))
        buf_printf(&b, "%s%.*s", d->id.n ? ", " : "", STR_ARG(d->says));
    out->failed |= b.failed;
    if (b.n)
        put_lines(out, MARKS[d->kind], buf_done(&b), HEAD_COLUMNS + 2, columns);
    for (uint32_t m = 0; m < d->members.n; m++)
        write_member(out, d, &d->members.v[m], columns);
}

void file_differences_write_text(struct buf *out, const file_difference_list *list, const struct str names[2],
                                 unsigned columns)
{
    if (!list->n) {
        put_lines(out, "", STR("Both files say the same, whatever their order and comments."), HEAD_COLUMNS, columns);
        return;
    }
    const char *head = arena_printf(out->arena, "What differs in the files: - only in %.*s, + only in %.*s, * in both",
                                    STR_ARG(names[0]), STR_ARG(names[1]));
    out->failed |= !head;
    put_lines(out, "", str_from(head ? head : ""), HEAD_COLUMNS, columns);
    for (uint32_t i = 0; i < list->n; i++) {
        const struct file_difference *d = &list->v[i];
        if (i == 0 || list->v[i - 1].section != d->section) {
            buf_char(out, '\n');
            put_lines(out, "", file_difference_section(out->arena, d), HEAD_COLUMNS, columns);
        }
        write_thing(out, d, columns);
    }
}
