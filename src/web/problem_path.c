#include "web/problem_path.h"

#include <string.h>

#include "house/edit_int.h"
#include "house/house.h"
#include "house/yaml.h"

static bool covers(size_t from, size_t to, size_t byte) { return byte >= from && byte < to; }

/* One step down to what has that byte in it: the step is written, its value returned.  A key counts with its value. */
static const struct yaml_node *step(const struct yaml_node *in, size_t byte, struct buf *path)
{
    if (in->kind == YAML_MAP)
        for (uint32_t i = 0; i < in->pairs.n; i++) {
            const struct yaml_pair *pair = &in->pairs.v[i];
            const size_t key_end = pair->key->at.byte + pair->key->at.n;
            const size_t end = pair->value && pair->value->end > key_end ? pair->value->end : key_end;
            if (!covers(pair->key->at.byte, end, byte))
                continue;
            edit_path_add(path, pair->key->text);
            return pair->value;
        }
    if (in->kind == YAML_LIST)
        for (uint32_t i = 0; i < in->items.n; i++) {
            const struct yaml_node *item = in->items.v[i];
            if (!covers(item->at.byte, item->end, byte))
                continue;
            buf_printf(path, "/%u", i);
            return item;
        }
    return NULL;
}

static const struct rt_source *source_of(const struct rt_problems *all, const char *file)
{
    for (uint32_t i = 0; i < all->sources.n; i++)
        if (strcmp(all->sources.v[i].file, file) == 0)
            return &all->sources.v[i];
    return NULL;
}

static void look_into(const struct rt_problems *all, const char *file, struct problem_tree *t)
{
    static const struct yaml_limits LIMITS = { HOUSE_MAX_DEPTH, HOUSE_MAX_ALIASES, HOUSE_MAX_ITEMS, HOUSE_MAX_VALUES };
    const struct rt_source *s = source_of(all, file);
    struct rt_problems unheard; /* they are told already */
    rt_problems_init(&unheard, all->arena);
    *t = (struct problem_tree){ .file = file };
    if (s && yaml_read(all->arena, file, s->bytes, &LIMITS, &t->root, &unheard) != RT_OK && !t->root)
        t->root = NULL;
}

const char *problem_path(const struct rt_problems *all, const struct rt_problem *one, struct problem_tree *t)
{
    if (!one->at.line || !one->at.file)
        return NULL;
    if (t->file != one->at.file)
        look_into(all, one->at.file, t);
    struct buf path = { .arena = all->arena };
    const struct yaml_node *at = t->root;
    while (at)
        at = step(at, one->at.byte, &path);
    return path.n && !path.failed ? arena_printf(all->arena, "%.*s", (int)path.n, path.p) : NULL;
}
