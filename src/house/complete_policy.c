/* Who may do what, as the house file says it: bands of SSIDs that nobody names; and segments, groups, services, hours and profiles
 * that contradict themselves or one another. */
#include <string.h>

#include "base/units.h"
#include "house/field_int.h"
#include "house/model_int.h"

static struct rt_place place_of(const struct yaml_node *node, struct rt_place otherwise)
{
    return node ? node->at : otherwise;
}

#define SPOT(shape, object) ((struct spot){ NULL, &(shape), (object)->id, 0 })

static void check_segments(struct reader *rd, const struct house *h)
{
    for (uint32_t i = 0; i < h->segments.n; i++) {
        const struct segment *s = &h->segments.v[i];
        const struct spot spot = SPOT(SHAPE_SEGMENT, s);
        for (uint32_t k = 0; k < i; k++)
            if (is_given(s->vlan) && s->vlan == h->segments.v[k].vlan)
                reader_fail(rd, &spot, RT_CONFLICT, place_of(section_value(rd, "segments", i, "vlan"), s->at),
                            "each segment has a VLAN of its own", "VLAN %.0f is that of segment '%.*s' too", s->vlan,
                            STR_ARG(h->segments.v[k].id));
    }
}

/* Bands that nobody names are those that the security allows: at 6 GHz WPA3 and OWE alone (reach/layer2_ssid.c). */
static void complete_ssids(struct reader *rd, struct house *h)
{
    for (uint32_t i = 0; i < h->ssids.n; i++) {
        struct ssid *s = &h->ssids.v[i];
        if (!section_value(rd, "ssids", i, "bands"))
            s->bands = s->security == SECURITY_WPA3 || s->security == SECURITY_OWE ? (1u << BAND_COUNT) - 1
                                                                                   : 1u << BAND_2G4 | 1u << BAND_5G;
    }
}

/* Does the group reach `wanted` through its members?  Every group is entered once, so circles elsewhere do no harm. */
static bool group_reaches(const struct reader *rd, const struct house *h, uint32_t g, uint32_t wanted, bool *seen)
{
    for (uint32_t i = 0; i < h->groups.v[g].members.n; i++) {
        const uint32_t inner = names_find(&rd->sets[SET_GROUP], h->groups.v[g].members.v[i]);
        if (inner == wanted)
            return true;
        if (inner == NO_REF || seen[inner])
            continue;
        seen[inner] = true;
        if (group_reaches(rd, h, inner, wanted, seen))
            return true;
    }
    return false;
}

enum { GROUPS_MAX = 500 }; /* also the deepest nesting that the search above can meet */

static void check_groups(struct reader *rd, const struct house *h)
{
    if (h->groups.n > GROUPS_MAX) {
        reader_fail(rd, NULL, RT_LIMIT, h->groups.v[GROUPS_MAX].at, NULL, "more than %d groups", GROUPS_MAX);
        return;
    }
    bool seen[GROUPS_MAX];
    for (uint32_t g = 0; g < h->groups.n; g++) {
        const struct spot spot = SPOT(SHAPE_GROUP, &h->groups.v[g]);
        memset(seen, 0, sizeof seen);
        if (group_reaches(rd, h, g, g, seen))
            reader_fail(rd, &spot, RT_CONFLICT, place_of(section_value(rd, "groups", g, "members"), h->groups.v[g].at),
                        NULL, "the group contains itself, directly or through another group");
    }
}

static void check_services(struct reader *rd, const struct house *h)
{
    for (uint32_t i = 0; i < h->services.n; i++) {
        const struct own_service *s = &h->services.v[i];
        const struct spot spot = SPOT(SHAPE_OWN_SERVICE, s);
        if (s->ports.n && s->protocol.n && !str_is(s->protocol, "tcp") && !str_is(s->protocol, "udp"))
            reader_fail(rd, &spot, RT_CONFLICT, place_of(section_value(rd, "services", i, "ports"), s->at),
                        "leave 'ports' out", "%.*s has no ports", STR_ARG(s->protocol));
    }
}

static void check_hours(struct reader *rd, const struct house *h)
{
    for (uint32_t i = 0; i < h->hours.n; i++) {
        const struct hours *hours = &h->hours.v[i];
        const struct spot spot = SPOT(SHAPE_HOURS, hours);
        for (uint32_t k = 0; k < hours->except.n; k++)
            if (str_cmp(hours->except.v[k].to_date, hours->except.v[k].from_date) < 0 && hours->except.v[k].to_date.n)
                reader_fail(rd, &spot, RT_CONFLICT, hours->except.v[k].at, NULL, "exception %u ends before it begins",
                            (unsigned)k + 1);
    }
}

static void check_profiles(struct reader *rd, const struct house *h)
{
    for (uint32_t i = 0; i < h->profiles.n; i++) {
        const struct profile *p = &h->profiles.v[i];
        const struct spot spot = SPOT(SHAPE_PROFILE, p);
        double sum[168] = { 0 };
        for (uint32_t k = 0; k < p->states.n; k++) {
            const double_list chance = p->states.v[k].chance;
            if (chance.n != 1 && chance.n != 24 && chance.n != 168 && chance.n > 0)
                reader_fail(rd, &spot, RT_SHAPE, p->states.v[k].at, NULL, "'chance' takes 1, 24 or 168 values, not %u",
                            (unsigned)chance.n);
            for (uint32_t hour = 0; hour < 168 && chance.n; hour++)
                sum[hour] += given_or(chance.v[hour % chance.n], 0);
        }
        for (uint32_t hour = 0; hour < 168; hour++)
            if (sum[hour] > 1 + 1e-9) {
                reader_fail(rd, &spot, RT_RANGE, p->at,
                            "it is silent for the rest of the time, so they cannot exceed 1",
                            "the chances of its states add up to %.4g at %u h", sum[hour], (unsigned)hour % 24);
                break;
            }
    }
}

void policy_complete(struct reader *rd, struct house *h)
{
    check_segments(rd, h);
    complete_ssids(rd, h);
    check_groups(rd, h);
    check_services(rd, h);
    check_hours(rd, h);
    check_profiles(rd, h);
}
