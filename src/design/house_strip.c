/* A house as if nothing had been bought for its network. */
#include "design/space.h"

#include <string.h>

/* Names of equipment in the list go. */
static bool without_equipment(struct arena *a, const struct house *h, str_list *list)
{
    struct str *v = ARENA_ARRAY(a, struct str, list->n);
    uint32_t n = 0;
    for (uint32_t i = 0; v && i < list->n; i++)
        if (house_find_equipment(h, list->v[i]) == NO_REF || house_find_device(h, list->v[i]) != NO_REF)
            v[n++] = list->v[i];
    list->v = v;
    list->n = n;
    return v != NULL;
}

/* A promise about things keeps those that are devices; one about equipment alone is then about all there will be. */
static bool strip_promises(struct arena *a, const struct house *h, struct house *out)
{
    struct promise *v = ARENA_ARRAY(a, struct promise, h->promises.n);
    if (!v)
        return false;
    for (uint32_t i = 0; i < h->promises.n; i++) {
        v[i] = h->promises.v[i];
        if (!without_equipment(a, h, &v[i].devices))
            return false;
    }
    out->promises.v = v;
    return true;
}

static bool strip_recordings(struct arena *a, const struct house *h, struct house *out)
{
    struct recording *v = ARENA_ARRAY(a, struct recording, h->recordings.n);
    uint32_t n = 0;
    for (uint32_t i = 0; v && i < h->recordings.n; i++) {
        v[n] = h->recordings.v[i];
        v[n].disks.n = 0;
        v[n].disks.v = NULL;
        n++;
    }
    out->recordings.v = v;
    out->recordings.n = n;
    return v != NULL;
}

static bool strip_ssids(struct arena *a, const struct house *h, struct house *out)
{
    struct ssid *v = ARENA_ARRAY(a, struct ssid, h->ssids.n);
    for (uint32_t i = 0; v && i < h->ssids.n; i++) {
        v[i] = h->ssids.v[i];
        v[i].equipment.n = 0;
        v[i].equipment.v = NULL;
    }
    out->ssids.v = v;
    return v != NULL;
}

enum rt_code house_strip(const struct run *run, const struct house *h, struct house **out, struct rt_problems *p)
{
    struct house *s = ARENA_NEW(run->arena, struct house);
    *out = NULL;
    if (!s)
        return rt_fail_memory(p);
    *s = *h;
    s->equipment.v = NULL;
    s->cables.v = NULL;
    s->batteries.v = NULL;
    s->equipment.n = s->cables.n = s->batteries.n = 0;
    if (!strip_promises(run->arena, h, s) || !strip_recordings(run->arena, h, s) || !strip_ssids(run->arena, h, s))
        return rt_fail_memory(p);
    *out = s;
    return RT_OK;
}
