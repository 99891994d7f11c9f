#include "reach/layer2.h"

#include <stdlib.h>
#include <string.h>

#include "reach/layer2_int.h"

const char *l2_finding_name(enum l2_finding_kind kind)
{
    static const char *const NAMES[] = {
#define X(upper, lower) #lower,
        L2_FINDINGS(X)
#undef X
    };
    return NAMES[kind];
}

const char *port_mode_name(enum port_mode mode)
{
    static const char *const NAMES[] = { [PORT_EMPTY] = "empty",
                                         [PORT_ACCESS] = "access",
                                         [PORT_TRUNK] = "trunk",
                                         [PORT_LINE] = "line",
                                         [PORT_THROUGH] = "through" };
    return NAMES[mode];
}

static struct str equipment_words(const struct house *h, uint32_t e)
{
    return h->equipment.v[e].says.n ? h->equipment.v[e].says : h->equipment.v[e].id;
}

struct str l2_port_words(struct arena *a, const struct layer2 *l2, uint32_t port)
{
    const struct l2_port *p = &l2->ports.v[port];
    const struct equipment *e = &l2->plan->h->equipment.v[p->equipment];
    char *text = arena_printf(a, "port %u of %.*s", p->number, STR_ARG(e->id));
    return text ? str_from(text) : STR("");
}

const char *thing_words(struct layer2_maker *m, uint32_t node)
{
    const struct house *h = m->h;
    const bool is_device = net_is_device(&m->net, node);
    const struct str id = is_device ? h->devices.v[node - h->equipment.n].id : h->equipment.v[node].id;
    const struct str says = is_device ? h->devices.v[node - h->equipment.n].says : equipment_words(h, node);
    const char *text = says.n && !str_eq(says, id) ? arena_printf(m->arena, "%.*s (%.*s)", STR_ARG(id), STR_ARG(says))
                                                   : arena_printf(m->arena, "%.*s", STR_ARG(id));
    m->failed |= !text;
    return text ? text : "";
}

const char *segment_words(struct layer2_maker *m, uint32_t segment)
{
    if (segment == NO_REF)
        return "no segment";
    const char *text = arena_printf(m->arena, "segment %.*s", STR_ARG(m->h->segments.v[segment].id));
    m->failed |= !text;
    return text ? text : "";
}

void finding_add(struct layer2_maker *m, enum l2_finding_kind kind, bool is_error, struct rt_place at, const char *hint,
                 const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    char *text = arena_vprintf(m->arena, fmt, args);
    va_end(args);
    const struct l2_finding f = {
        .kind = kind, .is_error = is_error, .at = at, .says = str_from(text ? text : ""), .hint = str_from(hint)
    };
    m->failed |= !text || !VEC_PUSH(m->arena, &m->findings, f);
}

static int compare_findings(const void *x, const void *y)
{
    const struct l2_finding *a = x, *b = y;
    if (a->at.line != b->at.line)
        return a->at.line < b->at.line ? -1 : 1;
    if (a->at.col != b->at.col)
        return a->at.col < b->at.col ? -1 : 1;
    if (a->kind != b->kind)
        return a->kind < b->kind ? -1 : 1;
    return str_cmp(a->says, b->says);
}

static bool start(struct layer2_maker *m, const struct port_pick *picks)
{
    const size_t n_nodes = (size_t)m->h->equipment.n + m->h->devices.n;
    struct net *net = ARENA_NEW(m->arena, struct net);
    m->n_words = (m->h->segments.n + 63) / 64;
    m->needs = ARENA_ARRAY(m->arena, uint64_t, n_nodes * m->n_words);
    m->l2 = ARENA_NEW(m->arena, struct layer2);
    if (!net || !m->needs || !m->l2 || !net_make(m->arena, m->h, &m->net))
        return false;
    *net = m->net;
    if (!picks) {
        struct port_pick *own = ARENA_ARRAY(m->arena, struct port_pick, m->h->cables.n);
        if (!own)
            return false;
        net_pick_ports(net, own);
        picks = own;
    }
    m->picks = m->l2->picks = picks;
    m->l2->net = net;
    m->l2->gateway = net->gateway;
    return true;
}

enum rt_code layer2_plan(const struct run *run, const struct address_plan *plan, const struct port_pick *picks,
                         struct layer2 **out, struct rt_problems *p)
{
    struct layer2_maker m = { .arena = run->arena, .h = plan->h };
    *out = NULL;
    if (!start(&m, picks))
        return rt_fail_memory(p);
    m.l2->plan = plan;
    layer2_ssids(&m);
    if (!m.failed)
        layer2_ports(&m);
    if (m.failed)
        return rt_fail_memory(p);
    if (run_is_cancelled(run))
        return RT_CANCELLED;
    layer2_sockets(&m);
    layer2_find_wire(&m);
    layer2_find_air(&m);
    if (m.failed)
        return rt_fail_memory(p);
    if (m.findings.n)
        qsort(m.findings.v, m.findings.n, sizeof *m.findings.v, compare_findings);
    m.l2->findings.v = m.findings.v;
    m.l2->findings.n = m.findings.n;
    m.l2->sockets.v = m.sockets.v;
    m.l2->sockets.n = m.sockets.n;
    *out = m.l2;
    return RT_OK;
}

void layer2_report(const struct layer2 *l2, struct rt_problems *p)
{
    for (uint32_t i = 0; i < l2->findings.n; i++) {
        const struct l2_finding *f = &l2->findings.v[i];
        if (f->is_error)
            (void)rt_fail(p, RT_CONFLICT, f->at, f->hint.p, "%.*s", STR_ARG(f->says));
        else
            rt_warn(p, RT_CONFLICT, f->at, f->hint.p, "%.*s", STR_ARG(f->says));
    }
}
