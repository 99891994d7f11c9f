#include "promise/spot_report.h"

#include <math.h>
#include <stdlib.h>

#include "promise/spot_words.h"
#include "radio/interference.h"

static const char *const PATH_KINDS[] = { "direct", "reflected", "diffracted" };

static int stronger_first(const void *a, const void *b)
{
    const struct spot_radio *x = a, *y = b;
    if (x->link.level_dbm != y->link.level_dbm)
        return x->link.level_dbm < y->link.level_dbm ? 1 : -1;
    return (x->radio > y->radio) - (x->radio < y->radio);
}

enum rt_code spot_report_make(struct evaluation *ev, uint32_t floor, struct vec3 at_m,
                              const struct radio_ability *device, struct str device_name, double availability,
                              uint32_t max_paths, struct spot_report *out, struct rt_problems *p)
{
    *out = (struct spot_report){ .ev = ev,
                                 .floor = floor,
                                 .at_m = at_m,
                                 .device = device,
                                 .device_name = device_name,
                                 .availability = availability };
    out->radios.v = ARENA_ARRAY(ev->run->arena, struct spot_radio, ev->radios.n);
    if (!out->radios.v)
        return rt_fail_memory(p);
    const struct vec3 datum_m = { at_m.x, at_m.y, house_z_m(ev->h, floor, at_m.z) };
    for (uint32_t i = 0; i < ev->radios.n; i++) {
        const struct ap_radio *radio = &ev->radios.v[i];
        if (!link_is_possible(radio, device))
            continue;
        struct spot_radio *s = &out->radios.v[out->radios.n++];
        double gain_db;
        s->radio = radio;
        RT_TRY(spot_paths(ev->run, ev->walls, ev->scene, radio, datum_m, ev->options.trace, 0, &s->paths, &gain_db, p));
        s->n_paths_all = s->paths.n;
        if (max_paths && s->paths.n > max_paths)
            s->paths.n = max_paths;
        const double noise_dbm = interference_neighbours_dbm(ev->h, floor, radio->centre_hz, radio->width_hz);
        s->link = link_compute(radio, device, gain_db, availability, noise_dbm);
    }
    qsort(out->radios.v, out->radios.n, sizeof *out->radios.v, stronger_first);
    return RT_OK;
}

/* What the device receives by this path alone. */
static double path_level_dbm(const struct spot_report *r, const struct spot_radio *s, const struct path *path)
{
    return s->radio->power_dbm + path->gain_db + r->device->gain_dbi - r->device->body_loss_db;
}

/* [x, y, z above the datum] */
static void point_json(struct json *j, const char *key, struct vec3 at_m)
{
    json_begin_array(j, key);
    json_fixed(j, NULL, at_m.x, 3);
    json_fixed(j, NULL, at_m.y, 3);
    json_fixed(j, NULL, at_m.z, 3);
    json_end_array(j);
}

static void crossing_json(struct json *j, const struct house *h, const struct crossing *c)
{
    json_begin_object(j, NULL);
    json_str(j, "id", c->id);
    json_str(j, "construct", h->constructs.v[c->construct].id);
    json_fixed(j, "angle_deg", c->angle_deg, 1);
    json_fixed(j, "loss_db", c->loss_db, 2);
    json_bool(j, "reflection", c->is_reflection);
    json_bool(j, "bend", c->is_bend);
    point_json(j, "place_m", c->at_m);
    json_end_object(j);
}

static void path_json(struct json *j, const struct spot_report *r, const struct spot_radio *s, const struct path *path)
{
    json_begin_object(j, NULL);
    json_text(j, "kind", PATH_KINDS[path->kind]);
    json_int(j, "order", path->order);
    json_fixed(j, "length_m", path->length_m, 3);
    json_fixed(j, "free_space_db", path->free_space_db, 2);
    json_fixed(j, "level_dbm", path_level_dbm(r, s, path), 2);
    json_begin_array(j, "crossings");
    for (uint32_t k = 0; k < path->crossings.n; k++)
        crossing_json(j, r->ev->h, &path->crossings.v[k]);
    json_end_array(j);
    json_begin_array(j, "points_m");
    for (uint32_t k = 0; k < path->points.n; k++)
        point_json(j, NULL, path->points.v[k]);
    json_end_array(j);
    json_end_object(j);
}

void spot_report_write_json(struct json *j, const struct spot_report *r)
{
    const struct house *h = r->ev->h;
    json_begin_object(j, NULL);
    json_begin_object(j, "spot");
    json_str(j, "floor", h->floors.v[r->floor].id);
    json_begin_array(j, "at_m");
    json_num(j, NULL, r->at_m.x);
    json_num(j, NULL, r->at_m.y);
    json_num(j, NULL, r->at_m.z);
    json_end_array(j);
    json_str(j, "where", spot_words(r->ev->run->arena, h, r->floor, (struct vec2){ r->at_m.x, r->at_m.y }));
    json_end_object(j);
    json_str(j, "device", r->device_name);
    json_fixed(j, "availability", r->availability, 3);
    json_text(j, "estimate", estimate_name(r->ev->options.trace.estimate));
    json_begin_array(j, "access_points");
    for (uint32_t i = 0; i < r->radios.n; i++) {
        const struct spot_radio *s = &r->radios.v[i];
        json_begin_object(j, NULL);
        json_str(j, "id", h->equipment.v[s->radio->equipment].id);
        json_text(j, "band", band_name(s->radio->band));
        json_fixed(j, "frequency_mhz", s->radio->centre_hz / 1e6, 1);
        json_fixed(j, "width_mhz", s->radio->width_hz / 1e6, 0);
        json_fixed(j, "eirp_dbm", s->radio->eirp_dbm, 2);
        json_fixed(j, "level_dbm", s->link.level_dbm, 2);
        json_fixed(j, "promised_level_dbm", s->link.promised_level_dbm, 2);
        json_fixed(j, "uplink_level_dbm", s->link.uplink_level_dbm, 2);
        json_fixed(j, "snr_db", s->link.snr_db, 2);
        json_fixed(j, "phy_mbps", s->link.phy_mbps, 1);
        json_fixed(j, "payload_mbps", s->link.payload_mbps, 1);
        json_begin_array(j, "paths");
        for (uint32_t k = 0; k < s->paths.n; k++)
            path_json(j, r, s, &s->paths.v[k]);
        json_end_array(j);
        json_end_object(j);
    }
    json_end_array(j);
    json_end_object(j);
    json_end(j);
}

/* "brick_solid -9.1 (party wall, 12 deg)" for each wall on the way. */
static void path_text(struct buf *out, const struct spot_report *r, const struct spot_radio *s, const struct path *path)
{
    buf_printf(out, "    %-10s %6.1f dBm  %5.1f m  in the open -%.1f", PATH_KINDS[path->kind],
               path_level_dbm(r, s, path), path->length_m, path->free_space_db);
    for (uint32_t k = 0; k < path->crossings.n; k++) {
        const struct crossing *c = &path->crossings.v[k];
        buf_printf(out, "%s %.*s -%.1f (%.0f deg)", c->is_reflection ? ", off" : ", through", STR_ARG(c->id),
                   c->loss_db, c->angle_deg);
    }
    buf_char(out, '\n');
}

void spot_report_write_text(struct buf *out, const struct spot_report *r)
{
    const struct house *h = r->ev->h;
    const struct str where = spot_words(r->ev->run->arena, h, r->floor, (struct vec2){ r->at_m.x, r->at_m.y });
    buf_printf(out, "%.*s   %.*s   %.2f, %.2f at %.2f m   %s estimate\n", STR_ARG(h->name), STR_ARG(where), r->at_m.x,
               r->at_m.y, r->at_m.z, estimate_name(r->ev->options.trace.estimate));
    buf_printf(out, "What a %.*s hears there; promised: what holds in %.0f of 100 such places\n",
               STR_ARG(r->device_name), r->availability * 100.0);
    if (r->radios.n == 0)
        buf_text(out, "\nNo access point of the house serves this device.\n");
    for (uint32_t i = 0; i < r->radios.n; i++) {
        const struct spot_radio *s = &r->radios.v[i];
        const struct link *l = &s->link;
        buf_printf(out, "\n  %.*s  %s GHz, channel %.0f%s, %.0f MHz wide\n",
                   STR_ARG(h->equipment.v[s->radio->equipment].id), band_name(s->radio->band), s->radio->channel,
                   s->radio->channel_was_chosen ? " (not chosen)" : "", s->radio->width_hz / 1e6);
        buf_printf(out, "    level %.1f dBm   promised %.1f   heard back at %.1f   above noise %.1f dB   ",
                   l->level_dbm, l->promised_level_dbm, l->uplink_level_dbm, l->snr_db);
        if (l->phy_mbps > 0.0)
            buf_printf(out, "%.0f Mb/s on the air, %.0f of payload\n", l->phy_mbps, l->payload_mbps);
        else
            buf_text(out, "no link\n");
        for (uint32_t k = 0; k < s->paths.n; k++)
            path_text(out, r, s, &s->paths.v[k]);
        if (s->n_paths_all > s->paths.n)
            buf_printf(out, "    and %u weaker paths\n", (unsigned)(s->n_paths_all - s->paths.n));
    }
}
