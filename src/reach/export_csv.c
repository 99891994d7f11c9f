/* Tables for a spreadsheet (RFC 4180): the address plan, SSIDs, rules, who may begin talk with whom. */
#include "base/csv.h"
#include "base/units.h"
#include "reach/export.h"
#include "reach/matrix.h"
#include "reach/rule_words.h"

/* ---- fields ---- */

static void field_num(struct buf *out, unsigned n)
{
    buf_printf(out, "%s%u", out->n && out->p[out->n - 1] != '\n' ? "," : "", n);
}

static void field_address(struct buf *out, enum family family, axis_value address)
{
    struct buf text = { .arena = out->arena };
    if (address)
        address_write(&text, family, address);
    csv_field(out, buf_done(&text));
}

static void field_prefix(struct buf *out, struct prefix p)
{
    struct buf text = { .arena = out->arena };
    if (p.is_given)
        prefix_write(&text, p);
    csv_field(out, buf_done(&text));
}

/* ---- addresses ---- */

static void segments_csv(const struct export_house *x, struct export_folder *out)
{
    struct buf b = export_begin(out);
    buf_text(&b, "segment,says,vlan,ipv4,ipv4_gateway,handed_out_from,handed_out_to,ipv6_local,ipv6_local_gateway,"
                 "ipv6_global,devices,known_only\r\n");
    for (uint32_t i = 0; i < x->h->segments.n; i++) {
        const struct segment *s = &x->h->segments.v[i];
        const struct segment_plan *plan = &x->plan->segments[i];
        csv_field(&b, s->id);
        csv_field(&b, s->says);
        field_num(&b, plan->vlan);
        field_prefix(&b, plan->ipv4);
        field_address(&b, FAMILY_IPV4, plan->ipv4_gateway);
        field_address(&b, FAMILY_IPV4, plan->dhcp_from);
        field_address(&b, FAMILY_IPV4, plan->dhcp_to);
        field_prefix(&b, plan->ula);
        field_address(&b, FAMILY_IPV6, plan->ula_gateway);
        field_prefix(&b, plan->global);
        field_num(&b, plan->n_devices);
        csv_field(&b, s->known_only ? STR("yes") : STR("no"));
        csv_end_row(&b);
    }
    export_end(out, &b, 0644, "segments.csv");
}

static void addresses_csv(const struct export_house *x, struct export_folder *out)
{
    struct buf b = export_begin(out);
    buf_text(&b, "device,says,segment,mac,mac_known,ipv4,ipv6_local,ipv6_global,name\r\n");
    for (uint32_t i = 0; i < x->h->devices.n; i++) {
        const struct device *d = &x->h->devices.v[i];
        const struct device_plan *plan = &x->plan->devices[i];
        struct buf mac = { .arena = out->arena };
        if (plan->zone == NO_REF)
            continue;
        mac_write(&mac, plan->mac);
        csv_field(&b, d->id);
        csv_field(&b, d->says);
        csv_field(&b, x->h->segments.v[d->segment.i].id);
        csv_field(&b, buf_done(&mac));
        csv_field(&b, plan->mac_is_stand_in ? STR("no") : STR("yes"));
        field_address(&b, FAMILY_IPV4, plan->ipv4);
        field_address(&b, FAMILY_IPV6, plan->ula);
        field_address(&b, FAMILY_IPV6, plan->global);
        csv_field(&b, plan->name);
        csv_end_row(&b);
    }
    export_end(out, &b, 0644, "addresses.csv");
}

/* ---- SSIDs ---- */

static const char *security_name(enum security s)
{
    static const char *const NAMES[] = { [SECURITY_WPA3] = "wpa3",
                                         [SECURITY_WPA2_WPA3] = "wpa2_wpa3",
                                         [SECURITY_WPA2] = "wpa2",
                                         [SECURITY_OWE] = "owe",
                                         [SECURITY_OPEN] = "open" };
    return NAMES[s];
}

static void ssids_csv(const struct export_house *x, struct export_folder *out)
{
    struct buf b = export_begin(out);
    buf_text(&b, "ssid,name,segment,vlan,security,clients_apart,access_points\r\n");
    for (uint32_t s = 0; s < x->h->ssids.n; s++) {
        const struct l2_ssid *row = &x->l2->ssids[s];
        struct buf cells = export_begin(out);
        for (uint32_t i = 0; i < row->cells.n; i++)
            buf_printf(&cells, "%s%.*s (%s GHz)", i ? " " : "",
                       STR_ARG(x->h->equipment.v[row->cells.v[i].equipment].id), band_name(row->cells.v[i].band));
        csv_field(&b, x->h->ssids.v[s].id);
        csv_field(&b, row->name);
        csv_field(&b, x->h->segments.v[row->segment].id);
        field_num(&b, x->plan->segments[row->segment].vlan);
        csv_field(&b, str_from(security_name(x->h->ssids.v[s].security)));
        csv_field(&b, row->isolate ? STR("yes") : STR("no"));
        csv_field(&b, buf_done(&cells));
        csv_end_row(&b);
    }
    export_end(out, &b, 0644, "ssids.csv");
}

/* ---- rules ---- */

static void field_axis(struct buf *out, const struct export_house *x, const struct rule *r, uint32_t axis)
{
    struct buf b = { .arena = out->arena };
    rule_put_axis(&b, x->plan, r, axis);
    out->failed |= b.failed;
    csv_field(out, buf_done(&b));
}

static void rule_row(struct buf *b, const struct export_house *x, const struct chain *c, const struct rule *r)
{
    static const uint32_t AXES[] = { AXIS_FROM,        AXIS_TO,       AXIS_SOURCE_MAC,  AXIS_SOURCE,
                                     AXIS_DESTINATION, AXIS_PROTOCOL, AXIS_SOURCE_PORT, AXIS_DESTINATION_PORT,
                                     AXIS_ICMP_TYPE };
    struct buf states = { .arena = b->arena };
    rule_put_states(&states, r);
    b->failed |= states.failed;
    field_num(b, r->number);
    csv_field(b, c->name);
    csv_field(b, r->families == 1U << FAMILY_IPV4   ? STR("ipv4")
                 : r->families == 1U << FAMILY_IPV6 ? STR("ipv6")
                                                    : STR("both"));
    for (size_t i = 0; i < RT_COUNT(AXES); i++)
        field_axis(b, x, r, AXES[i]);
    csv_field(b, buf_done(&states));
    csv_field(b, r->hours.i == NO_REF ? STR("") : x->h->hours.v[r->hours.i].id);
    csv_field(b, str_from(rule_action_name(r->action)));
    csv_field(b, r->action == ACTION_JUMP || r->action == ACTION_GOTO ? x->policy->table.chains.v[r->chain].name
                                                                      : STR(""));
    if (r->at.line)
        field_num(b, r->at.line);
    else
        csv_field(b, STR(""));
    csv_field(b, r->says);
    csv_end_row(b);
}

static void rules_csv(const struct export_house *x, struct export_folder *out)
{
    struct buf b = export_begin(out);
    buf_text(&b,
             "rule,chain,family,from,to,source_mac,source,destination,protocol,source_port,destination_port,icmp_type,"
             "state,hours,action,target,line,says\r\n");
    for (uint32_t c = 0; c < x->policy->table.chains.n; c++)
        for (uint32_t i = 0; i < x->policy->table.chains.v[c].rules.n; i++)
            rule_row(&b, x, &x->policy->table.chains.v[c], &x->policy->table.chains.v[c].rules.v[i]);
    export_end(out, &b, 0644, "rules.csv");
}

/* ---- who may begin talk with whom ---- */

static void passage_row(struct buf *b, const struct export_house *x, const char *family, uint32_t from, uint32_t to,
                        const char *verdict, const struct passage *p)
{
    struct buf services = { .arena = b->arena };
    for (uint32_t i = 0; p && i < p->services.n; i++)
        buf_printf(&services, "%s%.*s", i ? "; " : "", STR_ARG(p->services.v[i]));
    csv_field(b, zone_id(x->plan, from));
    csv_field(b, zone_id(x->plan, to));
    csv_field(b, str_from(family));
    csv_field(b, str_from(verdict));
    csv_field(b, buf_done(&services));
    csv_field(b, p ? p->from : STR(""));
    csv_field(b, p ? p->to : STR(""));
    csv_field(b, p ? p->hours : STR(""));
    if (p && p->rule)
        field_num(b, p->rule->number);
    else
        csv_field(b, STR(""));
    if (p && p->rule && p->rule->at.line)
        field_num(b, p->rule->at.line);
    else
        csv_field(b, STR(""));
    csv_end_row(b);
}

static void cell_rows(struct buf *b, const struct export_house *x, const struct matrix *m, enum family f, uint32_t from,
                      uint32_t to)
{
    static const char *const VERDICTS[] = { [CELL_NONE] = "none", [CELL_SOME] = "some", [CELL_ALL] = "all" };
    const struct matrix_cell *cell = matrix_at(m, f, from, to);
    const char *family = f == FAMILY_IPV4 ? "ipv4" : "ipv6", *verdict = VERDICTS[cell->verdict];
    if (!cell->passages.n)
        passage_row(b, x, family, from, to, verdict, NULL);
    for (uint32_t i = 0; i < cell->passages.n; i++)
        passage_row(b, x, family, from, to, verdict, &cell->passages.v[i]);
}

/* Of an ordinary week; a row for each rule that lets something through, or one that says all or none. */
static enum rt_code matrix_csv(const struct export_house *x, struct export_folder *out, struct rt_problems *p)
{
    struct proof *proof;
    struct matrix *m;
    struct buf b = export_begin(out);
    RT_TRY(proof_begin(x->run, x->policy, x->calendar, NULL, &proof, p));
    RT_TRY(matrix_make(proof, &m, p));
    buf_text(&b, "from,to,family,verdict,services,from_devices,to_devices,hours,rule,line\r\n");
    for (uint32_t from = 0; from < m->n; from++)
        for (uint32_t to = 0; to < m->n; to++)
            for (enum family f = 0; from != to && f < FAMILY_COUNT; f++)
                cell_rows(&b, x, m, f, from, to);
    export_end(out, &b, 0644, "matrix.csv");
    return RT_OK;
}

enum rt_code export_csv(const struct export_house *x, struct export_folder *out, struct rt_problems *p)
{
    segments_csv(x, out);
    addresses_csv(x, out);
    ssids_csv(x, out);
    rules_csv(x, out);
    RT_TRY(matrix_csv(x, out, p));
    return out->failed ? rt_fail_memory(p) : RT_OK;
}
