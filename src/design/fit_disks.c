/* Disks for recordings: the least costly that keep the pictures as long as was promised, and bear the writing. */
#include <math.h>
#include <string.h>

#include "data/picture_codecs.h"
#include "design/fit_int.h"
#include "house/polygon.h"
#include "load/recordings.h"

enum { DISKS_MOST = 8 };    /* that one recorder takes, where nobody says (common practice, no source) */
#define DISK_LIFE_YEARS 3.0 /* as promise_recording.c tells */

struct disk_choice {
    uint32_t parts[DISKS_MOST], n;
    double price, gb;
    double lasting_gb; /* all disks together must have this for each to bear its share of the writing */
    bool is_found;
};

struct disk_search {
    const struct fitter *f;
    uint32_t part[64], n_parts;
    double wanted_gb;
    double write_tb; /* in DISK_LIFE_YEARS, by all disks together; 0: wear does not count */
    struct disk_choice now, best;
};

static double disk_gb(const struct fitter *f, uint32_t part) { return fit_part(f, part)->disk_tb * 1000.0; }

/* Each of several disks takes its share by size: so large all must be together for this one to last; what nobody said counts as enough. */
static double lasting_gb(const struct disk_search *s, const struct part *p)
{
    const double gb = s->write_tb / p->write_tb * p->disk_tb * 1000.0;
    return is_given(gb) ? gb : 0.0;
}

/* All multisets, the parts in their order, cut where the price reaches the best; of equal prices the fewest disks, then the largest. */
static void search(struct disk_search *s, uint32_t from)
{
    if (s->now.gb >= fmax(s->wanted_gb, s->now.lasting_gb)) {
        const bool is_better = !s->best.is_found || s->now.price < s->best.price ||
                               (s->now.price == s->best.price && s->now.n < s->best.n);
        if (is_better) {
            s->best = s->now;
            s->best.is_found = true;
        }
        return;
    }
    for (uint32_t i = from; i < s->n_parts && s->now.n < DISKS_MOST; i++) {
        const struct disk_choice was = s->now;
        s->now.parts[s->now.n++] = s->part[i];
        s->now.price += fit_part(s->f, s->part[i])->price;
        s->now.gb += disk_gb(s->f, s->part[i]);
        s->now.lasting_gb = fmax(s->now.lasting_gb, lasting_gb(s, fit_part(s->f, s->part[i])));
        if (!s->best.is_found || s->now.price <= s->best.price)
            search(s, i);
        s->now = was;
    }
}

static void list_parts(struct disk_search *s)
{
    for (uint32_t i = 0; i < s->f->h->parts.list.n && s->n_parts < RT_COUNT(s->part); i++)
        if (fit_part(s->f, i)->kind == PART_DISK && fit_part(s->f, i)->disk_tb > 0.0)
            s->part[s->n_parts++] = i;
}

/* Mirrored disks all hold everything: as many of the cheapest that is large enough. */
static void choose_mirrored(struct disk_search *s, uint32_t n)
{
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < s->n_parts; i++)
        if (disk_gb(s->f, s->part[i]) >= s->wanted_gb && !(fit_part(s->f, s->part[i])->write_tb < s->write_tb) &&
            (best == NO_REF || fit_part(s->f, s->part[i])->price < fit_part(s->f, best)->price))
            best = s->part[i];
    for (uint32_t i = 0; best != NO_REF && i < n; i++)
        s->best.parts[s->best.n++] = best;
    s->best.is_found = best != NO_REF;
}

/* ---- one recording ---- */

/* Where the recorder stands. */
static void place_disk(const struct fitter *f, const struct recording *r, struct equipment *disk)
{
    const struct house *h = f->h;
    const uint32_t e = house_find_equipment(h, r->recorder), d = house_find_device(h, r->recorder);
    disk->floor = e != NO_REF ? h->equipment.v[e].floor : h->devices.v[d].floor;
    disk->room = e != NO_REF ? h->equipment.v[e].room : h->devices.v[d].room;
    disk->at_m = e != NO_REF ? h->equipment.v[e].at_m : h->devices.v[d].at_m;
    if (!is_given(disk->at_m.x) && (disk->room.i != NO_REF || disk->floor.i != NO_REF)) {
        const vec2_list outline =
            disk->room.i != NO_REF ? h->rooms.v[disk->room.i].outline : h->floors.v[disk->floor.i].outline;
        const struct vec2 at = polygon_middle(outline, f->a);
        disk->at_m = (struct vec3){ at.x, at.y, 1.0 };
    }
}

static void put_disks(struct fitter *f, struct recording *r, const struct disk_choice *choice)
{
    struct ref *disks = ARENA_ARRAY(f->a, struct ref, r->disks.n + choice->n);
    uint32_t n = 0;
    f->failed |= !disks;
    for (uint32_t i = 0; disks && i < r->disks.n; i++)
        disks[n++] = r->disks.v[i];
    for (uint32_t i = 0; disks && i < choice->n && !f->failed; i++) {
        struct equipment e = { .id = fit_numbered_name(f, "disk"),
                               .part.i = choice->parts[i],
                               .mount = FIT_NONE,
                               .faces_deg = RT_NOT_GIVEN,
                               .inside = FIT_NONE,
                               .unit = RT_NOT_GIVEN,
                               .air = STR("closed"),
                               .segment = FIT_NONE,
                               .tune = true,
                               .phase.i = NO_REF };
        place_disk(f, r, &e);
        disks[n++] = (struct ref){ .i = f->things.n };
        f->failed |= !VEC_PUSH(f->a, &f->things, e) || !VEC_PUSH(f->a, &f->added, e.id);
        fit_tell(f, e.id, "%.*s for recording `%.*s`", STR_ARG(fit_part(f, e.part.i)->says), STR_ARG(r->id));
    }
    r->disks.v = disks;
    r->disks.n = n;
    r->disk_gb = RT_NOT_GIVEN; /* what was said of the old disk */
    fit_lists(f);
}

static double promised_days(const struct house *h, uint32_t recording)
{
    double days = 0.0;
    for (uint32_t i = 0; i < h->promises.n; i++)
        if (h->promises.v[i].kind == PROMISE_RECORDING && h->promises.v[i].recording.i == recording)
            days = fmax(days, h->promises.v[i].days);
    return days;
}

static enum rt_code fit_recording(struct fitter *f, uint32_t i)
{
    struct recording *r = &f->h->recordings.v[i];
    const double days = promised_days(f->h, i);
    struct recording_life life;
    if (days <= 0.0)
        return RT_OK;
    RT_TRY(recording_life_of(f->run, f->h, i, &life, f->p));
    if (life.days >= days)
        return RT_OK;
    if (!is_given(life.disk_gb_per_day) || !(life.disk_gb_per_day > 0.0)) {
        fit_tell(f, r->id, "no disk can be chosen: it is not known what all its cameras send");
        return RT_OK;
    }
    struct disk_search s = { .f = f, .wanted_gb = days * life.disk_gb_per_day / DISK_USABLE_SHARE };
    list_parts(&s);
    const bool keeps_old = r->disks.n > 0 && !r->mirrored && is_given(life.disk_gb) && !is_given(r->disk_gb);
    if (keeps_old)
        s.now.gb = life.disk_gb;
    for (int lasting = 1; lasting >= 0 && !s.best.is_found; lasting--) {
        s.write_tb = lasting ? DISK_LIFE_YEARS * 365.25 * life.disk_gb_per_day / 1000.0 : 0.0;
        s.now.lasting_gb = 0.0;
        for (uint32_t k = 0; keeps_old && k < r->disks.n; k++)
            s.now.lasting_gb =
                fmax(s.now.lasting_gb, lasting_gb(&s, fit_part(f, f->h->equipment.v[r->disks.v[k].i].part.i)));
        if (r->mirrored)
            choose_mirrored(&s, r->disks.n > 2 ? r->disks.n : 2);
        else
            search(&s, 0);
    }
    if (!s.best.is_found) {
        fit_tell(f, r->id, "%.0f GB would be wanted, and no disks in hand make that many", ceil(s.wanted_gb));
        return RT_OK;
    }
    if (!keeps_old)
        r->disks.n = 0;
    put_disks(f, r, &s.best);
    return f->failed ? rt_fail_memory(f->p) : RT_OK;
}

enum rt_code fit_disks(struct fitter *f)
{
    for (uint32_t i = 0; i < f->h->recordings.n; i++)
        RT_TRY(fit_recording(f, i));
    return RT_OK;
}
