/* What is cut from what, watts and batteries, for a spreadsheet. */
#include "base/csv.h"
#include "base/units.h"
#include "wire/wire_csv.h"

void cuts_write_csv(struct buf *out, const struct cut_plan *plan)
{
    const struct house *h = plan->cables->h;
    buf_text(out, "part,box_m,box,cable,cut_m\r\n");
    for (uint32_t i = 0; i < plan->parts.n; i++)
        for (uint32_t k = 0; k < plan->parts.v[i].cuts.n; k++) {
            const struct cut_part *q = &plan->parts.v[i];
            const bool is_boxed = q->box_m > 0.0 && q->cuts.v[k].box != NO_REF;
            csv_field(out, h->parts.list.v[q->part].id);
            csv_number(out, q->box_m > 0.0 ? q->box_m : RT_NOT_GIVEN, 0);
            csv_number(out, is_boxed ? (double)q->cuts.v[k].box + 1.0 : RT_NOT_GIVEN, 0);
            csv_field(out, h->cables.v[q->cuts.v[k].cable].id);
            csv_number(out, q->cuts.v[k].length_m, 1);
            csv_end_row(out);
        }
}

void power_write_csv(struct buf *out, const struct power_plan *power)
{
    buf_text(out, "equipment,things,typical_w,full_w,starting_w,budget_w\r\n");
    for (uint32_t i = 0; i < power->sources.n; i++) {
        const struct power_source *s = &power->sources.v[i];
        csv_field(out, power->h->equipment.v[s->equipment].id);
        csv_number(out, s->n_feeds, 0);
        csv_number(out, s->typical_w, 1);
        csv_number(out, s->worst_w, 1);
        csv_number(out, s->start_w, 1);
        csv_number(out, s->budget_w, 1);
        csv_end_row(out);
    }
}

void batteries_write_csv(struct buf *out, const struct energy_plan *energy)
{
    buf_text(out, "battery,capacity_wh,usable_wh,load_w,minutes,missing\r\n");
    for (uint32_t i = 0; i < energy->h->batteries.n; i++) {
        const struct battery_life *life = &energy->batteries[i];
        csv_field(out, energy->h->batteries.v[i].id);
        csv_number(out, life->capacity_wh, 0);
        csv_number(out, life->usable_wh, 1);
        csv_number(out, life->load_w, 1);
        csv_number(out, life->minutes, 1);
        csv_field(out, life->missing);
        csv_end_row(out);
    }
}
