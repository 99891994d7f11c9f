#include "base/csv.h"
#include "base/units.h"
#include "wire/end_label.h"
#include "wire/wire_csv.h"

/* The runs in order, each once where legs of one follow one another. */
static struct str way_words(struct arena *a, const struct house *h, const struct routed_cable *r)
{
    struct buf b = { .arena = a };
    struct str last = { 0 };
    for (uint32_t i = 0; i < r->legs.n; i++) {
        const struct cable_leg *leg = &r->legs.v[i];
        const struct str where = leg->run == NO_REF ? leg->says : h->runs.v[leg->run].id;
        if (where.n && !str_eq(where, last))
            buf_printf(&b, "%s%.*s", b.n ? "; " : "", STR_ARG(where));
        last = where;
    }
    return b.failed ? STR("") : buf_done(&b);
}

static void cable_row(struct buf *out, const struct cable_plan *plan, const struct wire_links *links,
                      const struct bill *bill, uint32_t i, struct port_numbers ports)
{
    const struct house *h = plan->h;
    const struct part *part = bill->cable_parts[i] == NO_REF ? NULL : &h->parts.list.v[bill->cable_parts[i]];
    const struct cable *c = &h->cables.v[i];
    const struct routed_cable *r = &plan->cables[i];
    const unsigned from_port = end_label_number(&c->from, ports.from), to_port = end_label_number(&c->to, ports.to);
    csv_field(out, c->id);
    csv_field(out, c->from.what);
    csv_number(out, from_port ? from_port : RT_NOT_GIVEN, 0);
    csv_field(out, c->to.what);
    csv_number(out, to_port ? to_port : RT_NOT_GIVEN, 0);
    csv_field(out, part && part->category.n ? part->category : links->v[i].category);
    csv_number(out, r->fixed_m, 1);
    csv_number(out, r->cords_m, 1);
    csv_field(out, r->is_routed ? way_words(out->arena, h, r) : r->why_not);
    for (int end = 0; end < 2; end++)
        csv_field(out, end_label_line(out->arena, end_label_of_cable(out->arena, h, i, end == 0, ports)));
    csv_field(out, c->owned ? STR("yes") : STR("no"));
    csv_field(out, part ? part->id : (struct str){ 0 });
    csv_end_row(out);
}

void cables_write_csv(struct buf *out, const struct cable_plan *plan, const struct wire_links *links,
                      const struct bill *bill, const struct port_numbers *ports)
{
    buf_text(out,
             "cable,from,from_port,to,to_port,category,fixed_m,cords_m,way,label_at_from,label_at_to,owned,part\r\n");
    for (uint32_t i = 0; i < plan->h->cables.n; i++)
        cable_row(out, plan, links, bill, i, ports ? ports[i] : (struct port_numbers){ 0 });
}
