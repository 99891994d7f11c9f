#include "book/network_below.h"

#include <math.h>

#include "base/csv.h"
#include "book/tables.h"

/* ---- discovery ---- */

static const struct note *note_at(const note_list *notes, struct rt_place at)
{
    for (uint32_t i = 0; i < notes->n; i++)
        if (notes->v[i].at.line == at.line && notes->v[i].at.col == at.col)
            return &notes->v[i];
    return NULL;
}

static void write_relays(struct book *b)
{
    const struct house *h = b->h;
    flow_heading(b->flow, "What is found across networks");
    if (!h->relays.n) {
        flow_text(b->flow,
                  "Nothing: a device finds only what is in its own network. The file has no relay for discovery.");
        return;
    }
    flow_text(b->flow,
              "Devices look for printers and screens by calling out in their own network. The gateway carries these "
              "calls on, as follows.");
    for (uint32_t i = 0; i < h->relays.n; i++) {
        const struct note *n = note_at(&b->proof->policy->notes, h->relays.v[i].at);
        flow_soft(b->flow, "\u2013 %.*s.%s%.*s%s",
                  STR_ARG(h->relays.v[i].says.n ? h->relays.v[i].says : h->relays.v[i].id), n ? " In the file " : "",
                  STR_ARG(n ? net_plain_words(b, n->says) : STR("")), n ? "." : "");
    }
}

/* ---- what never meets the rules ---- */

static void write_within(struct book *b)
{
    const struct house *h = b->h;
    struct buf isolated = { .arena = b->arena };
    uint32_t n = 0, k = 0;
    for (uint32_t i = 0; i < h->ssids.n; i++)
        n += h->ssids.v[i].isolate;
    for (uint32_t i = 0; i < h->ssids.n; i++)
        if (h->ssids.v[i].isolate)
            net_list_word(&isolated, k++, n, b->ev->layer2->ssids[i].name);
    flow_heading(b->flow, "What never meets the rules");
    flow_text(
        b->flow,
        "Two devices in one network talk straight with each other, through the switch or the access point. The gateway "
        "never sees it, so no statement and no proof speaks of it. Who must be kept apart goes into networks of their "
        "own.");
    if (n)
        flow_text(
            b->flow,
            "On the Wi-Fi %s %.*s the access points keep the devices that are on them from talking with each other.",
            n == 1 ? "network" : "networks", STR_ARG(buf_done(&isolated)));
}

/* The findings about sockets stand in their own table. */
static bool is_of_socket(const struct l2_finding *f)
{
    return f->kind == L2_TRUSTED_OUTDOORS || f->kind == L2_OPEN_SOCKET;
}

static void write_findings(struct book *b)
{
    const struct layer2 *l2 = b->ev->layer2;
    for (uint32_t i = 0; i < l2->findings.n; i++)
        if (!is_of_socket(&l2->findings.v[i]))
            flow_soft(b->flow, "\u2013 %.*s: %.*s.", STR_ARG(l2->findings.v[i].says), STR_ARG(l2->findings.v[i].hint));
}

/* ---- sockets ---- */

static const char *whose_words(enum reach_of whose)
{
    static const char *const WORDS[] = { [REACH_OPEN_GROUND] = "anybody outdoors",
                                         [REACH_OUTBUILDING] = "who is in the outbuilding",
                                         [REACH_VISITORS] = "visitors",
                                         [REACH_LODGER] = "who lives in the let room" };
    return WORDS[whose];
}

/* Free sockets of one thing that lead to the same are one row: how many from this one on; 0: an earlier row holds it. */
static uint32_t socket_count(const struct layer2 *l2, uint32_t i)
{
    const struct l2_socket *s = &l2->sockets.v[i];
    uint32_t n = 0;
    for (uint32_t k = 0; k < l2->sockets.n; k++) {
        const struct l2_socket *o = &l2->sockets.v[k];
        bool same = o->equipment == s->equipment && o->device == s->device && o->segments.n == s->segments.n;
        for (uint32_t j = 0; same && j < s->segments.n; j++)
            same = o->segments.v[j] == s->segments.v[j];
        if (same && k < i)
            return 0;
        n += same;
    }
    return n;
}

/* Equipment by its id, which is on its label. */
static struct str socket_words(struct book *b, const struct l2_socket *s, uint32_t n)
{
    const struct str what = s->device != NO_REF ? net_device_words(b, s->device) : b->h->equipment.v[s->equipment].id;
    return n > 1 ? book_text(b, "%.*s, %u sockets", STR_ARG(what), n) : what;
}

static struct str where_words(struct book *b, const struct l2_socket *s)
{
    const struct str room = s->room != NO_REF ? house_room_name(b->h, s->room) : STR("");
    return isnan(s->height_m) ? room : book_text(b, "%.*s%s%.1f m up", STR_ARG(room), room.n ? ", " : "", s->height_m);
}

static bool leads_into(const struct l2_socket *s, uint32_t segment)
{
    for (uint32_t k = 0; k < s->segments.n; k++)
        if (s->segments.v[k] == segment)
            return true;
    return false;
}

/* The shorter of "core and family" and "all but cameras". */
static struct str socket_leads_to(struct book *b, const struct l2_socket *s)
{
    const uint32_t all = b->h->segments.n, n = s->segments.n, named = 2 * n > all ? all - n : n;
    struct buf text = { .arena = b->arena };
    uint32_t k = 0;
    if (!n)
        return STR("nothing");
    if (2 * n > all)
        buf_text(&text, named ? "all but " : "all");
    for (uint32_t i = 0; i < all; i++)
        if (leads_into(s, i) == (2 * n <= all))
            net_list_word(&text, k++, named, net_plain_words(b, b->h->segments.v[i].id));
    return buf_done(&text);
}

/* The socket of a thing that leads into the thing's own network and no other. */
static bool is_its_own(const struct book *b, const struct l2_socket *s)
{
    return s->device != NO_REF && s->segments.n == 1 && s->segments.v[0] == b->h->devices.v[s->device].segment.i;
}

static void write_own_sockets(struct book *b)
{
    const struct layer2 *l2 = b->ev->layer2;
    struct buf text = { .arena = b->arena };
    for (uint32_t i = 0; i < l2->sockets.n; i++) {
        const struct l2_socket *s = &l2->sockets.v[i];
        if (is_its_own(b, s) && socket_count(l2, i))
            buf_printf(&text, "%s%.*s (%.*s%s)", text.n ? ", " : "", STR_ARG(net_device_words(b, s->device)),
                       STR_ARG(socket_leads_to(b, s)), s->within_arms_reach ? "" : ", with a ladder");
    }
    if (text.n)
        flow_text(b->flow, "Into the network of the thing itself lead the sockets of: %.*s.", STR_ARG(buf_done(&text)));
}

static void write_other_sockets(struct book *b)
{
    static const struct flow_column COLUMNS[] = { { "socket of", 1.1, FLOW_LEFT },
                                                  { "where", 1.0, FLOW_LEFT },
                                                  { "who gets at it", 1.1, FLOW_LEFT },
                                                  { "leads into", 1.2, FLOW_LEFT } };
    const struct layer2 *l2 = b->ev->layer2;
    bool any = false;
    for (uint32_t i = 0; i < l2->sockets.n; i++) {
        const struct l2_socket *s = &l2->sockets.v[i];
        const uint32_t n = socket_count(l2, i);
        if (!n || is_its_own(b, s))
            continue;
        if (!any)
            flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
        any = true;
        const struct flow_cell cells[] = { net_cell(socket_words(b, s, n)), net_cell(where_words(b, s)),
                                           net_cell(s->within_arms_reach
                                                        ? str_from(whose_words(s->whose))
                                                        : book_text(b, "%s, with a ladder", whose_words(s->whose))),
                                           net_cell(socket_leads_to(b, s)) };
        flow_row(b->flow, cells);
    }
}

void sockets_write_csv(struct book *b, struct buf *out)
{
    const struct layer2 *l2 = b->ev->layer2;
    buf_text(out, "socket_of,room,height_m,who_gets_at_it,within_arms_reach,leads_into\r\n");
    for (uint32_t i = 0; i < l2->sockets.n; i++) {
        const struct l2_socket *s = &l2->sockets.v[i];
        struct buf segments = { .arena = b->arena };
        for (uint32_t k = 0; k < s->segments.n; k++)
            buf_printf(&segments, "%s%.*s", k ? " " : "", STR_ARG(b->h->segments.v[s->segments.v[k]].id));
        csv_field(out, s->device != NO_REF ? b->h->devices.v[s->device].id : b->h->equipment.v[s->equipment].id);
        csv_field(out, s->room != NO_REF ? b->h->rooms.v[s->room].id : STR(""));
        csv_number(out, s->height_m, 2);
        csv_field(out, str_from(whose_words(s->whose)));
        csv_field(out, s->within_arms_reach ? STR("yes") : STR("no"));
        csv_field(out, segments.n ? buf_done(&segments) : STR(""));
        csv_end_row(out);
        out->failed |= segments.failed;
    }
}

/* The table says what is wrong with which; what to do is said once. */
static void write_advice(struct book *b)
{
    const struct layer2 *l2 = b->ev->layer2;
    for (uint32_t i = 0; i < l2->findings.n; i++) {
        bool said = !is_of_socket(&l2->findings.v[i]);
        for (uint32_t k = 0; k < i && !said; k++)
            said = is_of_socket(&l2->findings.v[k]) && str_eq(l2->findings.v[k].hint, l2->findings.v[i].hint);
        if (!said)
            flow_item(b->flow, "Take care where it leads to the household's own machines: %.*s.",
                      STR_ARG(l2->findings.v[i].hint));
    }
}

static void write_sockets(struct book *b)
{
    const struct layer2 *l2 = b->ev->layer2;
    flow_heading(b->flow, "Sockets that a stranger can reach");
    if (!l2->sockets.n) {
        flow_text(b->flow,
                  "None: no socket of the network is outdoors, in an outbuilding, where visitors walk or in a let "
                  "room.");
        return;
    }
    flow_text(b->flow,
              "Who unplugs what hangs there, and plugs in something of their own, is in these networks, unless they "
              "let in known devices only.");
    write_own_sockets(b);
    write_other_sockets(b);
    write_advice(b);
}

/* ---- how strong ---- */

static bool is_of_relay(const struct house *h, const struct note *n)
{
    for (uint32_t i = 0; i < h->relays.n; i++)
        if (h->relays.v[i].at.line == n->at.line && h->relays.v[i].at.col == n->at.col)
            return true;
    return false;
}

static void write_strength(struct book *b)
{
    const note_list *notes = &b->proof->policy->notes;
    uint32_t n = 0;
    flow_heading(b->flow, "How strong it is");
    flow_text(b->flow,
              "The proof holds for every packet, as far as a device cannot change what a rule goes by. This is where "
              "it can, or where a rule does less than it seems.");
    for (uint32_t i = 0; i < notes->n; i++)
        if (!is_of_relay(b->h, &notes->v[i])) {
            flow_soft(b->flow, "\u2013 %.*s.", STR_ARG(net_plain_words(b, notes->v[i].says)));
            n++;
        }
    if (!n)
        flow_item(b->flow, "Nothing: every rule goes by which network a packet comes from.");
}

void network_below_write(struct book *b)
{
    write_relays(b);
    write_within(b);
    write_findings(b);
    write_sockets(b);
    write_strength(b);
}
