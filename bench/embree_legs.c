#include "embree_legs.h"

#include <embree3/rtcore.h>

#include "radio/scene_int.h"

enum { HITS_MAX = 256, TABLES_MAX = 4 };

struct embree_legs {
    RTCDevice device;
    RTCScene scene;
    const struct scene *house;
};

struct hit {
    uint32_t face;
    float t, cos_incidence;
};

/* What the filter sees: the library's context first, then ours. */
struct gather {
    struct RTCIntersectContext context;
    uint32_t n;
    struct hit hits[HITS_MAX];
};

/* Notes every hit and refuses it, so that the ray goes on. */
static void gather_hit(const struct RTCFilterFunctionNArguments *args)
{
    struct gather *g = (struct gather *)(void *)args->context;
    const struct RTCRay *ray = (const struct RTCRay *)(void *)args->ray;
    const struct RTCHit *hit = (const struct RTCHit *)(void *)args->hit;
    args->valid[0] = 0;
    if (g->n == HITS_MAX)
        return;
    const float dot = hit->Ng_x * ray->dir_x + hit->Ng_y * ray->dir_y + hit->Ng_z * ray->dir_z;
    const float size = hit->Ng_x * hit->Ng_x + hit->Ng_y * hit->Ng_y + hit->Ng_z * hit->Ng_z;
    g->hits[g->n++] = (struct hit){ hit->primID, ray->tfar, fabsf(dot) / sqrtf(size) };
}

static void put_point(float *to, struct vec3 at) { to[0] = (float)at.x, to[1] = (float)at.y, to[2] = (float)at.z; }

struct embree_legs *embree_legs_new(const struct run *run, const struct scene *s)
{
    struct embree_legs *e = ARENA_NEW(run->arena, struct embree_legs);
    e->house = s;
    e->device = rtcNewDevice("threads=1");
    e->scene = rtcNewScene(e->device);
    rtcSetSceneFlags(e->scene, RTC_SCENE_FLAG_CONTEXT_FILTER_FUNCTION);
    rtcSetSceneBuildQuality(e->scene, RTC_BUILD_QUALITY_HIGH);
    RTCGeometry quads = rtcNewGeometry(e->device, RTC_GEOMETRY_TYPE_QUAD);
    float *points = rtcSetNewGeometryBuffer(quads, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3, 3 * sizeof(float),
                                            4 * (size_t)s->faces.n);
    uint32_t *corners =
        rtcSetNewGeometryBuffer(quads, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT4, 4 * sizeof(uint32_t), s->faces.n);
    for (uint32_t i = 0; i < s->faces.n; i++) {
        const struct face *f = &s->faces.v[i];
        const double a[4] = { f->u0, f->u1, f->u1, f->u0 }, b[4] = { f->v0, f->v0, f->v1, f->v1 };
        for (uint32_t k = 0; k < 4; k++) {
            put_point(&points[3 * (4 * i + k)], face_point(f, a[k], b[k]));
            corners[4 * i + k] = 4 * i + k;
        }
    }
    rtcCommitGeometry(quads);
    rtcAttachGeometry(e->scene, quads);
    rtcReleaseGeometry(quads);
    rtcCommitScene(e->scene);
    return e;
}

void embree_legs_free(struct embree_legs *e)
{
    rtcReleaseScene(e->scene);
    rtcReleaseDevice(e->device);
}

struct leg_result embree_legs_trace(struct embree_legs *e, const struct leg *legs, size_t n,
                                    const struct wall_table *tables, size_t n_tables)
{
    struct leg_result out = { 0 };
    struct gather g;
    rtcInitIntersectContext(&g.context);
    g.context.filter = gather_hit;
    for (size_t i = 0; i < n; i++) {
        const float *p = legs[i].from_m, *q = legs[i].to_m;
        float d[3] = { q[0] - p[0], q[1] - p[1], q[2] - p[2] };
        const float length = sqrtf(d[0] * d[0] + d[1] * d[1] + d[2] * d[2]), margin = 1e-3f;
        if (length <= 2.0f * margin)
            continue;
        struct RTCRayHit ray = { .ray = { .org_x = p[0],
                                          .org_y = p[1],
                                          .org_z = p[2],
                                          .dir_x = d[0] / length,
                                          .dir_y = d[1] / length,
                                          .dir_z = d[2] / length,
                                          .tnear = margin,
                                          .tfar = length - margin,
                                          .mask = UINT32_MAX },
                                 .hit = { .geomID = RTC_INVALID_GEOMETRY_ID } };
        float pass[TABLES_MAX] = { 1.0f, 1.0f, 1.0f, 1.0f };
        g.n = 0;
        rtcIntersect1(e->scene, &g.context, &ray);
        for (uint32_t k = 0; k < g.n; k++) {
            const struct face *f = &e->house->faces.v[g.hits[k].face];
            const struct vec3 at = { (double)(p[0] + g.hits[k].t * ray.ray.dir_x),
                                     (double)(p[1] + g.hits[k].t * ray.ray.dir_y),
                                     (double)(p[2] + g.hits[k].t * ray.ray.dir_z) };
            const struct face_hit hit = face_at(f, face_uv(f, at));
            if (!hit.is_hit || hit.construct == NO_REF)
                continue;
            out.crossings++;
            const struct wall_angle angle = wall_angle_of(g.hits[k].cos_incidence);
            for (size_t b = 0; b < n_tables; b++)
                pass[b] *= wall_effect_at(&tables[b], hit.construct, angle, 0.5f).pass;
        }
        for (size_t b = 0; b < n_tables; b++)
            out.power += (double)pass[b];
    }
    return out;
}
