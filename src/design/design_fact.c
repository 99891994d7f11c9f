/* Which fact would make a promise possible that no choice of places keeps: equipment in a room that is kept free of it. */
#include "design/design_int.h"
#include "wire/bill.h"

static const double SECONDS_LEAST = 4.0; /* left, or the question is not asked */

/* The house with that promise alone, whose rooms may hold equipment; NULL: they may already, or the arena's ceiling (*failed). */
static struct house *opened_house(const struct designer *d, uint32_t promise, bool *failed)
{
    struct arena *a = d->run->arena;
    const struct promise *asked = &d->h->promises.v[promise];
    struct house *h = ARENA_NEW(a, struct house);
    struct room *rooms = ARENA_ARRAY(a, struct room, d->h->rooms.n);
    struct promise *alone = ARENA_NEW(a, struct promise);
    bool opens = false;
    *failed = !h || !rooms || !alone;
    if (*failed)
        return NULL;
    for (uint32_t i = 0; i < d->h->rooms.n; i++)
        rooms[i] = d->h->rooms.v[i];
    for (uint32_t i = 0; i < asked->rooms.n; i++) {
        struct room *room = &rooms[asked->rooms.v[i].i];
        opens = opens || room->keep_free & FREE_EQUIPMENT;
        room->keep_free &= ~(uint32_t)FREE_EQUIPMENT;
    }
    *h = *d->h;
    *alone = *asked;
    h->rooms.v = rooms;
    h->promises.v = alone;
    h->promises.n = 1;
    return opens ? h : NULL;
}

static bool is_old_site(const struct designer *d, const struct mount *m)
{
    for (uint32_t i = 0; i < d->space->sites.n; i++)
        if (str_eq(d->space->house->mounts.v[d->space->sites.v[i].mount].id, m->id))
            return true;
    return false;
}

/* What the chosen offers on new places cost with their cables, in words. */
static void new_places(const struct designer *d, const struct design_space *space, const struct placing_answer *a,
                       struct buf *out)
{
    int64_t price = 0;
    uint32_t n = 0;
    buf_text(out, "; if equipment may hang there, it can be kept: ");
    for (uint32_t i = 0; i < space->placing.offers.n; i++) {
        const struct place_offer *offer = &space->placing.offers.v[i];
        const struct design_site *site = &space->sites.v[offer->site];
        const struct mount *mount = &space->house->mounts.v[site->mount];
        if (!a->offers[i] || is_old_site(d, mount))
            continue;
        const struct part *part = &d->h->parts.list.v[offer->part];
        const uint32_t link = site->thing == NO_REF ? NO_REF : a->links[site->thing];
        price += offer->price + (link == NO_REF ? 0 : space->placing.links.v[link].price);
        buf_printf(out, "%s%.*s in %.*s", n++ ? ", " : "", STR_ARG(part->says.n ? part->says : part->id),
                   STR_ARG(house_room_name(d->h, mount->room.i)));
    }
    buf_printf(out, ", about %.*s without the metres of its cable",
               STR_ARG(money_words(d->run->arena, d->h->currency, price)));
}

static enum rt_code ask_rooms(const struct designer *d, const struct house *opened, struct buf *out,
                              struct rt_problems *p)
{
    struct design_options options = d->space->options;
    struct design_space *space = NULL;
    struct needs *needs = NULL;
    struct placing_answer a;
    options.anew = false; /* it is done already */
    RT_TRY(space_make(&d->calm, opened, options, &space, p));
    RT_TRY(needs_begin(&d->calm, space, &needs, p));
    RT_TRY(needs_make(&d->calm, needs, NULL, &space->placing, p));
    space->placing.at_most = INT64_MAX;
    const struct placing_limits limits = { .seconds = design_left_s(d, 1.0) / 4, .gap = options.gap };
    RT_TRY(placing_solve(&d->calm, &space->placing, NULL, NULL, limits, &a, p));
    if (a.is_found)
        new_places(d, space, &a, out);
    return RT_OK;
}

enum rt_code design_ask_rooms(struct designer *d, uint32_t promise, struct buf *out, struct rt_problems *p)
{
    bool failed;
    const struct house *opened = opened_house(d, promise, &failed);
    if (failed)
        return rt_fail_memory(p);
    if (!opened || design_left_s(d, 0.0) < SECONDS_LEAST)
        return RT_OK;
    run_report(d->run, "what would make it possible", 0.0);
    const enum rt_code code = ask_rooms(d, opened, out, &d->unheard);
    return code == RT_NOMEM ? rt_fail_memory(p) : RT_OK; /* else it only was a question */
}
