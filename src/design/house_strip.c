/* A house as if nothing had been bought for its network. */
#include "design/space.h"

static bool strip_recordings(struct arena *a, const struct house *h, struct house *out)
{
    struct recording *v = ARENA_ARRAY(a, struct recording, h->recordings.n);
    for (uint32_t i = 0; v && i < h->recordings.n; i++) {
        v[i] = h->recordings.v[i];
        v[i].disks.v = NULL;
        v[i].disks.n = 0;
    }
    out->recordings.v = v;
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
    if (!strip_recordings(run->arena, h, s) || !strip_ssids(run->arena, h, s))
        return rt_fail_memory(p);
    *out = s;
    return RT_OK;
}
