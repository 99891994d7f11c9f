/* Destinations: every id of the flow gets a name that is unique in the document and safe in a tag's attributes, and what leads to an
 * id gets that name. */
#include <stdlib.h>
#include <string.h>

#include "book/flow_int.h"

struct entry {
    const char *id, *name;
    uint32_t i; /* of the laid-out block */
};

/* Letters, digits, dot, low line and hyphen stand for themselves, anything else as % and two hexadecimal digits, so that a tilde is
 * free to tell two of one id apart. */
static const char *name_of(struct flow *f, const char *id, uint32_t again)
{
    struct buf b = { .arena = f->arena };
    for (const char *c = id; *c; c++) {
        const bool is_plain = (*c >= 'a' && *c <= 'z') || (*c >= 'A' && *c <= 'Z') || (*c >= '0' && *c <= '9') ||
                              *c == '.' || *c == '_' || *c == '-';
        if (is_plain)
            buf_char(&b, *c);
        else
            buf_printf(&b, "%%%02X", (unsigned)(unsigned char)*c);
    }
    if (again || !*id)
        buf_printf(&b, "~%u", again);
    f->failed |= b.failed;
    return b.failed ? NULL : buf_done(&b).p;
}

static int by_id(const void *a, const void *b)
{
    const struct entry *x = a, *y = b;
    const int order = strcmp(x->id, y->id);
    return order ? order : (x->i > y->i) - (x->i < y->i);
}

static int id_against(const void *id, const void *entry) { return strcmp(id, ((const struct entry *)entry)->id); }

static const char *attributes_to(struct flow *f, const struct entry *v, uint32_t n, const char *id)
{
    if (!id)
        return NULL;
    const struct entry *found = n ? bsearch(id, v, n, sizeof *v, id_against) : NULL;
    if (!found) {
        f->dangling = f->dangling ? f->dangling : id;
        return NULL;
    }
    while (found > v && strcmp(found[-1].id, id) == 0)
        found--;
    return flow_words(f, "dest='%s'", found->name).p;
}

void flow_name_all(struct flow *f)
{
    struct entry *v = ARENA_ARRAY(f->arena, struct entry, f->laid.n);
    uint32_t n = 0;
    if (!v) {
        f->failed = true;
        return;
    }
    for (uint32_t i = 0; i < f->laid.n; i++)
        if (f->laid.v[i].id && !f->laid.v[i].is_rest)
            v[n++] = (struct entry){ f->laid.v[i].id, NULL, i };
    qsort(v, n, sizeof *v, by_id);
    for (uint32_t i = 0, again = 0; i < n; i++) {
        again = i && strcmp(v[i].id, v[i - 1].id) == 0 ? again + 1 : 0;
        f->laid.v[v[i].i].name = v[i].name = name_of(f, v[i].id, again);
    }
    for (uint32_t i = 0; i < f->laid.n; i++) {
        struct block *b = &f->laid.v[i];
        b->to = attributes_to(f, v, n, b->to);
        for (uint32_t c = 0; b->cells && c < b->grid->n; c++)
            b->cells[c].to = attributes_to(f, v, n, b->cells[c].to);
    }
}
