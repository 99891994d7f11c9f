#include "house/parts_words.h"

#include "base/units.h"

void part_describe(const struct part *part, struct buf *out)
{
    const size_t from = out->n;
    for (uint32_t i = 0; i < part->radios.n; i++) {
        const struct part_radio *r = &part->radios.v[i];
        buf_printf(out, "%s%s GHz %.0fx%.0f", out->n > from ? ", " : "", band_name(r->band), r->streams, r->streams);
    }
    for (uint32_t i = 0; i < part->ports.n; i++) {
        const struct port_group *g = &part->ports.v[i];
        buf_printf(out, "%s%.0f x ", out->n > from ? ", " : "", g->count);
        if (g->speed_mbps >= 1000.0)
            buf_printf(out, "%g Gb/s", g->speed_mbps / 1000.0);
        else
            buf_printf(out, "%g Mb/s", g->speed_mbps);
        if (g->medium.n && !str_is(g->medium, "copper"))
            buf_printf(out, " %.*s", STR_ARG(g->medium));
        if (is_given(g->poe_class))
            buf_printf(out, " PoE class %.0f", g->poe_class);
    }
    if (is_given(part->poe_budget_w))
        buf_printf(out, "%s%.0f W to give", out->n > from ? ", " : "", part->poe_budget_w);
    if (is_given(part->poe_class_needed))
        buf_printf(out, "%sneeds PoE class %.0f", out->n > from ? ", " : "", part->poe_class_needed);
    if (part->category.n)
        buf_printf(out, "%scategory %.*s", out->n > from ? ", " : "", STR_ARG(part->category));
    if (is_given(part->per_m))
        buf_printf(out, "%sper %g m", out->n > from ? ", " : "", part->per_m);
    if (is_given(part->capacity_wh))
        buf_printf(out, "%s%.0f Wh", out->n > from ? ", " : "", part->capacity_wh);
    if (is_given(part->disk_tb))
        buf_printf(out, "%s%g TB", out->n > from ? ", " : "", part->disk_tb);
    if (is_given(part->rack_units))
        buf_printf(out, "%s%g U", out->n > from ? ", " : "", part->rack_units);
}

void parts_write_json(struct json *j, const struct parts *parts)
{
    json_begin_object(j, NULL);
    json_str(j, "currency", parts->currency);
    json_begin_array(j, "parts");
    for (uint32_t i = 0; i < parts->list.n; i++) {
        const struct part *part = &parts->list.v[i];
        struct buf what = { .arena = j->out->arena };
        part_describe(part, &what);
        json_begin_object(j, NULL);
        json_str(j, "id", part->id);
        json_text(j, "kind", part_kind_name(part->kind));
        json_str(j, "maker", part->maker);
        json_str(j, "says", part->says);
        json_fixed(j, "price", part->price, 2);
        json_num(j, "power_w", part->power_w);
        json_str(j, "what", buf_done(&what));
        json_end_object(j);
    }
    json_end_array(j);
    json_end_object(j);
}
