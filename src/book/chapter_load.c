/* What the line is asked for, what the cameras write, what is drawn from the mains, and how long batteries last. */
#include <math.h>

#include "base/units.h"
#include "book/wires_int.h"
#include "load/recordings.h"

enum { ASKERS_SHOWN = 5 };
static const double ASKER_LEAST_SHARE = 0.01; /* who asks for less is one of the others */

/* "470", "4.2", "0.36", "under 0.01". */
static struct str mbps_words(struct book *b, double mbps)
{
    if (isinf(mbps))
        return STR("more than 16 times the line");
    if (mbps > 0.0 && mbps < 0.01)
        return STR("under 0.01");
    return book_text(b, "%.*f", mbps >= 100.0 ? 0 : mbps >= 1.0 ? 1 : 2, mbps);
}

static struct str percent_words(struct book *b, double share)
{
    if (isinf(share))
        return STR("more than 1600 %");
    return share > 0.0 && share < 0.001 ? STR("under 0.1 %")
                                        : book_text(b, "%.*f %%", share < 0.1 ? 1 : 0, 100.0 * share);
}

/* ---- the line ---- */

static void write_askers(struct book *b, const struct load_view *v, enum load_way way)
{
    static const struct flow_column COLUMNS[] = { { NULL, 118.0, FLOW_LEFT }, { NULL, 50.0, FLOW_RIGHT } };
    const struct line_week *week = &v->now[way];
    const load_asker_list askers = load_view_askers(b->arena, v->demand, way, week->worst);
    const double all_mbps = week->hours[week->worst].mean_mbps;
    double others_mbps = 0.0;
    uint32_t n_shown = 0;
    while (n_shown < askers.n && n_shown < ASKERS_SHOWN &&
           (!n_shown || askers.v[n_shown].mbps >= ASKER_LEAST_SHARE * all_mbps))
        n_shown++;
    flow_heading(b->flow, "Who asks, %s, on %.*s", way == LOAD_DOWN ? "down" : "up",
                 STR_ARG(line_hour_words(b->arena, week->worst)));
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < askers.n; i++) {
        if (i >= n_shown) {
            others_mbps += askers.v[i].mbps;
            continue;
        }
        const struct flow_cell cells[] = {
            cell(demand_source_words(b->arena, v->demand, askers.v[i].source)),
            cell(book_text(b, "%.*s Mb/s", STR_ARG(mbps_words(b, askers.v[i].mbps)))),
        };
        flow_row(b->flow, cells);
    }
    if (askers.n > n_shown) {
        const struct flow_cell cells[] = { cell(book_text(b, "%u more", askers.n - n_shown)),
                                           cell(book_text(b, "%.*s Mb/s", STR_ARG(mbps_words(b, others_mbps)))) };
        flow_row(b->flow, cells);
    }
    const struct flow_cell sum[] = {
        cell(STR("together, on average over that hour")),
        cell(book_text(b, "%.*s Mb/s", STR_ARG(mbps_words(b, week->hours[week->worst].mean_mbps)))),
    };
    flow_sum_row(b->flow, sum);
}

static void write_way(struct book *b, const struct load_view *v, enum load_way way)
{
    const struct line_week *now = &v->now[way], *night = &v->night[way];
    const struct line_hour *worst = &now->hours[now->worst];
    const double asked_mbps = worst->needed_mbps.high, night_mbps = night->hours[night->worst].needed_mbps.high;
    const struct flow_cell cells[] = {
        cell_strong(way == LOAD_DOWN ? STR("down") : STR("up")),
        cell(mbps_words(b, now->capacity_mbps)),
        cell(line_hour_words(b->arena, now->worst)),
        cell(mbps_words(b, worst->mean_mbps)),
        cell(mbps_words(b, asked_mbps)),
        cell(percent_words(b, asked_mbps / now->capacity_mbps)),
        cell(mbps_words(b, night_mbps)),
    };
    flow_row(b->flow, cells);
}

static void write_line(struct book *b)
{
    static const struct flow_column COLUMNS[] = {
        { "", 14.0, FLOW_LEFT },
        { "the line carries, Mb/s", 24.0, FLOW_RIGHT },
        { "fullest hour", 38.0, FLOW_LEFT },
        { "asked on average, Mb/s", 24.0, FLOW_RIGHT },
        { "serves, Mb/s", 24.0, FLOW_RIGHT },
        { "of the line", 18.0, FLOW_RIGHT },
        { "if what can wait waits for the night", 26.0, FLOW_RIGHT },
    };
    const struct load_view *v = b->draw.load;
    flow_section(b->flow, "load-line", "The line at its fullest");
    if (!v || !v->has_line) {
        flow_text(b->flow, b->h->line.at.line ? "Nobody asks anything of the line, as far as the house file says."
                                              : "The house file tells of no internet line.");
        return;
    }
    const double month_gb = line_month_gb(v->demand);
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    write_way(b, v, LOAD_DOWN);
    write_way(b, v, LOAD_UP);
    flow_soft(b->flow,
              "Serves: enough for %.4g %% of that hour%s.  Everybody asks by their profile, each by "
              "themselves; the sum is exact.",
              100.0 * v->probability, v->is_promised ? ", as was promised" : "");
    if (is_given(b->h->line.cap_gb_per_month))
        flow_text(b->flow, "In a month %.0f GB pass, of %.0f GB that the line has.", month_gb,
                  b->h->line.cap_gb_per_month);
    else
        flow_text(b->flow, "In a month %.0f GB pass; the line has no limit for that.", month_gb);
    write_askers(b, v, LOAD_DOWN);
    write_askers(b, v, LOAD_UP);
}

/* ---- recordings ---- */

static void write_cameras(struct book *b, const struct recording_life *life)
{
    static const struct flow_column COLUMNS[] = { { "camera", 46.0, FLOW_LEFT },
                                                  { "Mb/s", 16.0, FLOW_RIGHT },
                                                  { "of the day", 18.0, FLOW_RIGHT },
                                                  { "GB a day", 18.0, FLOW_RIGHT },
                                                  { "from", 70.0, FLOW_LEFT } };
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < life->cameras.n; i++) {
        const struct camera_rate *c = &life->cameras.v[i];
        const bool is_known = is_given(c->mbps);
        const struct flow_cell cells[] = {
            cell(device_words(b->h, c->device)),
            cell(is_known ? mbps_words(b, c->mbps) : STR("not known")),
            cell(percent_words(b, c->share)),
            cell(is_known ? book_text(b, "%.1f", c->mbps * c->share * GB_PER_MBPS_DAY) : STR("")),
            cell_soft(c->is_given && is_known ? STR("the house file") : c->how),
        };
        flow_row(b->flow, cells);
    }
    const struct flow_cell sum[] = {
        cell(STR("together")), cell(is_given(life->peak_mbps) ? mbps_words(b, life->peak_mbps) : STR("")),
        cell(STR("")),         cell(is_given(life->gb_per_day) ? book_text(b, "%.1f", life->gb_per_day) : STR("")),
        cell(STR("")),
    };
    flow_sum_row(b->flow, sum);
}

static void write_days(struct book *b, const struct recording *r, const struct recording_life *life)
{
    struct buf w = { .arena = b->arena };
    if (life->missing.n) {
        for (uint32_t i = 0; i < life->missing.n; i++)
            buf_printf(&w, "%s%.*s", i ? "; " : "", STR_ARG(life->missing.v[i]));
        flow_text(b->flow, "How long the pictures are kept is not known.  What is missing: %.*s.",
                  STR_ARG(buf_done(&w)));
        return;
    }
    if (isinf(life->days))
        buf_text(&w, "Nothing is written, so pictures are never overwritten.");
    else
        buf_printf(&w, "Pictures are kept for %.1f days: %.0f GB of disk, %.1f GB a day written to it.", life->days,
                   life->disk_gb, life->disk_gb_per_day);
    if (is_given(r->days_wanted))
        buf_printf(&w, "  Wanted are %.0f.", r->days_wanted);
    flow_text(b->flow, "%.*s", STR_ARG(buf_done(&w)));
    if (is_given(life->endurance_years))
        flow_text(b->flow, "%s bears %.0f TB of writing: %.1f years at this rate.  Put a new one in before that.",
                  r->disks.n > 1 ? "The disk that is worn out first" : "The disk", life->write_tb,
                  life->endurance_years);
    else
        flow_text(b->flow,
                  "How much writing the disk bears is not said; look for its TB written, and give it in the parts "
                  "file as write_tb.");
}

static enum rt_code write_recordings(struct book *b, struct rt_problems *p)
{
    flow_section(b->flow, "load-recordings", "Pictures that are kept");
    if (!b->h->recordings.n)
        flow_text(b->flow, "No pictures of cameras are recorded in this house.");
    for (uint32_t i = 0; i < b->h->recordings.n; i++) {
        const struct recording *r = &b->h->recordings.v[i];
        struct recording_life life;
        RT_TRY(recording_life_of(b->run, b->h, i, &life, p));
        flow_heading(b->flow, "%.*s, on %.*s", STR_ARG(r->says.n ? r->says : book_id_words(b, r->id)),
                     STR_ARG(r->recorder));
        write_days(b, r, &life);
        write_cameras(b, &life);
        if (r->motion_only)
            flow_soft(b->flow, "Recorded only while something moves.");
    }
    return RT_OK;
}

/* ---- watts ---- */

static void write_sources(struct book *b, const struct power_plan *power)
{
    static const struct flow_column COLUMNS[] = {
        { "feeds over its ports", 60.0, FLOW_LEFT }, { "things", 16.0, FLOW_RIGHT },
        { "in use, W", 20.0, FLOW_RIGHT },           { "all at full, W", 22.0, FLOW_RIGHT },
        { "all starting, W", 24.0, FLOW_RIGHT },     { "it has, W", 26.0, FLOW_RIGHT },
    };
    if (!power->sources.n) {
        flow_text(b->flow, "Nothing is fed over its data cable.");
        return;
    }
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < power->sources.n; i++) {
        const struct power_source *s = &power->sources.v[i];
        const bool is_short = is_given(s->budget_w) && s->worst_w > s->budget_w;
        struct flow_cell full = cell(book_text(b, "%.1f", s->worst_w));
        full.is_accent = is_short;
        const struct flow_cell cells[] = {
            cell(equipment_words(b->h, s->equipment)),
            cell(book_text(b, "%u", s->n_feeds)),
            cell(book_text(b, "%.1f", s->typical_w)),
            full,
            cell(book_text(b, "%.1f", s->start_w)),
            cell(is_given(s->budget_w) ? book_text(b, "%.0f", s->budget_w) : STR("not said")),
        };
        flow_row(b->flow, cells);
    }
}

static void write_year(struct book *b, const struct energy_plan *energy)
{
    const struct bill *bill = b->bill;
    flow_text(
        b->flow,
        "The whole network draws %.1f W at the plug in use, with what it feeds over cables%s: %.0f kWh a year%s%.*s.",
        energy->typical_w, b->h->line.at.line ? " and the line's box" : "", energy->kwh_per_year,
        bill->energy_known ? ", " : "",
        STR_ARG(bill->energy_known ? money_words(b->arena, b->h->currency, bill->energy) : STR("")));
    for (uint32_t i = 0; i < energy->missing.n; i++)
        flow_item(b->flow, "not counted, for it is not known: %.*s", STR_ARG(energy->missing.v[i]));
}

/* ---- batteries ---- */

static struct str fed_words(struct book *b, const struct energy_plan *energy, uint32_t battery)
{
    struct buf w = { .arena = b->arena };
    for (uint32_t e = 0; e < b->h->equipment.n; e++)
        if (energy->battery_of_equipment[e] == battery)
            buf_printf(&w, "%s%.*s", w.n ? ", " : "", STR_ARG(equipment_words(b->h, e)));
    for (uint32_t d = 0; d < b->h->devices.n; d++)
        if (energy->battery_of_device[d] == battery)
            buf_printf(&w, "%s%.*s", w.n ? ", " : "", STR_ARG(device_words(b->h, d)));
    if (energy->battery_of_line == battery)
        buf_printf(&w, "%sthe line's box", w.n ? ", " : "");
    return w.failed || !w.n ? STR("nothing") : buf_done(&w);
}

static struct str minutes_words(struct book *b, const struct battery_life *life)
{
    if (life->is_overloaded)
        return STR("more than it can give");
    return is_given(life->minutes) ? book_text(b, "%.0f min", floor(life->minutes))
                                   : book_text(b, "not known: %.*s", STR_ARG(life->missing));
}

static void write_batteries(struct book *b, const struct energy_plan *energy)
{
    static const struct flow_column COLUMNS[] = { { "battery", 28.0, FLOW_LEFT },
                                                  { "what lives on it", 78.0, FLOW_LEFT },
                                                  { "load, W", 16.0, FLOW_RIGHT },
                                                  { "usable, Wh", 18.0, FLOW_RIGHT },
                                                  { "it lasts", 28.0, FLOW_LEFT } };
    flow_section(b->flow, "load-battery", "Without mains");
    if (!b->h->batteries.n) {
        flow_text(b->flow, "There is no battery: without mains the whole network stands still.");
        return;
    }
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < b->h->batteries.n; i++) {
        const struct battery_life *life = &energy->batteries[i];
        struct flow_cell lasts = cell(minutes_words(b, life));
        lasts.is_accent = life->is_overloaded;
        lasts.is_strong = true;
        const struct flow_cell cells[] = {
            cell_strong(b->h->batteries.v[i].id),
            cell(fed_words(b, energy, i)),
            cell(is_given(life->load_w) ? book_text(b, "%.0f", life->load_w) : STR("")),
            cell(is_given(life->usable_wh) ? book_text(b, "%.0f", life->usable_wh) : STR("")),
            lasts,
        };
        flow_row(b->flow, cells);
    }
    flow_soft(b->flow,
              "At the battery's age and temperature of the house file, all it feeds in use.  What takes its power "
              "over its cable lives through what feeds it; all else goes dark at once.");
}

enum rt_code chapter_load(struct book *b, struct rt_problems *p)
{
    flow_chapter(b->flow, "load", "Load, pictures, power");
    write_line(b);
    RT_TRY(write_recordings(b, p));
    flow_section(b->flow, "load-power", "Power");
    write_sources(b, b->draw.energy->power);
    write_year(b, b->draw.energy);
    write_batteries(b, b->draw.energy);
    flow_soft(b->flow, "`rooftree draw --what load` draws the line in its fullest hour, and how full every cable is.");
    return RT_OK;
}
