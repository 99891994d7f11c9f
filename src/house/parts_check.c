/* Facts of a parts file that contradict each other. */
#include "house/field_int.h"
#include "house/model_int.h"

static void check_cut(struct reader *rd, const struct spot *spot, const struct antenna *antenna, const char *name,
                      double_list deg, double_list dbi)
{
    if (deg.n != dbi.n) {
        reader_fail(rd, spot, RT_CONFLICT, antenna->at, NULL, "%u angles and %u gains of %s do not match",
                    (unsigned)deg.n, (unsigned)dbi.n, name);
        return;
    }
    for (uint32_t i = 1; i < deg.n; i++)
        if (!(deg.v[i] > deg.v[i - 1])) {
            reader_fail(rd, spot, RT_CONFLICT, antenna->at, NULL, "the angles of %s must rise, but %.6g follows %.6g",
                        name, deg.v[i], deg.v[i - 1]);
            return;
        }
}

static void check_antenna(struct reader *rd, const struct spot *spot, const struct part *part, const struct antenna *a)
{
    check_cut(rd, spot, a, "the elevation", a->elevation_deg, a->elevation_dbi);
    check_cut(rd, spot, a, "the azimuth", a->azimuth_deg, a->azimuth_dbi);
    const double_list e = a->elevation_deg, z = a->azimuth_deg;
    if (e.n && (e.v[0] != 0 || e.v[e.n - 1] != 180))
        reader_fail(rd, spot, RT_CONFLICT, a->at, NULL, "the angles of the elevation must run from 0 to 180");
    if (z.n && (z.v[0] != -180 || z.v[z.n - 1] != 180))
        reader_fail(rd, spot, RT_CONFLICT, a->at, NULL, "the angles of the azimuth must run from -180 to 180");
    if (z.n && part->surface == SURFACE_CEILING && (part->kind == PART_ACCESS_POINT || part->kind == PART_BRIDGE))
        reader_fail(rd, spot, RT_CONFLICT, a->at,
                    "leave the azimuth out, and give the elevation averaged round the part",
                    "a part for the ceiling looks down, and has no side that an azimuth could begin from");
}

void parts_check(struct reader *rd, struct parts *parts)
{
    const struct field *list = shape_field(&SHAPE_PARTS, STR("parts"));
    for (uint32_t i = 0; i < parts->list.n; i++) {
        const struct part *part = &parts->list.v[i];
        const struct spot spot = { NULL, list->of, part->id, 0 };
        for (uint32_t k = 0; k < part->radios.n; k++) {
            check_antenna(rd, &spot, part, &part->radios.v[k].antenna);
            for (uint32_t other = 0; other < k; other++)
                if (part->radios.v[other].band == part->radios.v[k].band)
                    reader_fail(rd, &spot, RT_CONFLICT, part->radios.v[k].at, NULL, "it has two radios for %s GHz",
                                band_name(part->radios.v[k].band));
        }
    }
}
