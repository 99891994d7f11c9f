#include "base/csv.h"
#include "base/units.h"
#include "load/recordings.h"

#include <math.h>

enum rt_code recordings_write_csv(const struct run *run, const struct house *h, struct buf *out, struct rt_problems *p)
{
    buf_text(out, "recording,recorder,camera,mbps,share_of_day,gb_per_day,from,disk_gb,days,endurance_years\r\n");
    for (uint32_t i = 0; i < h->recordings.n; i++) {
        struct recording_life life;
        RT_TRY(recording_life_of(run, h, i, &life, p));
        for (uint32_t k = 0; k < life.cameras.n; k++) {
            const struct camera_rate *c = &life.cameras.v[k];
            csv_field(out, h->recordings.v[i].id);
            csv_field(out, h->recordings.v[i].recorder);
            csv_field(out, h->devices.v[c->device].id);
            csv_number(out, c->mbps, 3);
            csv_number(out, c->share, 3);
            csv_number(out, c->mbps * c->share * GB_PER_MBPS_DAY, 2);
            csv_field(out, c->is_given ? STR("the house file") : c->how);
            csv_number(out, life.disk_gb, 0);
            csv_number(out, isfinite(life.days) ? life.days : RT_NOT_GIVEN, 1);
            csv_number(out, isfinite(life.endurance_years) ? life.endurance_years : RT_NOT_GIVEN, 1);
            csv_end_row(out);
        }
    }
    return RT_OK;
}
