#include "reach/export_nft.h"

#include "reach/export_nft_int.h"

/* The text, from top to bottom: remarks, definitions (interfaces, addresses of the provider's prefix), the table: sets of
 * names, marks, port openings, translation, and for each hook of input, forward and output the start chain followed by the
 * chains that packets of that hook can come to.  A chain that is the same for all hooks stands once.
 *
 * Rules that follow each other and have the same hours move into a chain of their own behind one jump for each stretch of
 * time.  Should two stretches share an instant, a packet goes there twice and fares the same. */

enum { INTERFACE_BYTES = 15 }; /* IFNAMSIZ less the closing 0 */

/* ---- names ---- */

/* The id as a variable: zone_family.  A prefix keeps ids apart from words of nft. */
static struct str defined_name(struct nft_writer *w, const char *prefix, struct str id)
{
    struct buf name = { .arena = w->run->arena };
    buf_text(&name, prefix);
    buf_str(&name, id);
    w->failed |= name.failed;
    return nft_word(w->run->arena, buf_done(&name));
}

static enum rt_code name_zones(struct nft_writer *w)
{
    const struct nft_options *o = w->options;
    const struct address_plan *plan = w->policy->plan;
    if (!o->interfaces && !plan)
        return rt_fail(w->p, RT_MISSING, RT_NOWHERE, NULL, "the zones of the table have no interfaces");
    w->n_zones = o->interfaces ? o->n_interfaces : plan->n_zones;
    w->n_with_mac = w->policy->h ? ZONE_SEGMENT + w->policy->h->segments.n : w->n_zones;
    if (w->n_with_mac > w->n_zones)
        w->n_with_mac = w->n_zones;
    w->zones = ARENA_ARRAY(w->run->arena, struct str, w->n_zones);
    if (!w->zones)
        return rt_fail_memory(w->p);
    for (uint32_t z = 0; z < w->n_zones; z++) {
        if (z == ZONE_GATEWAY) {
            w->zones[z] = STR("\"lo\"");
            continue;
        }
        const struct str interface = o->interfaces ? o->interfaces[z] : zone_interface(plan, z);
        if (interface.n == 0)
            return rt_fail(w->p, RT_MISSING, RT_NOWHERE, NULL, "zone %u has no interface", (unsigned)z);
        if (interface.n > INTERFACE_BYTES)
            return rt_fail(w->p, RT_RANGE, RT_NOWHERE, NULL,
                           "interface '%.*s' has a longer name than the %d letters that Linux allows",
                           STR_ARG(interface), INTERFACE_BYTES);
        struct buf name = { .arena = w->run->arena };
        if (plan)
            buf_printf(&name, "$%.*s", STR_ARG(defined_name(w, "zone_", zone_id(plan, z))));
        else
            buf_printf(&name, "\"%.*s\"", STR_ARG(nft_quotable(w->run->arena, interface, INTERFACE_BYTES)));
        w->failed |= name.failed;
        w->zones[z] = buf_done(&name);
    }
    return RT_OK;
}

static void name_chains(struct nft_writer *w)
{
    static const char *const OURS[] = { "input",         "forward",     "output",   "marks",
                                        "port_openings", "translation", "refuse_it" };
    const struct table *t = w->table;
    for (uint32_t c = 0; c < t->chains.n; c++) {
        struct str word = nft_word(w->run->arena, t->chains.v[c].name);
        bool taken = false;
        for (uint32_t k = 0; k < RT_COUNT(OURS); k++)
            taken |= str_is(word, OURS[k]);
        for (uint32_t k = 0; k < c; k++)
            taken |= str_eq(word, w->chains[k]);
        if (taken) {
            struct buf name = { .arena = w->run->arena };
            buf_printf(&name, "%.*s_%u", STR_ARG(word), (unsigned)c);
            word = buf_done(&name);
        }
        w->chains[c] = word;
    }
}

static void define(struct nft_writer *w, struct str name, struct span is)
{
    if (!VEC_PUSH(w->run->arena, &w->globals, ((struct nft_definition){ name, is })))
        w->failed = true;
}

/* The provider's prefix and what is cut out of it, the prefix first. */
static void name_globals(struct nft_writer *w)
{
    const struct address_plan *plan = w->policy->plan;
    const struct house *h = w->policy->h;
    if (!plan || !h || !plan->delegated.is_given)
        return;
    define(w, STR("delegated"), prefix_span(plan->delegated));
    for (uint32_t i = 0; i < h->segments.n; i++)
        if (plan->segments[i].global.is_given) {
            const axis_value gateway = plan->segments[i].global_gateway;
            define(w, defined_name(w, "global_", h->segments.v[i].id), prefix_span(plan->segments[i].global));
            if (gateway)
                define(w, defined_name(w, "gateway_global_", h->segments.v[i].id), (struct span){ gateway, gateway });
        }
    for (uint32_t i = 0; i < h->devices.n; i++)
        if (plan->devices[i].global) {
            const axis_value at = plan->devices[i].global;
            define(w, defined_name(w, "device_global_", h->devices.v[i].id), (struct span){ at, at });
        }
}

/* ---- which chains, behind which hooks ---- */

static enum rt_code lead(struct nft_writer *w, uint32_t chain, enum nft_hook hook, bool *open)
{
    const struct chain *c = &w->table->chains.v[chain];
    if (open[chain])
        return rt_fail(w->p, RT_LIMIT, RT_NOWHERE, NULL, "chain %.*s leads back to itself", STR_ARG(c->name));
    if (w->led_to[hook][chain])
        return RT_OK;
    w->led_to[hook][chain] = open[chain] = true;
    for (uint32_t i = 0; i < c->rules.n; i++) {
        const struct rule *r = &c->rules.v[i];
        const bool leads = r->action == ACTION_JUMP || r->action == ACTION_GOTO;
        if (leads && nft_rule_fits_hook(w, r, hook))
            RT_TRY(lead(w, r->chain, hook, open));
    }
    open[chain] = false;
    return RT_OK;
}

static bool differs_by_hook(const struct nft_writer *w, const struct rule *r)
{
    const bool leads = r->action == ACTION_JUMP || r->action == ACTION_GOTO;
    return match_on(&r->match, AXIS_FROM) || match_on(&r->match, AXIS_TO) || match_on(&r->match, AXIS_SOURCE_MAC) ||
           (leads && w->speaks_of_zones[r->chain]);
}

/* A chain that differs by hook makes those that lead to it differ. */
static void find_neutral_chains(struct nft_writer *w)
{
    const struct table *t = w->table;
    for (bool changed = true; changed;) {
        changed = false;
        for (uint32_t c = 0; c < t->chains.n; c++)
            for (uint32_t i = 0; i < t->chains.v[c].rules.n && !w->speaks_of_zones[c]; i++)
                if (differs_by_hook(w, &t->chains.v[c].rules.v[i]))
                    w->speaks_of_zones[c] = changed = true;
    }
}

/* ---- chains ---- */

static bool same_hours(const struct rule *a, const struct rule *b)
{
    return a->hours.i == b->hours.i && a->hours.i != NO_REF;
}

/* Back from a chain of its own, a return or a goto would come to the wrong place. */
static bool may_move(const struct rule *r) { return r->action != ACTION_RETURN && r->action != ACTION_GOTO; }

static void put_says(struct buf *out, const struct rule *r, const struct rule *before)
{
    if (r->says.n && !(before && str_eq(before->says, r->says)))
        nft_put_remark(out, 8, r->says);
}

/* The chain of rules first..first + n, made when it is first asked for; one that does not speak of zones serves all hooks. */
static enum rt_code moved_chain(struct nft_writer *w, const struct rule *first, uint32_t n, enum nft_hook hook,
                                struct str *name)
{
    struct arena *a = w->run->arena;
    bool neutral = true;
    for (uint32_t i = 0; i < n; i++)
        neutral &= !differs_by_hook(w, &first[i]);
    for (uint32_t i = 0; i < w->moved.n && neutral; i++)
        if (w->moved.v[i].first == first && w->moved.v[i].n == n) {
            *name = w->moved.v[i].name;
            return RT_OK;
        }
    const struct house *h = w->policy->h;
    const struct str id = h && first->hours.i < h->hours.n ? h->hours.v[first->hours.i].id : STR("hours");
    struct buf text = { .arena = a };
    buf_printf(&text, "%.*s_%u", STR_ARG(defined_name(w, "at_", id)), (unsigned)w->moved.n + 1);
    *name = buf_done(&text);
    struct buf *aside = ARENA_NEW(a, struct buf);
    if (!aside || text.failed || !VEC_PUSH(a, &w->asides, aside) ||
        !VEC_PUSH(a, &w->moved, ((struct nft_moved){ first, n, *name })))
        return rt_fail_memory(w->p);
    aside->arena = a;
    buf_printf(aside, "\n    chain %.*s {\n", STR_ARG(*name));
    for (uint32_t i = 0; i < n; i++) {
        put_says(aside, &first[i], i ? &first[i - 1] : NULL);
        RT_TRY(nft_put_rule(w, aside, &first[i], hook, STR("")));
    }
    buf_text(aside, "    }\n");
    w->failed |= aside->failed;
    return RT_OK;
}

/* Rules first..first + n share their hours: one jump for each stretch of them. */
static enum rt_code put_moved(struct nft_writer *w, struct buf *out, const struct rule *first, uint32_t n,
                              enum nft_hook hook, nft_time_list times)
{
    struct str name;
    RT_TRY(moved_chain(w, first, n, hook, &name));
    for (uint32_t i = 0; i < times.n; i++) {
        struct buf line = { .arena = w->run->arena };
        nft_put_remark(out, 8, times.v[i].says);
        buf_printf(&line, "%.*s jump %.*s", STR_ARG(times.v[i].condition), STR_ARG(name));
        nft_put_line(out, 8, buf_done(&line));
    }
    return RT_OK;
}

static enum rt_code put_timed(struct nft_writer *w, struct buf *out, const struct rule *r, uint32_t n,
                              enum nft_hook hook)
{
    const struct nft_options *o = w->options;
    if (!o->hours || r->hours.i >= o->n_hours)
        return rt_fail(w->p, RT_MISSING, r->at, NULL, "rule %u has hours, but nobody says when they are",
                       (unsigned)r->number);
    const nft_time_list times = nft_time_conditions(w->run->arena, &o->hours[r->hours.i], &w->failed);
    const bool moves = times.n > 1 || n > 1;
    if (times.n == 0)
        nft_put_remark(out, 8, STR("at no hour of these years:"));
    if (times.n == 0 || !moves || !may_move(r))
        put_says(out, r, NULL);
    if (times.n == 0)
        return RT_OK;
    if (moves && may_move(r))
        return put_moved(w, out, r, n, hook, times);
    for (uint32_t i = 0; i < times.n; i++) {
        nft_put_remark(out, 8, times.v[i].says);
        RT_TRY(nft_put_rule(w, out, r, hook, times.v[i].condition));
    }
    return RT_OK;
}

static enum rt_code put_rules(struct nft_writer *w, struct buf *out, const struct chain *c, enum nft_hook hook)
{
    const struct rule *before = NULL;
    for (uint32_t i = 0; i < c->rules.n;) {
        const struct rule *r = &c->rules.v[i];
        uint32_t n = 1;
        if (!nft_rule_fits_hook(w, r, hook)) {
            i++;
            continue;
        }
        if (r->hours.i == NO_REF) {
            put_says(out, r, before);
            RT_TRY(nft_put_rule(w, out, r, hook, STR("")));
        } else {
            while (may_move(r) && i + n < c->rules.n && same_hours(r, &r[n]) && may_move(&r[n]) &&
                   nft_rule_fits_hook(w, &r[n], hook))
                n++;
            RT_TRY(put_timed(w, out, r, n, hook));
        }
        before = &r[n - 1];
        i += n;
    }
    return RT_OK;
}

static void put_asides(struct nft_writer *w)
{
    for (uint32_t i = 0; i < w->asides.n; i++)
        buf_str(w->out, buf_done(w->asides.v[i]));
    w->asides.n = 0;
}

static const char *const HOOKS[NFT_HOOKS] = { "input", "forward", "output" };

static enum rt_code put_hook(struct nft_writer *w, enum nft_hook hook)
{
    static const char *const SAYS[NFT_HOOKS] = { "to the gateway itself", "through the gateway", "from the gateway" };
    const struct table *t = w->table;
    const struct chain *start = &t->chains.v[t->start];
    nft_put_remark(w->out, 4, str_from(SAYS[hook]));
    buf_printf(w->out, "    chain %s {\n        type filter hook %s priority filter; policy %s;\n", HOOKS[hook],
               HOOKS[hook], start->policy == ACTION_ACCEPT ? "accept" : "drop");
    RT_TRY(put_rules(w, w->out, start, hook));
    buf_text(w->out, "    }\n");
    put_asides(w);
    buf_text(w->out, "\n");
    for (uint32_t c = 0; c < t->chains.n; c++) {
        bool stands = c == t->start || !w->led_to[hook][c];
        for (unsigned h = 0; h < hook && !w->speaks_of_zones[c]; h++)
            stands |= w->led_to[h][c];
        if (stands)
            continue;
        buf_printf(w->out, "    chain %.*s {\n", STR_ARG(nft_chain_in(w, c, hook)));
        RT_TRY(put_rules(w, w->out, &t->chains.v[c], hook));
        buf_text(w->out, "    }\n");
        put_asides(w);
        buf_text(w->out, "\n");
    }
    return RT_OK;
}

static void put_refuse(struct nft_writer *w)
{
    if (w->refuse)
        buf_text(w->out, "    chain refuse_it {\n"
                         "        meta l4proto tcp reject with tcp reset\n"
                         "        reject with icmpx admin-prohibited\n"
                         "    }\n");
}

/* ---- what stands before the chains ---- */

static void put_sets(struct nft_writer *w)
{
    for (uint32_t k = 0; k < w->table->named.n; k++)
        for (unsigned f = 0; f < FAMILY_COUNT; f++) {
            const struct str name = nft_set_name(w->run->arena, w->table, k, (enum family)f);
            buf_printf(w->out, "    set %.*s {\n        type %s\n        flags timeout\n        timeout 1d\n",
                       STR_ARG(name), f == FAMILY_IPV4 ? "ipv4_addr" : "ipv6_addr");
            buf_printf(w->out, "        comment \"addresses of %.*s, by the resolver\"\n    }\n\n",
                       STR_ARG(nft_quotable(w->run->arena, w->table->named.v[k], 80)));
        }
}

static void put_marks(struct nft_writer *w)
{
    const struct policy *policy = w->policy;
    if (policy->marks.n == 0 || !policy->plan)
        return;
    nft_put_remark(w->out, 4, STR("a conversation bears the mark of who began it, by MAC address"));
    buf_text(w->out, "    chain marks {\n        type filter hook prerouting priority mangle; policy accept;\n");
    for (uint32_t i = 0; i < policy->marks.n; i++) {
        const struct mark *m = &policy->marks.v[i];
        struct span *macs = ARENA_ARRAY(w->run->arena, struct span, m->devices.n);
        struct buf line = { .arena = w->run->arena };
        if (!macs) {
            w->failed = true;
            return;
        }
        for (uint32_t k = 0; k < m->devices.n; k++) {
            const axis_value mac = policy->plan->devices[m->devices.v[k]].mac;
            macs[k] = (struct span){ mac, mac };
        }
        buf_text(&line, "ct state new ether saddr ");
        nft_put_values(w, &line, AXIS_SOURCE_MAC, FAMILY_IPV4,
                       spans_tidy(w->run->arena, macs, m->devices.n, &w->failed));
        buf_printf(&line, " ct mark set %u", (unsigned)m->value);
        nft_put_line(w->out, 8, buf_done(&line));
    }
    buf_text(w->out, "    }\n\n");
}

static void put_opening(struct nft_writer *w, const struct translation *t)
{
    const struct port_opening *o = &w->policy->h->port_openings.v[t->opening];
    struct buf line = { .arena = w->run->arena };
    struct span *from = ARENA_ARRAY(w->run->arena, struct span, o->from.n);
    uint32_t n = 0;
    w->failed |= from == NULL;
    for (uint32_t i = 0; from && i < o->from.n; i++) {
        struct prefix range;
        if (prefix_read(o->from.v[i], &range) && range.family == FAMILY_IPV4)
            from[n++] = prefix_span(range);
    }
    if (o->from.n > 0 && n == 0)
        return; /* from IPv6 alone: nothing to translate */
    buf_printf(&line, "iifname %.*s ", STR_ARG(w->zones[ZONE_INTERNET]));
    if (n) {
        buf_text(&line, "ip saddr ");
        nft_put_values(w, &line, AXIS_SOURCE, FAMILY_IPV4, spans_tidy(w->run->arena, from, n, &w->failed));
        buf_char(&line, ' ');
    }
    const char *protocol = ip_protocol_name(t->protocol);
    buf_text(&line, "fib daddr type local ");
    if (t->protocol == IP_TCP || t->protocol == IP_UDP) {
        buf_printf(&line, "%s dport %u", protocol, (unsigned)t->port_from);
        if (t->port_to != t->port_from)
            buf_printf(&line, "-%u", (unsigned)t->port_to);
    } else {
        buf_printf(&line, "meta nfproto ipv4 meta l4proto %u", (unsigned)t->protocol);
    }
    buf_text(&line, " dnat ip to ");
    address_write(&line, FAMILY_IPV4, t->to_ipv4);
    buf_printf(&line, " comment \"%.*s\"", STR_ARG(nft_quotable(w->run->arena, o->id, 80)));
    w->failed |= line.failed;
    if (o->says.n)
        nft_put_remark(w->out, 8, o->says);
    nft_put_line(w->out, 8, buf_done(&line));
}

static void put_translation(struct nft_writer *w)
{
    const struct policy *policy = w->policy;
    if (!w->options->translation)
        return;
    if (policy->translations.n && policy->h) {
        nft_put_remark(w->out, 4, STR("what the internet may begin"));
        buf_text(w->out,
                 "    chain port_openings {\n        type nat hook prerouting priority dstnat; policy accept;\n");
        for (uint32_t i = 0; i < policy->translations.n; i++)
            put_opening(w, &policy->translations.v[i]);
        buf_text(w->out, "    }\n\n");
    }
    if (!policy->translates_ipv4)
        return;
    nft_put_remark(w->out, 4, STR("to the internet all of IPv4 comes from the gateway's own address"));
    buf_printf(w->out,
               "    chain translation {\n        type nat hook postrouting priority srcnat; policy accept;\n"
               "        oifname %.*s meta nfproto ipv4 masquerade\n    }\n\n",
               STR_ARG(w->zones[ZONE_INTERNET]));
}

static void put_definitions(struct nft_writer *w)
{
    const struct address_plan *plan = w->policy->plan;
    if (!plan)
        return;
    nft_put_remark(w->out, 0, STR("The gateway's interfaces."));
    for (uint32_t z = 0; z < w->n_zones; z++) {
        if (z == ZONE_GATEWAY)
            continue;
        const struct str interface = w->options->interfaces ? w->options->interfaces[z] : zone_interface(plan, z);
        buf_printf(w->out, "define %.*s = \"%.*s\"\n", (int)w->zones[z].n - 1, w->zones[z].p + 1,
                   STR_ARG(nft_quotable(w->run->arena, interface, INTERFACE_BYTES)));
    }
    buf_char(w->out, '\n');
    for (uint32_t i = 0; i < w->globals.n; i++) {
        const struct nft_definition *d = &w->globals.v[i];
        if (i == 0)
            nft_put_remark(
                w->out, 0,
                STR("The provider's IPv6 prefix, and what is cut out of it.  This one stands in until the line is "
                    "up: put the real one in its place, here alone."));
        buf_printf(w->out, "define %.*s = ", STR_ARG(d->name));
        nft_put_plain_span(w->out, FAMILY_IPV6, d->is);
        buf_char(w->out, '\n');
    }
    if (w->globals.n)
        buf_char(w->out, '\n');
}

static void put_top(struct nft_writer *w)
{
    const struct house *h = w->policy->h;
    const struct nft_options *o = w->options;
    buf_text(w->out, "#!/usr/sbin/nft -f\n");
    if (h && h->name.n) {
        struct buf title = { .arena = w->run->arena };
        buf_printf(&title, "%.*s: who may start talk with whom.", STR_ARG(h->name));
        nft_put_remark(w->out, 0, buf_done(&title));
    }
    nft_put_remark(w->out, 0,
                   STR("It takes the place of the table of its name as a whole, or not at all; other tables stay."));
    int64_t until_s = INT64_MIN;
    for (uint32_t i = 0; o->hours && i < o->n_hours; i++)
        for (uint32_t k = 0; k < o->hours[i].n; k++)
            if (o->hours[i].v[k].to_s > until_s)
                until_s = o->hours[i].v[k].to_s;
    if (until_s > INT64_MIN && until_s < INT64_MAX) {
        struct buf text = { .arena = w->run->arena };
        buf_printf(&text, "Hours are written in UTC, in seconds, up to %.*s UTC: export again before that day.",
                   STR_ARG(nft_utc(w->run->arena, until_s)));
        nft_put_remark(w->out, 0, buf_done(&text));
    }
    buf_char(w->out, '\n');
}

/* ---- the whole ---- */

static enum rt_code prepare(struct nft_writer *w)
{
    struct arena *a = w->run->arena;
    const uint32_t n = w->table->chains.n;
    w->chains = ARENA_ARRAY(a, struct str, n);
    w->speaks_of_zones = ARENA_ARRAY(a, bool, n);
    bool *open = ARENA_ARRAY(a, bool, n);
    for (unsigned h = 0; h < NFT_HOOKS; h++)
        w->failed |= (w->led_to[h] = ARENA_ARRAY(a, bool, n)) == NULL;
    if (!w->chains || !w->speaks_of_zones || !open || w->failed)
        return rt_fail_memory(w->p);
    RT_TRY(name_zones(w));
    name_chains(w);
    name_globals(w);
    find_neutral_chains(w);
    for (unsigned h = 0; h < NFT_HOOKS; h++)
        RT_TRY(lead(w, w->table->start, (enum nft_hook)h, open));
    return RT_OK;
}

enum rt_code nft_export(const struct run *run, const struct policy *policy, const struct nft_options *options,
                        struct buf *out, struct rt_problems *p)
{
    struct nft_writer w = {
        .run = run, .policy = policy, .table = &policy->table, .options = options, .out = out, .p = p
    };
    RT_TRY(prepare(&w));
    const struct str name = options->table_name.n ? options->table_name : STR("house");
    put_top(&w);
    put_definitions(&w);
    buf_printf(out, "table inet %.*s\ndelete table inet %.*s\n\ntable inet %.*s {\n", STR_ARG(name), STR_ARG(name),
               STR_ARG(name));
    put_sets(&w);
    put_marks(&w);
    put_translation(&w);
    for (unsigned h = 0; h < NFT_HOOKS; h++)
        RT_TRY(put_hook(&w, (enum nft_hook)h));
    put_refuse(&w);
    buf_text(out, "}\n");
    return w.failed || out->failed ? rt_fail_memory(p) : RT_OK;
}
