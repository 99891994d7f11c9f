/* Which single things can fail, and what people call them. */
#include "promise/damage.h"
#include "promise/wire_words.h"

static const char *const WORDS[] = {
#define X(upper, lower, words) words,
    FAILURE_KINDS(X)
#undef X
};

const char *failure_kind_name(enum failure_kind kind)
{
    static const char *const NAMES[] = {
#define X(upper, lower, words) #lower,
        FAILURE_KINDS(X)
#undef X
    };
    return NAMES[kind];
}

struct lister {
    struct arena *arena;
    const struct house *h;
    VEC(struct failure) list;
    bool failed;
};

/* "access point a2 (landing)"; what is called as its kind is "the switch (cupboard)". */
static const char *name_of(struct arena *a, const struct failure *f, struct str more)
{
    const char *name = str_is(f->id, failure_kind_name(f->kind))
                           ? arena_printf(a, "the %s", WORDS[f->kind])
                           : arena_printf(a, "%s %.*s", WORDS[f->kind], STR_ARG(f->id));
    return name && more.n && !str_eq(more, f->id) ? arena_printf(a, "%s (%.*s)", name, STR_ARG(more)) : name;
}

static void add(struct lister *l, struct failure f, struct str more)
{
    const char *name = f.says.n ? "" : name_of(l->arena, &f, more);
    if (!f.says.n)
        f.says = str_from(name ? name : "");
    l->failed |= !name || !VEC_PUSH(l->arena, &l->list, f);
}

static void list_equipment(struct lister *l, enum failure_kind kind, enum part_kind part)
{
    const struct house *h = l->h;
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        const uint32_t i = h->equipment.v[e].part.i;
        if (i != NO_REF && h->parts.list.v[i].kind == part)
            add(l, (struct failure){ .kind = kind, .i = e, .recording = NO_REF, .id = h->equipment.v[e].id },
                equipment_words(h, e));
    }
}

static void list_cables(struct lister *l)
{
    const struct house *h = l->h;
    for (uint32_t c = 0; c < h->cables.n; c++) {
        const struct cable *k = &h->cables.v[c];
        if (tree_thing_of(h, &k->from) == NO_REF || tree_thing_of(h, &k->to) == NO_REF)
            continue;
        const char *ends = arena_printf(l->arena, "%.*s to %.*s", STR_ARG(k->from.what), STR_ARG(k->to.what));
        l->failed |= !ends;
        add(l, (struct failure){ .kind = FAILURE_CABLE, .i = c, .recording = NO_REF, .id = k->id },
            str_from(ends ? ends : ""));
    }
}

static void list_mains(struct lister *l)
{
    const str_list circuits = circuits_of_house(l->arena, l->h);
    const struct failure all = { .kind = FAILURE_MAINS, .i = NO_REF, .recording = NO_REF, .id = STR("mains") };
    l->failed |= !circuits.v;
    add(l,
        (struct failure){ .kind = all.kind,
                          .i = all.i,
                          .recording = all.recording,
                          .id = all.id,
                          .says = STR("mains of the whole house") },
        STR(""));
    for (uint32_t i = 0; i < circuits.n; i++) {
        const char *says = arena_printf(l->arena, "mains circuit %.*s", STR_ARG(circuits.v[i]));
        struct failure f = all;
        f.circuit = f.id = circuits.v[i];
        f.says = str_from(says ? says : "");
        l->failed |= !says;
        add(l, f, STR(""));
    }
}

static void list_disks(struct lister *l)
{
    const struct house *h = l->h;
    list_equipment(l, FAILURE_DISK, PART_DISK);
    for (uint32_t r = 0; r < h->recordings.n; r++) {
        const struct recording *rec = &h->recordings.v[r];
        bool is_again = rec->disks.n > 0;
        for (uint32_t k = 0; k < r && !is_again; k++)
            is_again = h->recordings.v[k].disks.n == 0 && str_eq(h->recordings.v[k].recorder, rec->recorder);
        if (!is_again) {
            const char *says = arena_printf(l->arena, "disk in %.*s", STR_ARG(rec->recorder));
            l->failed |= !says;
            add(l,
                (struct failure){ .kind = FAILURE_DISK,
                                  .i = NO_REF,
                                  .recording = r,
                                  .id = rec->recorder,
                                  .says = str_from(says ? says : "") },
                STR(""));
        }
    }
}

enum rt_code failures_of_house(struct arena *a, const struct house *h, unsigned kinds, failure_list *out,
                               struct rt_problems *p)
{
    struct lister l = { .arena = a, .h = h };
    if (kinds & 1u << FAILURE_ACCESS_POINT)
        list_equipment(&l, FAILURE_ACCESS_POINT, PART_ACCESS_POINT);
    if (kinds & 1u << FAILURE_CABLE)
        list_cables(&l);
    if (kinds & 1u << FAILURE_SWITCH)
        list_equipment(&l, FAILURE_SWITCH, PART_SWITCH);
    if (kinds & 1u << FAILURE_GATEWAY)
        list_equipment(&l, FAILURE_GATEWAY, PART_GATEWAY);
    if (kinds & 1u << FAILURE_LINE && h->line.at.line)
        add(&l,
            (struct failure){
                .kind = FAILURE_LINE, .i = NO_REF, .recording = NO_REF, .id = STR("line"), .says = STR("the line") },
            STR(""));
    if (kinds & 1u << FAILURE_MAINS)
        list_mains(&l);
    if (kinds & 1u << FAILURE_DISK)
        list_disks(&l);
    out->v = l.list.v;
    out->n = l.list.n;
    return l.failed ? rt_fail_memory(p) : RT_OK;
}
