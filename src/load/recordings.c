#include "load/recordings.h"

#include <math.h>

#include "base/units.h"
#include "data/picture_codecs.h"

static const struct part *part_named(const struct house *h, struct str id)
{
    const uint32_t i = id.n ? parts_find(&h->parts, id) : NO_REF;
    return i == NO_REF ? NULL : &h->parts.list.v[i];
}

static const struct camera *camera_of(const struct house *h, const struct device *d)
{
    const struct part *part = part_named(h, d->part);
    return d->camera.at.line || !part ? &d->camera : &part->camera;
}

struct camera_rate camera_rate_of(struct arena *a, const struct house *h, uint32_t device, bool motion_only)
{
    const struct device *d = &h->devices.v[device];
    const struct camera *c = camera_of(h, d);
    struct camera_rate r = { .device = device, .share = 1.0, .mbps = RT_NOT_GIVEN };
    if (c->at.line && is_given(c->rate_mbps)) {
        r.mbps = c->rate_mbps;
        r.is_given = true;
        r.how = STR("as given");
    } else if (c->at.line && is_given(c->width_px) && is_given(c->height_px) && is_given(c->frames_per_s)) {
        r.mbps = fmax(c->width_px * c->height_px, PICTURE_LEAST_PX) * c->frames_per_s *
                 picture_bits_per_pixel(c->quality) * picture_codec_factor(c->codec) / 1e6;
        r.how = str_from(arena_printf(a, "%.0f x %.0f, %.*g a second, %.*s", c->width_px, c->height_px, 3,
                                      c->frames_per_s, STR_ARG(c->codec)));
    } else {
        r.how = str_from(
            arena_printf(a,
                         "what `%.*s` sends: give its `camera` a `rate_mbps`, or a picture's width, height and "
                         "frames",
                         STR_ARG(d->id)));
    }
    if (motion_only)
        r.share = c->at.line ? c->motion_share : 1.0;
    return r;
}

uint32_t recorder_thing(const struct house *h, const struct recording *r)
{
    const uint32_t e = house_find_equipment(h, r->recorder), d = house_find_device(h, r->recorder);
    return e != NO_REF ? e : d != NO_REF ? h->equipment.n + d : NO_REF;
}

static const struct part *part_of_recorder(const struct house *h, const struct recording *r)
{
    const uint32_t e = house_find_equipment(h, r->recorder), d = house_find_device(h, r->recorder);
    if (e != NO_REF)
        return h->equipment.v[e].part.i == NO_REF ? NULL : &h->parts.list.v[h->equipment.v[e].part.i];
    return d == NO_REF ? NULL : part_named(h, h->devices.v[d].part);
}

/* All of one disk lies in the recorder; disks of their own fill by their size, and mirrored ones hold everything each.
 * writes_tb: what may be written to all of them together before the first is worn out. */
static void find_disks(const struct house *h, const struct recording *r, struct recording_life *out, double *writes_tb)
{
    double first_tb = RT_NOT_GIVEN; /* least of what a disk bears for each GB of its own, or where mirrored in all */
    out->disk_gb = out->write_tb = RT_NOT_GIVEN;
    for (uint32_t i = 0; i < r->disks.n; i++) {
        const uint32_t k = h->equipment.v[r->disks.v[i].i].part.i;
        const struct part *disk = k == NO_REF ? NULL : &h->parts.list.v[k];
        const double gb = disk ? disk->disk_tb * 1000.0 : RT_NOT_GIVEN;
        const double bears_tb = !disk ? RT_NOT_GIVEN : r->mirrored ? disk->write_tb : disk->write_tb / gb;
        out->disk_gb = i == 0 ? gb : r->mirrored ? fmin(out->disk_gb, gb) : out->disk_gb + gb;
        if (is_given(bears_tb) && !(bears_tb >= first_tb)) {
            first_tb = bears_tb;
            out->write_tb = disk->write_tb;
        }
        if (!is_given(gb))
            break;
    }
    *writes_tb = r->mirrored ? first_tb : first_tb * out->disk_gb;
    const struct part *part = part_of_recorder(h, r);
    if (r->disks.n == 0 && part) {
        out->disk_gb = part->disk_tb * 1000.0;
        out->write_tb = *writes_tb = part->write_tb;
    }
    if (is_given(r->disk_gb))
        out->disk_gb = r->disk_gb;
}

static double day_of(struct arena *a, const struct house *h, const struct recording *r)
{
    double gb = 0.0;
    for (uint32_t i = 0; i < r->cameras.n; i++) {
        const struct camera_rate c = camera_rate_of(a, h, r->cameras.v[i].i, r->motion_only);
        gb += c.mbps * c.share * GB_PER_MBPS_DAY;
    }
    return gb;
}

bool recordings_share_disk(const struct house *h, uint32_t a, uint32_t b)
{
    const struct recording *x = &h->recordings.v[a], *y = &h->recordings.v[b];
    return a == b || (str_eq(x->recorder, y->recorder) && !is_given(x->disk_gb) && !is_given(y->disk_gb) &&
                      x->disks.n == y->disks.n && (x->disks.n == 0 || x->disks.v[0].i == y->disks.v[0].i));
}

static void add_missing(struct recording_life *out, struct str what, uint32_t max)
{
    if (out->missing.n < max)
        out->missing.v[out->missing.n++] = what;
}

enum rt_code recording_life_of(const struct run *run, const struct house *h, uint32_t recording,
                               struct recording_life *out, struct rt_problems *p)
{
    struct arena *a = run->arena;
    const struct recording *r = &h->recordings.v[recording];
    const uint32_t most = r->cameras.n + 2;
    *out = (struct recording_life){ .recording = recording };
    out->cameras.v = ARENA_ARRAY(a, struct camera_rate, r->cameras.n);
    out->missing.v = ARENA_ARRAY(a, struct str, most);
    if (!out->cameras.v || !out->missing.v)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < r->cameras.n; i++) {
        const struct camera_rate c = camera_rate_of(a, h, r->cameras.v[i].i, r->motion_only);
        if (!c.how.p)
            return rt_fail_memory(p);
        out->cameras.v[out->cameras.n++] = c;
        out->peak_mbps += c.mbps;
        if (!is_given(c.mbps))
            add_missing(out, c.how, most);
    }
    out->gb_per_day = day_of(a, h, r);
    for (uint32_t i = 0; i < h->recordings.n; i++)
        if (recordings_share_disk(h, recording, i))
            out->disk_gb_per_day += day_of(a, h, &h->recordings.v[i]);
    double writes_tb;
    find_disks(h, r, out, &writes_tb);
    if (!is_given(out->disk_gb)) {
        const char *what =
            arena_printf(a, "how large the disk of `%.*s` is: give recording `%.*s` its `disk_gb` or `disks`",
                         STR_ARG(r->recorder), STR_ARG(r->id));
        if (!what)
            return rt_fail_memory(p);
        add_missing(out, str_from(what), most);
    }
    out->days = out->disk_gb * DISK_USABLE_SHARE / out->disk_gb_per_day;
    out->endurance_years = writes_tb * 1000.0 / (out->disk_gb_per_day * 365.25);
    return RT_OK;
}
