/* What a placing's choice costs and whether it holds, in cases worked by hand from the words of design/placing.h. */
#include "check.h"
#include "placing_kit.h"

/* A house as small as can be: two sites with an access point each, one device, a core with the gateway's two free ports, a second hub;
 * a switch of five ports that feed class 4 and 40 W.  Prices are such that each shows in the sum. */
enum { SITE_A, SITE_B };

struct small {
    struct check_run c;
    struct kit k;
    struct placing *q;
    struct placing_answer a;
};

static void add_link(struct small *s, uint32_t thing, uint32_t hub, int64_t price, double length_m, uint32_t work)
{
    struct placing *q = s->q;
    struct place_link *l = &q->links.v[q->links.n];
    *l = (struct place_link){ .thing = thing, .hub = hub, .price = price, .length_m = length_m, .cabling = 0 };
    KIT_LIST(&s->k, &l->works, uint32_t, 1);
    l->works.v[0] = work;
    q->things.v[thing].links.v[q->things.v[thing].links.n++] = q->links.n++;
}

static void need_of(struct small *s, uint32_t wanted, bool bears_loss, uint32_t at_least)
{
    struct place_need *need = s->q->needs.v;
    *need = (struct place_need){ .promise = 0, .wanted = wanted, .bears_loss = bears_loss };
    KIT_LIST(&s->k, &need->cells, struct place_cell, 3);
    for (uint32_t i = 0; i < 3; i++) {
        need->cells.v[i].weight = 1 + i; /* 1: by A alone; 2: by B alone; 3: by both */
        KIT_LIST(&s->k, &need->cells.v[i].clauses, struct place_clause, 1);
        struct place_clause *c = need->cells.v[i].clauses.v;
        KIT_LIST(&s->k, &c->offers, uint32_t, 0);
        c->offers.v = ARENA_ARRAY(s->k.a, uint32_t, 2);
        c->at_least = at_least;
        for (uint32_t o = 0; o < 2; o++)
            if (i == 2 || i == o)
                c->offers.v[c->offers.n++] = o;
    }
}

static void small_hubs(struct small *s)
{
    struct placing *q = s->q;
    KIT_LIST(&s->k, &q->switches, struct place_switch, 1);
    q->switches.v[0] = (struct place_switch){ .price = 700, .poe_budget_w = 40 };
    KIT_LIST(&s->k, &q->switches.v[0].ports, struct place_ports, 1);
    q->switches.v[0].ports.v[0] = (struct place_ports){ 5, 4, 1000 };
    KIT_LIST(&s->k, &q->hubs, struct place_hub, 2);
    for (uint32_t h = 0; h < 2; h++) {
        q->hubs.v[h] = (struct place_hub){ .is_core = h == 0, .most = 2, .price = h ? 50 : 0 };
        KIT_LIST(&s->k, &q->hubs.v[h].switches, uint32_t, 1);
    }
    q->hubs.v[0].free = (struct place_ports){ 2, -1, 1000 };
}

/* Both access points and the device at the core, on one switch. */
static struct small begin(void)
{
    struct small s = { .c = check_run_begin() };
    s.k.a = s.c.run.arena;
    s.q = ARENA_NEW(s.k.a, struct placing);
    struct placing *q = s.q;
    *q = (struct placing){ .n_sites = 2, .n_pieces = 1, .owing = 3, .at_most = INT64_MAX, .budget_promise = NO_REF };
    KIT_LIST(&s.k, &q->offers, struct place_offer, 2);
    for (uint32_t o = 0; o < 2; o++)
        q->offers.v[o] = (struct place_offer){
            .site = o, .piece = NO_REF, .price = 1000, .poe_class = 4, .power_w = 15, .speed_mbps = 1000, .sent_w = 0.1
        };
    KIT_LIST(&s.k, &q->things, struct place_thing, 4);
    for (uint32_t t = 0; t < 4; t++) {
        q->things.v[t] = (struct place_thing){
            .site = t < 2 ? t : NO_REF, .device = t == 2 ? 0 : NO_REF, .hub = t == 3 ? 1 : NO_REF, .poe_class = -1
        };
        q->things.v[t].links.v = ARENA_ARRAY(s.k.a, uint32_t, 2);
    }
    KIT_LIST(&s.k, &q->works, int64_t, 2);
    q->works.v[0] = 90;
    q->works.v[1] = 400;
    KIT_LIST(&s.k, &q->cablings, struct place_cabling, 1);
    q->cablings.v[0].parts = ARENA_ARRAY(s.k.a, struct place_cable_part, 2);
    q->cablings.v[0].n_parts = 2;
    q->cablings.v[0].parts[0] = (struct place_cable_part){ 0, 200, 25 };
    q->cablings.v[0].parts[1] = (struct place_cable_part){ 1, 9, 1 };
    KIT_LIST(&s.k, &q->links, struct place_link, 8);
    q->links.n = 0;
    add_link(&s, SITE_A, 0, 10, 12.5, 0); /* link 0 */
    add_link(&s, SITE_B, 0, 11, 12.5, 0); /* 1 */
    add_link(&s, 2, 0, 12, 5.001, 1);     /* 2: the device */
    add_link(&s, SITE_A, 1, 13, 3, 0);    /* 3: at the other hub */
    add_link(&s, 3, 0, 14, 8, 1);         /* 4: its way up */
    small_hubs(&s);
    KIT_LIST(&s.k, &q->needs, struct place_need, 1);
    need_of(&s, 6, false, 1);
    s.a = (struct placing_answer){ .offers = ARENA_ARRAY(s.k.a, bool, 2),
                                   .links = ARENA_ARRAY(s.k.a, uint32_t, 4),
                                   .switches = ARENA_ARRAY(s.k.a, uint32_t, 2),
                                   .cablings = ARENA_ARRAY(s.k.a, uint32_t, 1) };
    s.a.offers[0] = s.a.offers[1] = true;
    for (uint32_t t = 0; t < 3; t++)
        s.a.links[t] = t;
    s.a.links[3] = NO_REF;
    s.a.switches[0] = 1;
    return s;
}

static bool holds(const struct small *s) { return placing_holds(s->q, NULL, &s->a); }

TEST(the_sum_of_all_prices)
{
    struct small s = begin();
    /* owing 3, offers 2000, links 33, works once each 490, 30.001 m are two pieces of 25 m for 400, a switch 700 */
    CHECK_NEAR("pieces", (double)placing_price(s.q, &s.a), 3 + 2000 + 33 + 490 + 400 + 700, 0, "");
    s.a.cablings[0] = 1; /* 31 started metres at 9 */
    CHECK_NEAR("metres", (double)placing_price(s.q, &s.a), 3 + 2000 + 33 + 490 + 279 + 700, 0, "");
    s.q->links.v[2].length_m = 5; /* 30 m to the millimetre */
    CHECK_NEAR("no more than it takes", (double)placing_price(s.q, &s.a), 3 + 2000 + 33 + 490 + 270 + 700, 0, "");
    CHECK("it holds", holds(&s));
    s.q->at_most = 3 + 2000 + 33 + 490 + 270 + 700;
    CHECK("it is what may be spent", holds(&s));
    s.q->at_most--;
    CHECK("it is one too much", !holds(&s));
    s.q->budget_promise = 1;
    CHECK("but for a budget given up", placing_holds(s.q, (const bool[]){ false, true }, &s.a));
    check_run_end(&s.c);
}

TEST(a_second_hub_costs_itself_its_way_up_and_a_switch)
{
    struct small s = begin();
    s.a.links[SITE_A] = 3;
    CHECK("no way up", !holds(&s));
    s.a.links[3] = 4;
    CHECK("no port", !holds(&s));
    s.a.switches[1] = 1;
    CHECK("it holds", holds(&s));
    /* 12.5 + 5.001 + 3 + 8 m: two pieces */
    CHECK_NEAR("price", (double)placing_price(s.q, &s.a), 3 + 2000 + 11 + 12 + 13 + 14 + 490 + 400 + 1400 + 50, 0, "");
    s.a.links[SITE_A] = 0;
    s.a.switches[1] = 0;
    CHECK("a way up that nothing needs", !holds(&s));
    check_run_end(&s.c);
}

TEST(hubs_do_not_hang_on_each_other_in_a_ring)
{
    struct small s = begin();
    s.q->hubs.v[0].is_core = false;
    s.q->things.v[2].hub = 0;
    s.q->things.v[2].device = NO_REF;
    s.q->links.v[2].hub = 1; /* the first hub's way up comes to the second, whose way up comes to the first */
    s.a.links[3] = 4;
    s.a.switches[0] = s.a.switches[1] = 1;
    CHECK("a ring", !holds(&s));
    s.q->hubs.v[1].is_core = true;
    s.a.links[3] = NO_REF;
    CHECK("a core ends it", holds(&s));
    check_run_end(&s.c);
}

TEST(ports)
{
    struct small s = begin();
    /* There are 2 + 5; a switch takes one at the gateway and one of its own, three cables end here: 5 are taken, 2 are left. */
    s.q->hubs.v[0].spare = 2;
    CHECK("two to spare", holds(&s));
    s.q->hubs.v[0].spare = 3;
    CHECK("not three", !holds(&s));
    s.q->switches.v[0].n_up = 1;
    CHECK("a port for the way up alone is one more", holds(&s));
    s.q->switches.v[0].n_up = 0;
    s.q->hubs.v[0].spare = 0;
    s.q->hubs.v[0].headroom_share = 0.25; /* of watts too: 30 of 40 */
    CHECK("5 of 7 is less than three in four", holds(&s));
    s.q->hubs.v[0].headroom_share = 0.3;
    CHECK("and more than seven in ten", !holds(&s));
    s.q->hubs.v[0].headroom_share = 0;
    s.q->hubs.v[0].free.count = 0;
    /* 5, of which one is the way up; the switch hangs on nothing that is counted. */
    s.q->hubs.v[0].spare = 1;
    CHECK("without ports of the gateway", holds(&s));
    s.a.switches[0] = 0;
    CHECK("and without a switch", !holds(&s));
    check_run_end(&s.c);
}

TEST(power_and_speed_of_ports)
{
    struct small s = begin();
    CHECK("30 of 40 W", holds(&s));
    s.q->offers.v[0].power_w = 25.001;
    CHECK("a milliwatt too much", !holds(&s));
    s.q->offers.v[0].power_w = 25;
    CHECK("all of it", holds(&s));
    s.q->offers.v[1].poe_class = 5;
    CHECK("no port feeds class 5", !holds(&s));
    s.q->offers.v[1].poe_class = -1;
    CHECK("fed otherwise, it takes no watts", holds(&s));
    s.q->offers.v[0].speed_mbps = 10000;
    CHECK("as fast as there is", holds(&s));
    s.q->hubs.v[0].free.speed_mbps = 2500;
    s.q->offers.v[1].speed_mbps = 2500;
    s.q->things.v[2].speed_mbps = 2500;
    CHECK("two fast ports for two and the switch, which takes a slow one", holds(&s));
    s.q->hubs.v[0].free.count = 1;
    CHECK("one fast port for two", !holds(&s));
    s.q->hubs.v[0].free = (struct place_ports){ 2, -1, 2500 };
    s.q->offers.v[0].poe_class = s.q->offers.v[1].poe_class = 4;
    s.q->switches.v[0].ports.v[0].count = 2;
    s.q->things.v[2].speed_mbps = 100;
    CHECK("both that feed are in use, and the switch's own way up takes a third", !holds(&s));
    s.q->switches.v[0].n_up = 1;
    CHECK("which is a port for that alone", holds(&s));
    check_run_end(&s.c);
}

TEST(switches_for_a_hub)
{
    struct small s = begin();
    s.a.switches[0] = 2;
    CHECK("as many as there may be", holds(&s));
    s.a.switches[0] = 3;
    CHECK("one more", !holds(&s));
    s.a.switches[0] = 1;
    s.q->hubs.v[0].switches.n = 0;
    CHECK("not one of those that may be bought for it", !holds(&s));
    s.a.switches[0] = 0;
    KIT_LIST(&s.k, &s.q->hubs.v[0].there, uint32_t, 1);
    CHECK("one that is there already", holds(&s));
    check_run_end(&s.c);
}

TEST(sites_pieces_and_what_is_fixed)
{
    struct small s = begin();
    s.q->offers.v[0].piece = s.q->offers.v[1].piece = 0;
    CHECK("one piece at two sites", !holds(&s));
    s.q->offers.v[1].piece = NO_REF;
    CHECK("another", holds(&s));
    s.q->offers.v[1].site = SITE_A;
    CHECK("two at one site", !holds(&s));
    s.q->offers.v[1].site = SITE_B;
    s.a.offers[1] = false;
    s.a.links[1] = NO_REF;
    need_of(&s, 4, false, 1);
    CHECK("one is enough", holds(&s));
    s.q->offers.v[1].is_fixed = true;
    CHECK("but the other stays", !holds(&s));
    s.q->offers.v[1].is_fixed = false;
    s.a.links[1] = 1;
    CHECK("no cable to where nothing hangs", !holds(&s));
    s.a.links[1] = NO_REF;
    s.a.links[0] = NO_REF;
    CHECK("no access point without its cable", !holds(&s));
    s.a.links[0] = 1;
    CHECK("none by another's", !holds(&s));
    check_run_end(&s.c);
}

TEST(shares_and_losses)
{
    struct small s = begin();
    const bool both[] = { true, true }, a[] = { true, false }, b[] = { false, true };
    /* weights: 1 by A, 2 by B, 3 by either */
    need_of(&s, 5, false, 1);
    CHECK("all by both", placing_need_holds(s.q, 0, both));
    CHECK("4 by A", !placing_need_holds(s.q, 0, a));
    CHECK("5 by B", placing_need_holds(s.q, 0, b));
    need_of(&s, 4, true, 1);
    CHECK("4 stay when B has failed, 5 when A has", placing_need_holds(s.q, 0, both));
    CHECK("of one none stays", !placing_need_holds(s.q, 0, b));
    need_of(&s, 5, true, 1);
    CHECK("5 do not stay when B has failed", !placing_need_holds(s.q, 0, both));
    need_of(&s, 3, false, 2);
    CHECK("two are heard in 3", placing_need_holds(s.q, 0, both));
    CHECK("not with one alone", !placing_need_holds(s.q, 0, a));
    s.q->offers.v[1].site = SITE_A;
    CHECK("nor with two at one site", !placing_need_holds(s.q, 0, both));
    check_run_end(&s.c);
}
