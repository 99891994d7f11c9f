/* Who makes traffic: devices, and people who use theirs one at a time. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "data/device_kinds.h"
#include "load/demand_int.h"
#include "load/recordings.h"

void demand_missing(struct demand_maker *m, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    char *text = arena_vprintf(m->arena, fmt, args);
    va_end(args);
    m->failed |= !text || !VEC_PUSH(m->arena, &m->unknown, str_from(text));
}

static struct demand_source *add_source(struct demand_maker *m, uint32_t device, uint32_t person, struct str profile,
                                        uint32_t n_states)
{
    struct demand_source s = { .device = device, .person = person, .profile = profile };
    s.states.v = ARENA_ARRAY(m->arena, struct demand_state, n_states);
    if (!s.states.v || !VEC_PUSH(m->arena, &m->sources, s)) {
        m->failed = true;
        return NULL;
    }
    return &m->sources.v[m->sources.n - 1];
}

/* ---- profiles of the house file ---- */

static const struct profile *profile_find(const struct house *h, struct str id)
{
    for (uint32_t i = 0; i < h->profiles.n; i++)
        if (str_eq(h->profiles.v[i].id, id))
            return &h->profiles.v[i];
    return NULL;
}

static void by_house(struct demand_maker *m, const struct profile *profile, uint32_t device, uint32_t person)
{
    struct demand_source *s = add_source(m, device, person, profile->id, profile->states.n);
    for (uint32_t i = 0; s && i < profile->states.n; i++) {
        const struct profile_state *from = &profile->states.v[i];
        struct demand_state *to = &s->states.v[s->states.n++];
        *to = (struct demand_state){ .says = from->says.n ? from->says : profile->id,
                                     .down_mbps = from->down_mbps,
                                     .up_mbps = from->up_mbps,
                                     .with = from->with.i == NO_REF ? NO_REF : tree_device(m->h, from->with.i),
                                     .patience = from->waits };
        for (unsigned hour = 0; hour < HOURS_OF_WEEK && from->chance.n; hour++)
            to->chance[hour] = from->chance.v[hour % from->chance.n];
    }
}

/* ---- profiles by kind ---- */

/* The recorder of a recording that the camera belongs to, else one of its own segment; as the tree numbers things. */
static uint32_t recorder_of(const struct house *h, uint32_t camera)
{
    for (uint32_t i = 0; i < h->recordings.n; i++) {
        const struct recording *r = &h->recordings.v[i];
        for (uint32_t k = 0; k < r->cameras.n; k++)
            if (r->cameras.v[k].i == camera)
                return recorder_thing(h, r);
    }
    for (uint32_t i = 0; i < h->devices.n; i++)
        if (str_is(h->devices.v[i].kind, "recorder") && h->devices.v[i].segment.i == h->devices.v[camera].segment.i)
            return tree_device(h, i);
    return NO_REF;
}

/* What is known of the camera goes before the table; to a store on the internet it sends while something moves. */
static void by_picture(struct demand_maker *m, uint32_t device, struct demand_state *to)
{
    const struct camera_rate rate = camera_rate_of(m->arena, m->h, device, true);
    m->failed |= !rate.how.p;
    if (!is_given(rate.mbps))
        return;
    to->up_mbps = rate.mbps;
    for (unsigned hour = 0; to->with == NO_REF && hour < HOURS_OF_WEEK; hour++)
        to->chance[hour] = rate.share;
}

static void by_kind(struct demand_maker *m, uint32_t device)
{
    const struct device *d = &m->h->devices.v[device];
    const uint32_t recorder = recorder_of(m->h, device);
    const struct default_profile *profile = default_profile_find(d->kind, recorder != NO_REF);
    struct demand_source *s =
        profile ? add_source(m, device, NO_REF, str_from(profile->name), profile->n_states) : NULL;
    for (uint32_t i = 0; s && i < profile->n_states; i++) {
        const struct default_state *from = &profile->states[i];
        struct demand_state *to = &s->states.v[s->states.n++];
        s->is_default = true;
        *to = (struct demand_state){ .says = str_from(from->says),
                                     .down_mbps = from->down_mbps,
                                     .up_mbps = from->up_mbps,
                                     .with = from->with == WITH_RECORDER ? recorder : NO_REF,
                                     .patience = from->waits };
        for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++)
            to->chance[hour] = default_chance(from, hour);
        if (profile->takes_pictures)
            by_picture(m, device, to);
    }
}

/* ---- all of the house ---- */

static bool is_on_network(const struct device *d) { return d->link == LINK_WIRED || d->link == LINK_WIFI; }

/* What a person with a profile carries is used by them, one at a time. */
static bool is_used_by_owner(const struct house *h, const struct device *d)
{
    return d->profile.n == 0 && d->carried && d->owner.i != NO_REF && h->people.v[d->owner.i].profile.n != 0;
}

static uint32_t device_of_person(const struct house *h, uint32_t person)
{
    uint32_t first = NO_REF;
    for (uint32_t i = 0; i < h->devices.n; i++) {
        const struct device *d = &h->devices.v[i];
        if (d->owner.i != person || !is_on_network(d))
            continue;
        if (d->carried)
            return i;
        first = first == NO_REF ? i : first;
    }
    return first;
}

static void add_device(struct demand_maker *m, uint32_t device)
{
    const struct device *d = &m->h->devices.v[device];
    const struct profile *profile = d->profile.n ? profile_find(m->h, d->profile) : NULL;
    if (!is_on_network(d) || is_used_by_owner(m->h, d))
        return;
    if (profile)
        by_house(m, profile, device, NO_REF);
    else
        by_kind(m, device);
}

static void add_person(struct demand_maker *m, uint32_t person)
{
    const struct person *who = &m->h->people.v[person];
    const struct profile *profile = who->profile.n ? profile_find(m->h, who->profile) : NULL;
    const uint32_t device = device_of_person(m->h, person);
    if (!profile)
        return;
    if (device == NO_REF)
        demand_missing(m, "say which device is %.*s's (`owner`): their profile `%.*s` has none to be used on",
                       STR_ARG(who->says.n ? who->says : who->id), STR_ARG(who->profile));
    else
        by_house(m, profile, device, person);
}

enum rt_code demand_make(const struct run *run, const struct house *h, const struct cable_tree *tree,
                         const struct wire_links *links, const struct stations *stations, struct demand **out,
                         struct rt_problems *p)
{
    struct demand_maker m = { .arena = run->arena,
                              .h = h,
                              .tree = tree,
                              .links = links,
                              .stations = stations,
                              .d = ARENA_NEW(run->arena, struct demand) };
    if (!m.d)
        return rt_fail_memory(p);
    *m.d = (struct demand){ .h = h };
    for (uint32_t i = 0; i < h->devices.n; i++)
        add_device(&m, i);
    for (uint32_t i = 0; i < h->people.n; i++)
        add_person(&m, i);
    m.d->sources.v = m.sources.v;
    m.d->sources.n = m.sources.n;
    if (!m.failed)
        demand_lay_ways(&m);
    m.d->unknown = (str_list){ m.unknown.v, m.unknown.n };
    *out = m.d;
    return m.failed ? rt_fail_memory(p) : RT_OK;
}

/* ---- the same by night ---- */

static bool is_night(unsigned hour) { return hour % HOURS_OF_DAY >= NIGHT_FROM && hour % HOURS_OF_DAY < NIGHT_TO; }

/* All of a source's states that bear it, one after the other, into the time that its other states leave free at night. */
static void move_to_night(struct demand_source *s)
{
    double room[HOURS_OF_WEEK];
    for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++) {
        room[hour] = is_night(hour);
        for (uint32_t i = 0; i < s->states.n; i++)
            if (s->states.v[i].patience != WAITS_TILL_NIGHT)
                room[hour] = fmax(0.0, room[hour] - s->states.v[i].chance[hour]);
    }
    for (uint32_t i = 0; i < s->states.n; i++) {
        struct demand_state *x = &s->states.v[i];
        if (x->patience != WAITS_TILL_NIGHT)
            continue;
        double todo = 0.0, free = 0.0;
        for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++) {
            todo += x->chance[hour];
            free += room[hour];
        }
        if (!(todo > 0.0) || todo > free) /* what has no room there stays where it was */
            continue;
        for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++) {
            x->chance[hour] = room[hour] * todo / free;
            room[hour] = fmax(0.0, room[hour] - x->chance[hour]);
        }
    }
}

struct demand *demand_by_night(struct arena *a, const struct demand *d)
{
    struct demand *out = ARENA_NEW(a, struct demand);
    struct demand_source *sources = ARENA_ARRAY(a, struct demand_source, d->sources.n);
    if (!out || !sources)
        return NULL;
    *out = *d;
    out->sources.v = sources;
    for (uint32_t i = 0; i < d->sources.n; i++) {
        sources[i] = d->sources.v[i];
        sources[i].states.v = ARENA_ARRAY(a, struct demand_state, d->sources.v[i].states.n);
        if (!sources[i].states.v)
            return NULL;
        for (uint32_t k = 0; k < sources[i].states.n; k++)
            sources[i].states.v[k] = d->sources.v[i].states.v[k];
        move_to_night(&sources[i]);
    }
    return out;
}

/* ---- more of the same ---- */

/* So many whole copies of a source, and of what is left of one that is seldom there. */
static bool add_copies(struct arena *a, const struct demand_source *from, double times, struct demand *out)
{
    for (double left = times; left > 1e-9; left -= 1.0) {
        struct demand_source *to = &out->sources.v[out->sources.n++];
        *to = *from;
        if (left >= 1.0)
            continue;
        to->states.v = ARENA_ARRAY(a, struct demand_state, from->states.n);
        if (!to->states.v)
            return false;
        for (uint32_t k = 0; k < from->states.n; k++) {
            to->states.v[k] = from->states.v[k];
            for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++)
                to->states.v[k].chance[hour] *= left;
        }
    }
    return true;
}

/* Uses of a point, each source's as often as it has copies; first[i]: its first copy. */
static bool copy_uses(struct arena *a, load_use_list from, const uint32_t *first, load_use_list *to)
{
    VEC(struct load_use) list = { 0 };
    for (uint32_t i = 0, end; i < from.n; i = end) {
        const uint32_t source = from.v[i].source;
        for (end = i; end < from.n && from.v[end].source == source; end++)
            continue;
        for (uint32_t copy = first[source]; copy < first[source + 1]; copy++)
            for (uint32_t k = i; k < end; k++) {
                struct load_use u = from.v[k];
                u.source = copy;
                if (!VEC_PUSH(a, &list, u))
                    return false;
            }
    }
    *to = (load_use_list){ list.v, list.n };
    return true;
}

struct demand *demand_multiplied(struct arena *a, const struct demand *d, const double *times)
{
    struct demand *out = ARENA_NEW(a, struct demand);
    uint32_t *first = ARENA_ARRAY(a, uint32_t, (size_t)d->sources.n + 1);
    double n = 0.0;
    for (uint32_t i = 0; i < d->sources.n; i++)
        n += ceil(times[i]);
    if (!out || !first)
        return NULL;
    *out = *d;
    out->sources.v = ARENA_ARRAY(a, struct demand_source, (size_t)n);
    out->sources.n = 0;
    out->uses = ARENA_ARRAY(a, load_use_list, d->points.n);
    if (!out->sources.v || !out->uses)
        return NULL;
    for (uint32_t i = 0; i < d->sources.n; i++) {
        if (!add_copies(a, &d->sources.v[i], times[i], out))
            return NULL;
        first[i + 1] = out->sources.n;
    }
    for (uint32_t i = 0; i < d->points.n; i++)
        if (!copy_uses(a, d->uses[i], first, &out->uses[i]))
            return NULL;
    return out;
}

struct str demand_source_words(struct arena *a, const struct demand *d, uint32_t source)
{
    const struct demand_source *s = &d->sources.v[source];
    const struct device *device = &d->h->devices.v[s->device];
    if (s->person != NO_REF) {
        const struct person *who = &d->h->people.v[s->person];
        return who->says.n ? who->says : who->id;
    }
    if (device->says.n)
        return device->says;
    const struct device_kind *kind = device_kind_find(device->kind);
    const char *name = kind ? strchr(kind->says, ' ') : NULL; /* without its article */
    const char *text = arena_printf(a, "the%s `%.*s`", name ? name : "", STR_ARG(device->id));
    return str_from(text ? text : "");
}
