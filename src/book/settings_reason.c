/* What a setting is for: the sentence that the household was given, or that a statement says. */
#include "book/settings_int.h"

struct str settings_quote(struct settings_maker *m, struct str says)
{
    return says.n ? settings_text(m, "\u201c%.*s\u201d", STR_ARG(says)) : says;
}

/* ---- which promises ---- */

struct wanted {
    unsigned kinds;
    uint32_t segment, recording; /* NO_REF: any */
    struct str id;               /* of a device or of equipment; empty: any */
    enum band band;              /* BAND_COUNT: any */
};

static bool ends_touch(struct settings_maker *m, const endpoint_list *ends, uint32_t segment)
{
    for (uint32_t i = 0; i < ends->n; i++) {
        if (ends->v[i].kind == END_SEGMENT && ends->v[i].i == segment)
            return true;
        const struct arena_mark mark = arena_mark(m->arena);
        const index_list devices = endpoint_devices(m->arena, m->h, &ends->v[i], &m->failed);
        bool touches = false;
        for (uint32_t k = 0; k < devices.n && ends->v[i].kind != END_ANYONE; k++)
            touches |= m->h->devices.v[devices.v[k]].segment.i == segment;
        arena_reset(m->arena, mark);
        if (touches)
            return true;
    }
    return false;
}

static bool lists(const str_list *ids, struct str id)
{
    for (uint32_t i = 0; i < ids->n; i++)
        if (str_eq(ids->v[i], id))
            return true;
    return false;
}

static bool is_wanted(struct settings_maker *m, const struct wanted *w, const struct promise *p)
{
    return (w->kinds >> p->kind & 1) && (w->band == BAND_COUNT || !p->bands || (p->bands >> w->band & 1)) &&
           (!w->id.n || lists(&p->devices, w->id)) && (w->recording == NO_REF || p->recording.i == w->recording) &&
           (w->segment == NO_REF || ends_touch(m, &p->from, w->segment) || ends_touch(m, &p->to, w->segment));
}

static struct str sentences(struct settings_maker *m, const struct wanted *w)
{
    const struct promise *first = NULL;
    unsigned n = 0;
    for (uint32_t i = 0; i < m->h->promises.n; i++)
        if (is_wanted(m, w, &m->h->promises.v[i]) && n++ == 0)
            first = &m->h->promises.v[i];
    if (!first)
        return STR("");
    const struct str quoted = settings_quote(m, first->says);
    return n == 1 ? quoted : settings_text(m, "%.*s and %u other promise%s", STR_ARG(quoted), n - 1, n == 2 ? "" : "s");
}

static struct wanted any(unsigned kinds) { return (struct wanted){ kinds, NO_REF, NO_REF, STR(""), BAND_COUNT }; }

struct str settings_promise(struct settings_maker *m, unsigned kinds)
{
    const struct wanted w = any(kinds);
    return sentences(m, &w);
}

struct str settings_promise_of_segment(struct settings_maker *m, unsigned kinds, uint32_t segment)
{
    struct wanted w = any(kinds);
    w.segment = segment;
    return sentences(m, &w);
}

struct str settings_promise_of_band(struct settings_maker *m, unsigned kinds, enum band band)
{
    struct wanted w = any(kinds);
    w.band = band;
    return sentences(m, &w);
}

struct str settings_promise_of_thing(struct settings_maker *m, unsigned kinds, struct str id)
{
    struct wanted w = any(kinds);
    w.id = id;
    return sentences(m, &w);
}

struct str settings_promise_of_recording(struct settings_maker *m, uint32_t recording)
{
    struct wanted w = any(1u << PROMISE_RECORDING);
    w.recording = recording;
    return sentences(m, &w);
}

struct str settings_because(struct settings_maker *m, struct str first, struct str second, const char *why)
{
    const struct str s = first.n ? first : second;
    if (!why[0])
        return s;
    return s.n ? settings_text(m, "%.*s: %s", STR_ARG(s), why) : settings_text(m, "%s", why);
}

/* ---- things of the house ---- */

struct str settings_segment(struct settings_maker *m, uint32_t segment)
{
    return settings_text(m, "%.*s (VLAN %u)", STR_ARG(m->h->segments.v[segment].id),
                         m->x->plan->segments[segment].vlan);
}

bool settings_is_promised_in_outage(const struct house *h, struct str id)
{
    for (uint32_t i = 0; i < h->promises.n; i++)
        if (h->promises.v[i].kind == PROMISE_OUTAGE &&
            (!h->promises.v[i].devices.n || lists(&h->promises.v[i].devices, id)))
            return true;
    return false;
}

const struct part *settings_part(const struct house *h, uint32_t equipment)
{
    const uint32_t i = h->equipment.v[equipment].part.i;
    return i == NO_REF ? NULL : &h->parts.list.v[i];
}

bool settings_has_groups(const struct settings_maker *m)
{
    if (m->h->relays.n)
        return true;
    for (uint32_t d = 0; d < m->h->devices.n; d++)
        for (uint32_t k = 0; k < m->h->devices.v[d].offers.n; k++)
            if (str_is(m->h->devices.v[d].offers.v[k].service, "mdns") ||
                str_is(m->h->devices.v[d].offers.v[k].service, "ssdp"))
                return true;
    return false;
}
