/* Parts files. */
#include "fuzz.h"
#include "house/parts.h"

static void put_radio(struct buf *out, const struct part_radio *r)
{
    const struct antenna *a = &r->antenna;
    buf_printf(out, " [band %d phy %d", (int)r->band, (int)r->phy);
    fuzz_number(out, "streams", r->streams, false);
    fuzz_number(out, "width", r->width_mhz, false);
    fuzz_number(out, "power", r->power_dbm, false);
    fuzz_check(a->elevation_deg.n >= 2 && a->elevation_deg.n == a->elevation_dbi.n, "each angle has a gain");
    fuzz_check(a->azimuth_deg.n == a->azimuth_dbi.n, "each angle has a gain");
    for (uint32_t i = 0; i < a->elevation_deg.n; i++) {
        fuzz_check(i == 0 || a->elevation_deg.v[i] > a->elevation_deg.v[i - 1], "angles rise");
        fuzz_number(out, "gain", a->elevation_dbi.v[i], false);
    }
    buf_char(out, ']');
}

static void outcome(const struct run *run, struct str bytes, struct buf *out)
{
    struct rt_problems p;
    rt_problems_init(&p, run->arena);
    struct parts parts = { 0 };
    const enum rt_code code = parts_read_bytes(run, "p.parts.yaml", bytes, &parts, &p);
    buf_printf(out, "%s\n", rt_code_name(code));
    rt_problems_format(&p, out);
    fuzz_check((code == RT_OK) == (p.n_errors == 0), "an error has a message, and only an error");
    for (uint32_t i = 0; code == RT_OK && i < parts.list.n; i++) {
        const struct part *part = &parts.list.v[i];
        fuzz_check(part->kind < PART_KIND_COUNT && parts_find(&parts, part->id) == i, "a part is found by its id");
        buf_printf(out, "\n%.*s %s", STR_ARG(part->id), part_kind_name(part->kind));
        fuzz_number(out, "price", part->price, false);
        fuzz_number(out, "power", part->power_w, true);
        for (uint32_t k = 0; k < part->radios.n; k++)
            put_radio(out, &part->radios.v[k]);
    }
}

int fuzz_parts(const uint8_t *p, size_t n) { return fuzz_twice(p, n, outcome); }

FUZZ_TARGET(fuzz_parts);
