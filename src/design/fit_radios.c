/* Which radios of a new access point have no channel in this country where it hangs: 6 GHz out of doors, in many. */
#include "design/fit_int.h"
#include "radio/ap_radio.h"

static enum rt_code read_rules(struct fitter *f, const struct regdb_country **out)
{
    struct rt_problems quiet;
    struct regdb *db = ARENA_NEW(f->a, struct regdb);
    rt_problems_init(&quiet, f->a);
    *out = NULL;
    if (!db || regdb_read_installed(f->run, db, &quiet) == RT_NOMEM)
        return rt_fail_memory(f->p);
    *out = regdb_find(db, f->h->country);
    return RT_OK;
}

static struct radio_setting set(enum band band, bool off)
{
    return (struct radio_setting){
        .band = band, .channel = RT_NOT_GIVEN, .width_mhz = RT_NOT_GIVEN, .power_dbm = RT_NOT_GIVEN, .off = off
    };
}

/* Has it a channel for all that are on? */
static enum rt_code resolves(struct fitter *f, const struct regdb_country *rules, struct equipment e, bool *yes)
{
    struct rt_problems quiet;
    ap_radio_list radios;
    struct house alone = *f->h;
    alone.equipment.v = &e;
    alone.equipment.n = 1;
    e.inside = FIT_NONE;
    rt_problems_init(&quiet, f->a);
    const enum rt_code code = ap_radios_resolve(f->run, &alone, rules, &radios, &quiet);
    *yes = code == RT_OK;
    return code == RT_NOMEM ? rt_fail_memory(f->p) : RT_OK;
}

/* With that radio alone on; a part has one of each band. */
static enum rt_code resolves_alone(struct fitter *f, const struct regdb_country *rules, const struct equipment *e,
                                   uint32_t radio, bool *yes)
{
    const struct part *part = fit_part(f, e->part.i);
    struct equipment single = *e;
    single.radios.v = ARENA_ARRAY(f->a, struct radio_setting, part->radios.n);
    single.radios.n = part->radios.n;
    if (!single.radios.v)
        return rt_fail_memory(f->p);
    for (uint32_t i = 0; i < part->radios.n; i++)
        single.radios.v[i] = set(part->radios.v[i].band, i != radio);
    return resolves(f, rules, single, yes);
}

static enum rt_code fit_radios_of(struct fitter *f, const struct regdb_country *rules, struct equipment *e)
{
    const struct part *part = fit_part(f, e->part.i);
    bool yes = false;
    RT_TRY(resolves(f, rules, *e, &yes));
    if (yes)
        return RT_OK;
    struct radio_setting *off = ARENA_ARRAY(f->a, struct radio_setting, part->radios.n);
    uint32_t n = 0;
    if (!off)
        return rt_fail_memory(f->p);
    for (uint32_t i = 0; i < part->radios.n; i++) {
        RT_TRY(resolves_alone(f, rules, e, i, &yes));
        if (yes)
            continue;
        off[n++] = set(part->radios.v[i].band, true);
        fit_tell(f, e->id, "%s GHz is off: the country has no channel for it here", band_name(part->radios.v[i].band));
    }
    e->radios.v = off;
    e->radios.n = n;
    return RT_OK;
}

enum rt_code fit_radios(struct fitter *f)
{
    const struct regdb_country *rules = NULL;
    const uint32_t n_old = f->things.n - f->added.n;
    RT_TRY(read_rules(f, &rules));
    for (uint32_t e = n_old; e < f->things.n; e++)
        if (fit_part(f, f->things.v[e].part.i)->radios.n)
            RT_TRY(fit_radios_of(f, rules, &f->things.v[e]));
    return RT_OK;
}
