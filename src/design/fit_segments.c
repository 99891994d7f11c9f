/* Segments, SSIDs and statements of a house whose file has none: by who lives there and what is in it. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "design/fit.h"
#include "reach/addressing.h"

enum kind_of_segment { OF_FAMILY, OF_WORK, OF_LODGER, OF_THINGS, OF_CAMERAS, OF_GUESTS, OF_N, OF_NONE = OF_N };

/* 6 GHz takes WPA3 alone (IEEE 802.11-2020 with 802.11ax, 12.12, from memory), which older things do not speak. */
enum { LOW_BANDS = 1 << BAND_2G4 | 1 << BAND_5G };

/* What each is like.  Things and cameras live on the band that goes through walls; visitors see one another not at all. */
static const struct segment_kind {
    const char *id, *says, *why;
    double vlan;
    const char *ssid; /* behind the house's name */
    uint32_t bands;
    enum security security;
    bool isolate;
    const char *services[6]; /* of the internet; none: all; "" alone: it needs none */
} SEGMENTS[OF_N] = {
    [OF_FAMILY] = { "family",
                    "the family",
                    "The family uses the internet",
                    10,
                    "",
                    LOW_BANDS,
                    SECURITY_WPA2_WPA3,
                    false,
                    { 0 } },
    [OF_WORK] = { "work",
                  "work from home",
                  "Work machines use the internet",
                  20,
                  " work",
                  LOW_BANDS,
                  SECURITY_WPA2_WPA3,
                  false,
                  { 0 } },
    [OF_LODGER] = { "lodger",
                    "the lodger",
                    "The lodger uses the internet, and nothing else",
                    30,
                    " lodger",
                    LOW_BANDS,
                    SECURITY_WPA2_WPA3,
                    false,
                    { 0 } },
    [OF_THINGS] = { "things",
                    "things that only need to do their one job",
                    "Things may fetch what they need from the web",
                    50,
                    " things",
                    1 << BAND_2G4,
                    SECURITY_WPA2,
                    false,
                    { "https", "mqtts", "ntp" } },
    [OF_CAMERAS] = { "cameras",
                     "cameras and their recorder",
                     "",
                     60,
                     " cameras",
                     1 << BAND_2G4,
                     SECURITY_WPA2,
                     false,
                     { "" } },
    [OF_GUESTS] = { "guests",
                    "visitors",
                    "Visitors use the web and their mail",
                    70,
                    " guests",
                    LOW_BANDS,
                    SECURITY_WPA2_WPA3,
                    true,
                    { "http", "https", "http3", "imaps", "submission" } },
};

struct segmenter {
    struct arena *a;
    struct house *h;
    uint32_t index[OF_N]; /* of h->segments; NO_REF */
    VEC(struct statement) statements;
    bool failed;
};

/* ---- who belongs where ---- */

static bool is_one_of(struct str kind, const char *const *list)
{
    for (; *list; list++)
        if (str_is(kind, *list))
            return true;
    return false;
}

static enum kind_of_segment segment_for(const struct house *h, const struct device *d)
{
    static const char *const EYES[] = { "camera", "doorbell", "recorder", "intercom", "monitor", NULL };
    static const char *const PERSONAL[] = {
        "phone", "tablet", "laptop", "desktop", "console", "watch", "server", NULL
    };
    static const char *const DESK[] = { "work_laptop", "desk_phone", NULL };
    const struct person *owner = d->owner.i == NO_REF ? NULL : &h->people.v[d->owner.i];
    if (d->link == LINK_NONE || d->link == LINK_MESH)
        return OF_NONE;
    if (owner && owner->kind == PERSON_GUEST)
        return OF_GUESTS;
    if (owner && owner->kind == PERSON_LODGER)
        return OF_LODGER;
    if (is_one_of(d->kind, EYES))
        return OF_CAMERAS;
    if (is_one_of(d->kind, DESK))
        return OF_WORK;
    return is_one_of(d->kind, PERSONAL) ? OF_FAMILY : OF_THINGS;
}

/* ---- segments ---- */

static bool bears(const struct house *h, struct str id)
{
    for (uint32_t i = 0; i < h->groups.n; i++)
        if (str_eq(h->groups.v[i].id, id))
            return true;
    for (uint32_t i = 0; i < h->people.n; i++)
        if (str_eq(h->people.v[i].id, id))
            return true;
    return house_find_device(h, id) != NO_REF;
}

static void add_segments(struct segmenter *s, const bool *is_wanted)
{
    struct house *h = s->h;
    struct segment *v = ARENA_ARRAY(s->a, struct segment, OF_N);
    uint32_t n = 0;
    for (int k = 0; v && k < OF_N; k++) {
        const struct segment_kind *kind = &SEGMENTS[k];
        s->index[k] = NO_REF;
        if (!is_wanted[k])
            continue;
        struct str id = str_from(kind->id);
        if (bears(h, id)) /* a person called Guests */
            id = str_from(arena_printf(s->a, "%s_segment", kind->id));
        s->index[k] = n;
        v[n++] = (struct segment){ .id = id, .says = str_from(kind->says), .vlan = kind->vlan };
        s->failed |= !id.p;
    }
    s->failed |= !v;
    h->segments.v = v;
    h->segments.n = n;
}

static void assign_devices(struct segmenter *s)
{
    struct house *h = s->h;
    struct device *v = ARENA_ARRAY(s->a, struct device, h->devices.n);
    for (uint32_t i = 0; v && i < h->devices.n; i++) {
        const enum kind_of_segment k = segment_for(h, &h->devices.v[i]);
        v[i] = h->devices.v[i];
        if (k != OF_NONE)
            v[i].segment = (struct ref){ .i = s->index[k] };
    }
    s->failed |= !v;
    h->devices.v = v;
}

/* The subnets that the address plan chooses: clear of foreign ranges and of the provider's box. */
static enum rt_code write_subnets(struct segmenter *s, const struct run *run, struct rt_problems *p)
{
    struct address_plan *plan = NULL;
    RT_TRY(addresses_plan(run, s->h, &plan, p));
    for (uint32_t i = 0; i < s->h->segments.n; i++) {
        struct buf text = { .arena = s->a };
        prefix_write(&text, plan->segments[i].ipv4);
        if (text.failed)
            return rt_fail_memory(p);
        s->h->segments.v[i].ipv4 = buf_done(&text);
    }
    return RT_OK;
}

/* ---- SSIDs ---- */

static bool has_wifi(const struct house *h, uint32_t segment)
{
    for (uint32_t i = 0; i < h->devices.n; i++)
        if (h->devices.v[i].segment.i == segment && h->devices.v[i].link == LINK_WIFI)
            return true;
    return false;
}

enum { SSID_BYTES_MAX = 32 }; /* IEEE 802.11-2020, 9.4.2.2 */

static void add_ssids(struct segmenter *s)
{
    struct house *h = s->h;
    struct ssid *v = ARENA_ARRAY(s->a, struct ssid, OF_N);
    uint32_t n = 0;
    for (int k = 0; v && k < OF_N; k++) {
        const struct segment_kind *kind = &SEGMENTS[k];
        if (s->index[k] == NO_REF || !(has_wifi(h, s->index[k]) || k == OF_GUESTS))
            continue;
        size_t room = SSID_BYTES_MAX - strlen(kind->ssid);
        struct str stem = h->name;
        while (stem.n > room) /* whole letters */
            for (stem.n--; stem.n && ((unsigned char)stem.p[stem.n] & 0xc0) == 0x80;)
                stem.n--;
        const char *name = arena_printf(s->a, "%.*s%s", STR_ARG(stem), kind->ssid);
        const char *id = arena_printf(s->a, "wifi_%s", kind->id);
        s->failed |= !name || !id;
        v[n++] = (struct ssid){ .id = str_from(id ? id : ""),
                                .name = str_from(name ? name : ""),
                                .segment.i = s->index[k],
                                .bands = kind->bands,
                                .security = kind->security,
                                .isolate = kind->isolate };
    }
    s->failed |= !v;
    h->ssids.v = v;
    h->ssids.n = n;
}

/* ---- statements ---- */

static endpoint_list one_end(struct segmenter *s, enum endpoint_kind kind, uint32_t i, struct str name)
{
    endpoint_list list = { .v = ARENA_ARRAY(s->a, struct endpoint, 1) };
    s->failed |= !list.v;
    if (list.v)
        list.v[list.n++] = (struct endpoint){ .kind = kind, .i = i, .name = name };
    return list;
}

static endpoint_list segment_end(struct segmenter *s, uint32_t segment)
{
    const char *name = arena_printf(s->a, "segment:%.*s", STR_ARG(s->h->segments.v[segment].id));
    s->failed |= !name;
    return one_end(s, END_SEGMENT, segment, str_from(name ? name : ""));
}

static void add_statement(struct segmenter *s, struct statement line)
{
    s->failed |= !VEC_PUSH(s->a, &s->statements, line);
}

/* What was promised of hours, then of reach: said as statements. */
static void state_promises(struct segmenter *s)
{
    const struct house *h = s->h;
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise *p = &h->promises.v[i];
        if (p->kind == PROMISE_HOURS)
            add_statement(s,
                          (struct statement){ .says = p->says,
                                              .from = p->from,
                                              .to = p->to.n ? p->to : one_end(s, END_INTERNET, NO_REF, STR("internet")),
                                              .verdict = VERDICT_REFUSE,
                                              .hours = p->hours });
    }
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise *p = &h->promises.v[i];
        if (p->kind == PROMISE_REACH)
            add_statement(s, (struct statement){ .says = p->says,
                                                 .from = p->from,
                                                 .to = p->to,
                                                 .services = p->services,
                                                 .verdict = VERDICT_ALLOW,
                                                 .hours = p->hours });
    }
}

static void state_internet(struct segmenter *s)
{
    for (int k = 0; k < OF_N; k++) {
        const struct segment_kind *kind = &SEGMENTS[k];
        struct statement line = { .says = str_from(kind->why), .verdict = VERDICT_ALLOW, .hours = { .i = NO_REF } };
        if (s->index[k] == NO_REF || (kind->services[0] && !kind->services[0][0]))
            continue;
        line.services.v = ARENA_ARRAY(s->a, struct str, RT_COUNT(kind->services));
        for (size_t i = 0; line.services.v && i < RT_COUNT(kind->services) && kind->services[i]; i++)
            line.services.v[line.services.n++] = str_from(kind->services[i]);
        s->failed |= !line.services.v;
        line.from = segment_end(s, s->index[k]);
        line.to = one_end(s, END_INTERNET, NO_REF, STR("internet"));
        add_statement(s, line);
    }
}

/* The family uses its things, and looks at the pictures where there is a recorder. */
static void state_family(struct segmenter *s)
{
    const struct house *h = s->h;
    if (s->index[OF_FAMILY] == NO_REF)
        return;
    if (s->index[OF_THINGS] != NO_REF)
        add_statement(s, (struct statement){ .says = STR("The family uses the things"),
                                             .from = segment_end(s, s->index[OF_FAMILY]),
                                             .to = segment_end(s, s->index[OF_THINGS]),
                                             .verdict = VERDICT_ALLOW,
                                             .hours = { .i = NO_REF } });
    for (uint32_t i = 0; i < h->devices.n; i++) {
        if (!str_is(h->devices.v[i].kind, "recorder") || h->devices.v[i].segment.i == NO_REF)
            continue;
        struct statement line = { .says = STR("The family looks at the pictures"),
                                  .from = segment_end(s, s->index[OF_FAMILY]),
                                  .to = one_end(s, END_DEVICE, i, h->devices.v[i].id),
                                  .verdict = VERDICT_ALLOW,
                                  .hours = { .i = NO_REF } };
        line.services.v = ARENA_ARRAY(s->a, struct str, 2);
        s->failed |= !line.services.v;
        if (line.services.v) {
            line.services.v[line.services.n++] = STR("https");
            line.services.v[line.services.n++] = STR("rtsps");
        }
        add_statement(s, line);
    }
}

static void add_statements(struct segmenter *s)
{
    struct house *h = s->h;
    for (uint32_t i = 0; i < h->statements.n; i++) /* what the household said comes first */
        add_statement(s, h->statements.v[i]);
    if (!h->statements.n)
        state_promises(s);
    state_internet(s);
    state_family(s);
    h->statements.v = s->statements.v;
    h->statements.n = s->statements.n;
}

/* ---- the whole ---- */

enum rt_code house_segment(const struct run *run, const struct house *h, struct house **out, struct rt_problems *p)
{
    struct house *made = ARENA_NEW(run->arena, struct house);
    struct segmenter s = { .a = run->arena, .h = made };
    bool is_wanted[OF_N] = { false };
    if (!made)
        return rt_fail_memory(p);
    *made = *h;
    *out = made;
    if (h->segments.n || h->ssids.n)
        return RT_OK;
    for (uint32_t i = 0; i < h->devices.n; i++) {
        const enum kind_of_segment k = segment_for(h, &h->devices.v[i]);
        if (k != OF_NONE)
            is_wanted[k] = true;
    }
    for (uint32_t i = 0; i < h->people.n; i++)
        is_wanted[OF_GUESTS] |= h->people.v[i].kind == PERSON_GUEST;
    add_segments(&s, is_wanted);
    if (s.failed)
        return rt_fail_memory(p);
    assign_devices(&s);
    if (s.failed)
        return rt_fail_memory(p);
    RT_TRY(write_subnets(&s, run, p));
    add_ssids(&s);
    add_statements(&s);
    return s.failed ? rt_fail_memory(p) : RT_OK;
}
