/* One function a table; bare names, one value a cell, the unit in the column's name. */
#include "book/tables.h"

#include <math.h>

#include "base/csv.h"
#include "base/units.h"
#include "book/acceptance.h"
#include "book/floors.h"
#include "book/flow_int.h"
#include "book/net_words.h"
#include "book/wires_int.h"

typedef void table_writer(struct book *b, struct buf *out);

static void yes_no(struct buf *out, bool yes) { csv_field(out, yes ? STR("yes") : STR("no")); }

/* ---- promises ---- */

static void promises_csv(struct book *b, struct buf *out)
{
    buf_text(out, "promise,kind,heading,says,state,margin,unit,reason,other_walls_disagree\r\n");
    for (uint32_t i = 0; i < b->results.n; i++) {
        const struct promise_result *r = &b->results.v[i];
        csv_field(out, r->promise->id);
        csv_field(out, str_from(promise_kind_name(r->promise->kind)));
        csv_field(out, str_from(promise_heading(r->promise->kind)));
        csv_field(out, r->promise->says);
        csv_field(out, str_from(promise_state_name(r->state)));
        csv_number(out, r->margin, r->margin_decimals);
        csv_field(out, str_from(is_given(r->margin) ? r->unit : ""));
        csv_field(out, r->reason);
        yes_no(out, r->other_estimate_disagrees);
        csv_end_row(out);
    }
}

/* Of what is promised in rooms: what the promised share of each room reaches. */
static void rooms_csv(struct book *b, struct buf *out)
{
    buf_text(out, "promise,room,kept_area_share,level_dbm,mbps,worst,uplink_level_dbm,worst_uplink_dbm\r\n");
    for (uint32_t i = 0; i < b->results.n; i++) {
        const struct promise_result *r = &b->results.v[i];
        for (const struct fact *room = fact_find_first(r->evidence, "rooms"); room; room = room->next) {
            const double level_dbm = fact_find_num(room, "level_dbm"), mbps = fact_find_num(room, "mbps");
            csv_field(out, r->promise->id);
            csv_field(out, fact_find_str(room, "room"));
            csv_number(out, fact_find_num(room, "area_share"), 3);
            csv_number(out, level_dbm, 1);
            csv_number(out, mbps, 0);
            csv_number(out, fact_find_num(room, "worst"), isnan(level_dbm) ? 0 : 1);
            csv_number(out, fact_find_num(room, "uplink_level_dbm"), 1);
            csv_number(out, fact_find_num(room, "worst_uplink"), 1);
            csv_end_row(out);
        }
    }
}

/* How long each thing suffices if the devices multiply as promised. */
static void growth_csv(struct book *b, struct buf *out)
{
    buf_text(out, "promise,what,lasts_years,lasts_times,enough,what_helps,missing\r\n");
    for (uint32_t i = 0; i < b->results.n; i++) {
        const struct promise_result *r = &b->results.v[i];
        for (const struct fact *u = fact_find_first(r->evidence, "uses"); u; u = u->next) {
            const struct fact *enough = fact_find(u, "enough");
            csv_field(out, r->promise->id);
            csv_field(out, fact_find_str(u, "what"));
            csv_number(out, fact_find_num(u, "lasts_years"), 1);
            csv_number(out, fact_find_num(u, "lasts_times"), 2);
            csv_field(out, !enough ? STR("") : enough->num < 0.5 ? STR("no") : STR("yes"));
            csv_field(out, fact_find_str(u, "mend"));
            csv_field(out, fact_find_str(u, "missing"));
            csv_end_row(out);
        }
    }
}

/* Every phase, with those before it, against every promise. */
static void phases_csv(struct book *b, struct buf *out)
{
    buf_text(out, "phase,by_date,things_still_missing,promise,state,whole_house\r\n");
    for (uint32_t k = 0; k < b->stages.v.n; k++)
        for (uint32_t i = 0; i < b->h->promises.n; i++) {
            const struct phase_stage *s = &b->stages.v.v[k];
            csv_field(out, b->h->phases.v[s->phase].id);
            csv_field(out, b->h->phases.v[s->phase].by_date);
            csv_number(out, s->n_missing, 0);
            csv_field(out, b->h->promises.v[i].id);
            csv_field(out, str_from(promise_state_name(s->results[i]->state)));
            csv_field(out, str_from(promise_state_name(b->results.v[i].state)));
            csv_end_row(out);
        }
}

/* Every single failure against every promise. */
static void failures_csv(struct book *b, struct buf *out)
{
    const struct failure_table *t = b->draw.failures;
    buf_text(out, "failure,kind,says,things_dead,things_cut_off,promise,state,broken_by_this,margin,unit\r\n");
    for (uint32_t i = 0; i < t->rows.n; i++) {
        const struct failure_row *row = &t->rows.v[i];
        for (uint32_t k = 0; k < b->h->promises.n; k++) {
            const struct promise_result *r = row->results[k];
            csv_field(out, row->failure.id);
            csv_field(out, str_from(failure_kind_name(row->failure.kind)));
            csv_field(out, row->failure.says);
            csv_number(out, row->n_dead, 0);
            csv_number(out, row->n_cut_off, 0);
            csv_field(out, b->h->promises.v[k].id);
            csv_field(out, str_from(promise_state_name(r->state)));
            yes_no(out, failure_breaks(t, i, k));
            csv_number(out, r->margin, r->margin_decimals);
            csv_field(out, str_from(is_given(r->margin) ? r->unit : ""));
            csv_end_row(out);
        }
    }
}

/* ---- what the hands need ---- */

static void work_row(struct book *b, struct buf *out, const struct install *in, uint32_t work)
{
    const struct cable_work *w = &in->plan->work.v[work];
    const struct install_work *i = &in->work[work];
    const bool is_hole = w->kind == WORK_HOLE;
    struct buf cables = { .arena = b->arena };
    for (uint32_t k = 0; k < w->cables.n; k++)
        buf_printf(&cables, "%s%.*s", k ? " " : "", STR_ARG(b->h->cables.v[w->cables.v[k].i].id));
    csv_field(out, install_work_mark(b->arena, in, work));
    csv_field(out, is_hole ? STR("hole") : STR("board"));
    csv_field(out, w->floor != NO_REF ? b->h->floors.v[w->floor].id : STR(""));
    csv_field(out, install_place_words(b->arena, in, work));
    csv_field(out, w->construct != NO_REF ? install_construct_name(b->arena, b->h, w->construct) : STR(""));
    csv_number(out, is_hole ? i->thickness_m * 1000.0 : RT_NOT_GIVEN, 0);
    csv_number(out, is_hole ? i->diameter_mm : RT_NOT_GIVEN, 0);
    csv_field(out, !is_hole ? STR("") : i->is_diameter_sure ? STR("yes") : STR("no"));
    csv_field(out, cables.n ? buf_done(&cables) : STR(""));
    yes_no(out, !bill_work_is_new(b->h, w));
    csv_field(out, install_caution(in, work));
    csv_end_row(out);
    out->failed |= cables.failed;
}

static void holes_csv(struct book *b, struct buf *out)
{
    const struct install *in = install_make(b->arena, b->draw.cables);
    buf_text(out, "mark,kind,floor,place,through,thickness_mm,bit_mm,bit_sure,cables,there_already,take_care\r\n");
    out->failed |= !in;
    for (uint32_t i = 0; in && i < in->plan->work.n; i++)
        work_row(b, out, in, i);
}

static void cabinets_csv(struct book *b, struct buf *out)
{
    const struct energy_plan *e = b->draw.energy;
    buf_text(out, "cabinet,rack_units,rack_units_used,heat_w,warmer_k,warmer_closed_k,warmer_with_slots_k,fan_m3_per_h,"
                  "missing\r\n");
    for (uint32_t i = 0; i < e->cabinets.n; i++) {
        const struct cabinet_heat *c = &e->cabinets.v[i];
        csv_field(out, b->h->equipment.v[c->equipment].id);
        csv_number(out, c->rack_units, 0);
        csv_number(out, c->rack_units_used, 0);
        csv_number(out, c->heat_w, 1);
        csv_number(out, c->air_k, 1);
        csv_number(out, c->rise_k, 1);
        csv_number(out, c->vented_k, 1);
        csv_number(out, c->flow_m3_per_h, 1);
        csv_field(out, c->missing);
        csv_end_row(out);
    }
}

static void radios_csv(struct book *b, struct buf *out)
{
    const struct airtime *air = b->draw.load ? b->draw.load->airtime : NULL;
    buf_text(
        out,
        "equipment,band_ghz,channel_centre,width_mhz,power_dbm,eirp_dbm,channel_given,listens_for_radar,busiest_hour,"
        "busy_share\r\n");
    for (uint32_t i = 0; i < b->fields->radios.n; i++) {
        const struct ap_radio *r = &b->fields->radios.v[i];
        const bool is_told = air && i < air->cells.n;
        const unsigned hour = is_told ? airtime_busy_hour(air, i) : 0;
        csv_field(out, b->h->equipment.v[r->equipment].id);
        csv_field(out, str_from(band_name(r->band)));
        csv_number(out, r->channel, 0);
        csv_number(out, r->width_hz / 1e6, 0);
        csv_number(out, r->power_dbm, 0);
        csv_number(out, r->eirp_dbm, 0);
        yes_no(out, !r->channel_was_chosen);
        yes_no(out, r->needs_radar_detection);
        csv_field(out, is_told ? radio_hour_words(b->arena, air, i) : STR(""));
        csv_number(out, is_told ? airtime_busy(air, i, hour, 1.0) : RT_NOT_GIVEN, 4);
        csv_end_row(out);
    }
}

/* ---- the network ---- */

static void statements_csv(struct book *b, struct buf *out)
{
    buf_text(out, "number,statement,says,from,to,verdict,services,hours\r\n");
    for (uint32_t i = 0; i < b->h->statements.n; i++) {
        const struct statement *s = &b->h->statements.v[i];
        csv_number(out, i + 1.0, 0);
        csv_field(out, s->id);
        csv_field(out, s->says);
        csv_field(out, net_ends_words(b, &s->from));
        csv_field(out, net_ends_words(b, &s->to));
        csv_field(out, s->verdict == VERDICT_ALLOW ? STR("allowed") : STR("refused"));
        struct buf services = { .arena = b->arena };
        for (uint32_t k = 0; k < s->services.n; k++)
            buf_printf(&services, "%s%.*s", k ? " " : "", STR_ARG(s->services.v[k]));
        csv_field(out, services.n ? buf_done(&services) : STR(""));
        csv_field(out, s->hours.i != NO_REF ? b->h->hours.v[s->hours.i].id : STR(""));
        csv_end_row(out);
    }
}

/* ---- the line ---- */

static void line_csv(struct book *b, struct buf *out)
{
    const struct load_view *v = b->draw.load;
    buf_text(out, "way,hour_of_week,hour,line_mbps,asked_mean_mbps,serves_mbps,serves_share_of_time,fullest\r\n");
    for (int way = LOAD_DOWN; v && v->has_line && way <= LOAD_UP; way++) {
        const struct line_week *w = &v->now[way];
        for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++) {
            csv_field(out, str_from(load_way_name((enum load_way)way)));
            csv_number(out, hour, 0);
            csv_field(out, line_hour_words(b->arena, hour));
            csv_number(out, w->capacity_mbps, 1);
            csv_number(out, w->hours[hour].mean_mbps, 3);
            csv_number(out, w->hours[hour].needed_mbps.high, 1);
            csv_number(out, v->probability, 4);
            yes_no(out, hour == w->worst);
            csv_end_row(out);
        }
    }
}

static void askers_csv(struct book *b, struct buf *out)
{
    const struct load_view *v = b->draw.load;
    buf_text(out, "way,hour,who,mean_mbps\r\n");
    for (int way = LOAD_DOWN; v && v->has_line && way <= LOAD_UP; way++) {
        const unsigned hour = v->now[way].worst;
        const load_asker_list list = load_view_askers(b->arena, v->demand, (enum load_way)way, hour);
        out->failed |= !list.v;
        for (uint32_t i = 0; list.v && i < list.n; i++) {
            csv_field(out, str_from(load_way_name((enum load_way)way)));
            csv_field(out, line_hour_words(b->arena, hour));
            csv_field(out, demand_source_words(b->arena, v->demand, list.v[i].source));
            csv_number(out, list.v[i].mbps, 6);
            csv_end_row(out);
        }
    }
}

/* ---- money ---- */

static void year_row(struct buf *out, const struct bill *bill, const char *what, double kwh, bool is_known,
                     int64_t amount)
{
    csv_field(out, str_from(what));
    csv_number(out, kwh, 1);
    csv_number(out, is_known ? (double)amount / pow(10.0, bill->digits) : RT_NOT_GIVEN, bill->digits);
    csv_field(out, bill->h->currency);
    csv_end_row(out);
}

static void year_csv(struct book *b, struct buf *out)
{
    const struct bill *bill = b->bill;
    buf_text(out, "what,kwh,amount,currency\r\n");
    year_row(out, bill, "energy", bill->kwh_per_year, bill->energy_known, bill->energy);
    year_row(out, bill, "line", RT_NOT_GIVEN, bill->line_known, bill->line);
    year_row(out, bill, "together", RT_NOT_GIVEN, true, bill->yearly);
}

/* ---- all ---- */

static const struct {
    const char *name;
    table_writer *write;
} TABLES[] = {
    { "places.csv", floor_places_write_csv },
    { "holes.csv", holes_csv },
    { "promises.csv", promises_csv },
    { "promised_rooms.csv", rooms_csv },
    { "failures.csv", failures_csv },
    { "phases.csv", phases_csv },
    { "growth.csv", growth_csv },
    { "radios.csv", radios_csv },
    { "hours.csv", hours_write_csv },
    { "statements.csv", statements_csv },
    { "sockets.csv", sockets_write_csv },
    { "line_hours.csv", line_csv },
    { "line_askers.csv", askers_csv },
    { "cabinets.csv", cabinets_csv },
    { "year.csv", year_csv },
};

enum rt_code book_tables_add(struct book *b, struct export_folder *files, struct rt_problems *p)
{
    struct acceptance *list = NULL;
    RT_TRY(acceptance_make(b->ev, &b->results, &list, p));
    struct buf table = export_begin(files);
    acceptance_write_csv(&table, list);
    export_end(files, &table, 0644, "acceptance.csv");
    for (size_t i = 0; i < RT_COUNT(TABLES); i++) {
        table = export_begin(files);
        TABLES[i].write(b, &table);
        export_end(files, &table, 0644, "%s", TABLES[i].name);
    }
    return b->flow->failed ? rt_fail_memory(p) : RT_OK;
}
