/* Bills of small houses, every figure worked by hand from the prices of tests/houses/bill.parts.yaml. */
#include <string.h>

#include "base/file.h"
#include "bill_kit.h"
#include "csv.h"
#include "data/currencies.h"
#include "data/work_hours.h"
#include "wire/wire_csv.h"

#define BUDGET "budget: {energy_per_kwh: 0.27, contingency_share: 0.1, house_cost: 61704}\n"
#define LINE                                                                                              \
    "line: {kind: fibre, down_mbps: 100, up_mbps: 20, public_ipv4: own, floor: ground, at_m: [0, 0, 0], " \
    "price_per_month: 38}\n"
#define THREE_CABLES                                                                              \
    LINE "phases:\n  first: {by_date: 2027-01-01}\n  second: {by_date: 2027-06-01}\n"             \
         "devices:\n  cam: {kind: camera, " WIRED ", owned: false, part: eye}\n"                  \
         "  tv: {kind: television, " WIRED "}\n"                                                  \
         "equipment:\n  sw: {part: switch_8, " AT ", phase: first}\n"                             \
         "  old: {part: switch_8, " AT ", owned: true}\n"                                         \
         "  ap: {part: dome, mount: ceiling, phase: second}\n"                                    \
         "cables:\n  c_ap: {from: \"sw:1\", to: ap, part: box_6, length_m: 40, cord_to_m: 0.5}\n" \
         "  c_cam: {from: \"sw:2\", to: cam, part: box_6, length_m: 270}\n"                       \
         "  c_tv: {from: \"sw:3\", to: tv, part: metre_6, length_m: 12.3}\n"

static void three_cables_work(struct bill_house *b)
{
    bill_leg(b, "c_tv", RUN_UNDER_FLOOR, 18.45);
    bill_work_at(b, WORK_HOLE, 6.0, "c_ap", "c_cam");
    bill_work_at(b, WORK_BOARD, 8.0, "c_tv", NULL);
}

/* First phase: switch 50.00, camera 120.00, a box of cable 100.00, 13 m for 12.3 m 6.50, cords 2 * 2.10 + 2 * 3.20, sockets
 * 2 * 7.40, laying 18.45, hole 6.00, board 8.00: 334.35; a tenth of it 33.435, 33.44: 367.79.
 * Second: access point 89.99, fixing 25.00, 40 m that end the first box and begin a second 100.00, cords 2 * 2.10, a socket 7.40:
 * 226.59; a tenth 22.66: 249.25.  Together 617.04, a hundredth of 61 704.  A year: 200 kWh at 0.27 and 12 * 38: 510.00. */
TEST(a_house_in_two_phases)
{
    struct bill_house b = bill_house(THREE_CABLES BUDGET);
    three_cables_work(&b);
    b.energy.kwh_per_year = 200.0;
    const struct bill *bill = bill_of(&b);
    CHECK_NEAR("first", (double)bill->phases[0], 36779, 0, "pence");
    CHECK_NEAR("second", (double)bill->phases[1], 24925, 0, "pence");
    CHECK_NEAR("no phase", (double)bill->no_phase, 0, 0, "pence");
    CHECK_NEAR("total", (double)bill->total, 61704, 0, "pence");
    CHECK_NEAR("lines", (double)bill_sum(bill), 61704, 0, "pence");
    CHECK_NEAR("energy", (double)bill->energy, 5400, 0, "pence");
    CHECK_NEAR("year", (double)bill->yearly, 51000, 0, "pence");
    CHECK_NEAR("share", bill->house_share, 0.01, 1e-12, "");
    CHECK_NEAR("gaps", bill->gaps.n, 0, 0, "");
    CHECK_NEAR("metres", bill_find(&b, "category 6 by the metre", false)->count, 13, 0, "m");
    CHECK_NEAR("laying", (double)bill_find(&b, "laying cable: under the boards (generated)", false)->total, 1845, 0,
               "pence");
    const struct bill_line *old = bill_find(&b, "Eight (Tarn)", true);
    CHECK("what is owned is listed", old != NULL);
    CHECK_TEXT("and named", old->why, STR("old"));
    CHECK_NEAR("for nothing", (double)old->total, 0, 0, "pence");
    check_run_end(&b.c);
}

/* environment.csv, group cost: steady loads over a year of 8760 hours at a price per kilowatt-hour; its sources stand in it. */
TEST(energy_of_a_year)
{
    struct bill_house b = bill_house("budget: {contingency_share: 0}\n");
    const struct csv t = csv_read(b.c.run.arena, check_path(&b.c, "tests/reference/environment.csv"));
    unsigned n = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        double load_w, price;
        if (!str_is(csv_cell(&t, i, "group"), "cost") || !str_is(csv_cell(&t, i, "unit"), "EUR") ||
            sscanf(str_dup(b.c.run.arena, csv_cell(&t, i, "inputs_SI")).p, "P=%lf W, %lf EUR", &load_w, &price) != 2)
            continue;
        b.energy.kwh_per_year = load_w * 8.76;
        b.h->budget.energy_per_kwh = price;
        CHECK_NEAR("energy", (double)bill_of(&b)->yearly, 100.0 * csv_num(&t, i, "value"), 0.51, "cents");
        n++;
    }
    CHECK("rows", n >= 5);
    check_run_end(&b.c);
}

/* Lines stand by phase, those without one first, then by kind. */
TEST(order_of_lines)
{
    struct bill_house b = bill_house(THREE_CABLES BUDGET);
    three_cables_work(&b);
    const struct bill *bill = bill_of(&b);
    for (uint32_t i = 1; i < bill->lines.n; i++) {
        const struct bill_line *q = &bill->lines.v[i - 1], *next = &bill->lines.v[i];
        CHECK("phase", q->phase + 1 <= next->phase + 1);
        CHECK("kind", q->phase != next->phase || q->kind <= next->kind);
    }
    check_run_end(&b.c);
}

/* What is there already costs nothing: the cable, its cords and sockets, the hole it goes through; a board that a new cable needs
 * lifted again costs again. */
TEST(owned_cables)
{
    struct bill_house b = bill_house("devices:\n  tv: {kind: television, " WIRED "}\n  pc: {kind: desktop, " WIRED "}\n"
                                     "equipment:\n  sw: {part: switch_8, " AT ", owned: true}\n"
                                     "cables:\n  old: {from: \"sw:1\", to: tv, part: box_6, length_m: 9, owned: true}\n"
                                     "  new: {from: \"sw:2\", to: pc, part: metre_6, length_m: 10, cord_from_m: 0, "
                                     "cord_to_m: 0}\nbudget: {contingency_share: 0}\n");
    bill_work_at(&b, WORK_HOLE, 38.0, "old", "new");
    bill_work_at(&b, WORK_HOLE, 7.0, "old", NULL);
    bill_work_at(&b, WORK_BOARD, 8.0, "old", "new");
    const struct bill *bill = bill_of(&b);
    CHECK_NEAR("ten metres and a board", (double)bill->total, 1300, 0, "pence");
    CHECK_NEAR("owned length", bill_find(&b, "category 6 in a box", true)->length_m, 9, 1e-12, "m");
    check_run_end(&b.c);
}

/* The barn is done before the garden, though it stands behind it in the file: the cable between them is the garden's, and the box
 * bought for the barn serves it. */
TEST(phases_by_date)
{
    struct bill_house b =
        bill_house("phases:\n  garden: {by_date: 2027-05-01}\n  barn: {by_date: 2027-02-01}\n"
                   "equipment:\n  g: {part: switch_8, " AT ", phase: garden}\n  h: {part: switch_8, " AT
                   ", phase: barn}\n  k: {part: switch_8, " AT ", phase: barn}\n"
                   "cables:\n  there: {from: \"g:1\", to: \"h:1\", part: box_6, length_m: 30, cord_from_m: 0, "
                   "cord_to_m: 0}\n  within: {from: \"h:2\", to: \"k:2\", part: box_6, length_m: 20, cord_from_m: 0, "
                   "cord_to_m: 0}\nbudget: {contingency_share: 0}\n");
    const struct bill *bill = bill_of(&b);
    CHECK_NEAR("garden: a switch", (double)bill->phases[0], 5000, 0, "pence");
    CHECK_NEAR("barn: two switches and the box", (double)bill->phases[1], 20000, 0, "pence");
    check_run_end(&b.c);
}

/* Exactly a box is a box; a metre more is two. */
TEST(boxes_are_rounded_up)
{
    static const struct {
        double a_m, b_m;
        int64_t pence;
    } CASES[] = {
        { 152.5, 152.5, 10000 }, { 0.1, 304.9, 10000 }, { 153, 153, 20000 }, { 1, 1, 10000 }, { 305, 306, 30000 }
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct bill_house b = bill_house(
            "equipment:\n  g: {part: switch_8, " AT ", owned: true}\n  h: {part: switch_8, " AT ", owned: true}\n"
            "cables:\n  a: {from: \"g:1\", to: \"h:1\", part: box_6, length_m: 1, cord_from_m: 0, cord_to_m: 0}\n"
            "  b: {from: \"g:2\", to: \"h:2\", part: box_6, length_m: 1, cord_from_m: 0, cord_to_m: 0}\n"
            "budget: {contingency_share: 0}\n");
        b.plan.cables[0].fixed_m = CASES[i].a_m;
        b.plan.cables[1].fixed_m = CASES[i].b_m;
        CHECK_NEAR("boxes", (double)bill_of(&b)->total, (double)CASES[i].pence, 0, "pence");
        check_run_end(&b.c);
    }
}

/* Fibre comes with its ends fitted: 30 m and cords of 0.5 and 2 m are 32.5 m, 33 m at 1.30 are 42.90; no copper cord, no socket. */
TEST(fibre)
{
    struct bill_house b = bill_house(
        "devices:\n  pc: {kind: desktop, " WIRED "}\nequipment:\n  sw: {part: switch_8, " AT ", owned: true}\n"
        "cables:\n  f: {from: \"sw:1\", to: pc, part: fibre, length_m: 30}\nbudget: {contingency_share: 0}\n");
    CHECK_NEAR("fibre", (double)bill_of(&b)->total, 4290, 0, "pence");
    check_run_end(&b.c);
}

/* Outdoors the socket is the weatherproof one: 10 m 5.00, cords 2.10 and 3.20, socket 19.50: 29.80. */
TEST(outdoors)
{
    struct bill_house b =
        bill_house("devices:\n  cam: {kind: camera, room: yard, at_m: [7, 1, 2], segment: home, link: wired}\n"
                   "equipment:\n  sw: {part: switch_8, " AT ", owned: true}\n"
                   "cables:\n  c: {from: \"sw:1\", to: cam, part: metre_6, length_m: 10}\n"
                   "budget: {contingency_share: 0}\n");
    CHECK_NEAR("outdoors", (double)bill_of(&b)->total, 2980, 0, "pence");
    check_run_end(&b.c);
}

#define OPEN_CABLES                                                                                        \
    "equipment:\n  g: {part: switch_8, " AT ", owned: true}\n  h: {part: switch_8, " AT ", owned: true}\n" \
    "cables:\n  a: {from: \"g:1\", to: \"h:1\", length_m: 1, cord_from_m: 0, cord_to_m: 0}\n"              \
    "  b: {from: \"g:2\", to: \"h:2\", length_m: 1, cord_from_m: 0, cord_to_m: 0}\n"                       \
    "  c: {from: \"g:3\", to: \"h:3\", part: box_6, length_m: 1, cord_from_m: 0, cord_to_m: 0}\n"          \
    "budget: {contingency_share: 0}\n"

/* By hand, with c of 1 m that takes a box (100.00) of 305 m anyway unless it is owned. */
TEST(open_cables_take_what_is_cheapest)
{
    static const struct {
        const char *what;
        double a_m, b_m;
        bool b_outdoors, c_owned;
        const char *category;
        int64_t pence;
    } CASES[] = {
        { "metres: 0.50 each", 20, 30, false, true, "6", 2500 },
        { "a box for both", 100, 150, false, true, "6", 10000 },
        { "5e will do: 0.30 each", 20, 30, false, true, "5e", 1500 },
        { "in the box that is bought anyway", 100, 150, false, false, "6", 10000 },
        { "outdoors by the metre, 1.05 each", 20, 30, true, true, "6", 1000 + 3150 },
        { "the drum for both: 60.00, not 10.00 and 60.00", 20, 80, true, true, "6", 6000 },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct bill_house b = bill_house(OPEN_CABLES);
        b.plan.cables[0].fixed_m = CASES[i].a_m;
        b.plan.cables[1].fixed_m = CASES[i].b_m;
        b.plan.cables[1].outdoors = CASES[i].b_outdoors;
        b.h->cables.v[2].owned = CASES[i].c_owned;
        b.links.v[0].category = b.links.v[1].category = str_from(CASES[i].category);
        CHECK_NEAR(CASES[i].what, (double)bill_of(&b)->total, (double)CASES[i].pence, 0, "pence");
        check_run_end(&b.c);
    }
}

/* Paid work at 32.00 an hour; hours are those of data/work_hours.h, the sum of them by hand: switch, device cable of 10 m above a
 * ceiling, one end without and one with a socket, a hole and a fixing that have no price. */
TEST(labour)
{
    struct bill_house b =
        bill_house("devices:\n  pc: {kind: desktop, " WIRED "}\nequipment:\n  sw: {part: switch_8, mount: shelf}\n"
                   "cables:\n  c: {from: \"sw:1\", to: pc, part: metre_6, length_m: 10}\n"
                   "budget: {contingency_share: 0, labour_per_h: 32}\n");
    bill_leg(&b, "c", RUN_CEILING_VOID, 0.0);
    bill_work_at(&b, WORK_HOLE, RT_NOT_GIVEN, "c", NULL);
    bill_of(&b);
    static const struct {
        enum work_task task;
        double n;
    } DONE[] = { { TASK_SET_UP_SWITCH, 1 }, { TASK_LAY_CEILING_VOID, 10 },
                 { TASK_END_IN_PLUG, 1 },   { TASK_END_IN_OUTLET, 1 },
                 { TASK_HOLE, 1 },          { TASK_FIX, 1 } };
    double hours = 0.0, billed_h = 0.0;
    for (size_t i = 0; i < RT_COUNT(DONE); i++) {
        const struct work_time *t = work_time(DONE[i].task);
        hours += t->hours * DONE[i].n;
        const struct bill_line *q = bill_find(&b, t->says, false);
        CHECK(t->says, q != NULL && q->kind == BILL_LABOUR);
        billed_h += q->count;
    }
    CHECK_NEAR("hours", billed_h, hours, 1e-9, "h");
    /* switch 50.00, cable 5.00, cords 2.10 and 3.20, socket 7.40 */
    CHECK_NEAR("pounds", (double)b.bill->total, 6770 + 3200 * hours, 1e-6, "pence");
    CHECK_NEAR("gaps", b.bill->gaps.n - 1, 0, 0, "but the year's energy");
    check_run_end(&b.c);
}

/* Every second battery of a part that the house has one of as equipment is bought. */
TEST(batteries)
{
    struct bill_house b = bill_house("equipment:\n  cell: {part: cell, " AT ", owned: true}\n"
                                     "batteries:\n  a: {part: cell, feeds: [cell]}\n  b: {part: cell, feeds: [cell]}\n"
                                     "budget: {contingency_share: 0}\n");
    CHECK_NEAR("one more", (double)bill_of(&b)->total, 9200, 0, "pence");
    check_run_end(&b.c);
}

static bool has_gap(const struct bill *b, const char *text, bool is_yearly)
{
    for (uint32_t i = 0; i < b->gaps.n; i++)
        if (b->gaps.v[i].is_yearly == is_yearly && memmem(b->gaps.v[i].says.p, b->gaps.v[i].says.n, text, strlen(text)))
            return true;
    return false;
}

TEST(what_is_not_known_is_told)
{
    struct bill_house b = bill_house(
        "line: {kind: fibre, down_mbps: 100, up_mbps: 20, public_ipv4: own, floor: ground, at_m: [0, 0, 0]}\n"
        "devices:\n  cam: {kind: camera, " WIRED ", owned: false}\n  tv: {kind: television, " WIRED "}\n"
        "equipment:\n  sw: {part: switch_8, mount: shelf}\n  ap: {part: dome, mount: ceiling}\n  cell: {part: cell, " AT
        "}\n"
        "cables:\n  lost: {from: \"sw:1\", to: tv, part: metre_6}\n"
        "  long_cord: {from: \"sw:2\", to: ap, part: metre_6, length_m: 10, cord_from_m: 0, cord_to_m: 9}\n"
        "budget: {contingency_share: 0}\n");
    bill_part_of(&b, "dome")->price = RT_NOT_GIVEN;
    bill_part_of(&b, "cell")->price = -5.0;
    const struct bill *bill = bill_of(&b);
    CHECK("part", has_gap(bill, "no price is known for Dome (Tarn)", false));
    CHECK("below zero", has_gap(bill, "Cell (Tarn) cannot be used", false));
    CHECK("device", has_gap(bill, "devices.cam", false));
    CHECK("mount", has_gap(bill, "fixing at shelf", false));
    CHECK("length", has_gap(bill, "cable lost is not known: no way leads there", false));
    CHECK("cord", has_gap(bill, "no cord of category 6 and 9.0 m, as cable long_cord", false));
    CHECK("energy", has_gap(bill, "draws in a year", true));
    CHECK("line", has_gap(bill, "price_per_month", true));
    CHECK_NEAR("no other", bill->gaps.n, 8, 0, "gaps");
    /* switch 50.00, fixing 25.00, 10 m 5.00, socket 7.40 */
    CHECK_NEAR("what is known", (double)bill->total, 8740, 0, "pence");
    CHECK_NEAR("sum", (double)bill_sum(bill), 8740, 0, "pence");
    check_run_end(&b.c);
}

TEST(another_currency_in_the_parts_file)
{
    struct bill_house b = bill_house("equipment:\n  sw: {part: switch_8, " AT "}\n  ap: {part: dome, mount: ceiling}\n"
                                     "budget: {contingency_share: 0}\n");
    b.h->currency = STR("JPY");
    const struct bill *bill = bill_of(&b);
    CHECK("told", has_gap(bill, "its prices in GBP, the house reckons in JPY", false));
    CHECK_NEAR("only the fixing, which is the house's own", (double)bill->total, 25, 0, "yen");
    check_run_end(&b.c);
}

TEST(sums_beyond_reason)
{
    struct bill_house b = bill_house("equipment:\n  sw: {part: switch_8, " AT "}\n");
    bill_part_of(&b, "switch_8")->price = 1e300;
    struct bill *bill;
    CHECK("refused", bill_make(&b.c.run, &b.plan, &b.links, NULL, &bill, &b.c.problems) == RT_LIMIT);
    check_run_end(&b.c);
}

/* currencies.csv: the source is named in it. */
TEST(digits_of_currencies)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/currencies.csv"));
    for (uint32_t i = 0; i < t.rows.n; i++)
        CHECK_NEAR(str_dup(c.run.arena, csv_cell(&t, i, "code")).p, currency_digits(csv_cell(&t, i, "code")),
                   csv_num(&t, i, "digits"), 0, "digits");
    check_run_end(&c);
}

/* Thousands apart by a blank: ISO 80000-1, 7.3.1 (from memory). */
TEST(money_in_words)
{
    static const struct {
        const char *currency;
        int64_t amount;
        const char *words;
    } CASES[] = {
        { "GBP", 123450, "1 234.50 GBP" },
        { "GBP", 5, "0.05 GBP" },
        { "GBP", -99, "-0.99 GBP" },
        { "JPY", 123450, "123 450 JPY" },
        { "JPY", 0, "0 JPY" },
        { "KWD", 1005, "1.005 KWD" },
        { "EUR", 100000000, "1 000 000.00 EUR" },
        { "EUR", -100000, "-1 000.00 EUR" },
        { "EUR", INT64_MIN, "-92 233 720 368 547 758.08 EUR" },
    };
    struct check_run c = check_run_begin();
    for (size_t i = 0; i < RT_COUNT(CASES); i++)
        CHECK_TEXT(CASES[i].words, money_words(c.run.arena, str_from(CASES[i].currency), CASES[i].amount),
                   str_from(CASES[i].words));
    check_run_end(&c);
}

/* Worked in decimal by hand: halves go away from zero, and no binary fraction shows. */
TEST(amounts_are_decimal)
{
    static const struct {
        const char *currency;
        double price, count;
        int64_t want;
    } CASES[] = {
        { "GBP", 1.005, 1, 101 },   { "GBP", 0.385, 100, 3850 },
        { "GBP", 0.1, 3, 30 },      { "GBP", 0.62, 12.5, 775 },
        { "JPY", 0.5, 1, 1 },       { "JPY", 0.499999, 1, 0 },
        { "KWD", 1.2345, 1, 1235 }, { "GBP", 1e6, 5e7, 5000000000000000 },
        { "GBP", 2.675, 1, 268 },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        int64_t got;
        CHECK("is an amount", money_amount(str_from(CASES[i].currency), CASES[i].price, CASES[i].count, &got));
        CHECK_NEAR("amount", (double)got, (double)CASES[i].want, 0, CASES[i].currency);
    }
    static const double BAD[] = { -1.0, RT_NOT_GIVEN, (double)INFINITY, 1e13 };
    for (size_t i = 0; i < RT_COUNT(BAD); i++) {
        int64_t got;
        CHECK("no price", !money_amount(STR("GBP"), BAD[i], 1.0, &got) && got == 0);
        CHECK("no count", !money_amount(STR("GBP"), 1.0, BAD[i], &got) && got == 0);
    }
}

/* docs/cost.md tells the hours that are reckoned with. */
TEST(the_page_tells_the_hours)
{
    struct check_run c = check_run_begin();
    struct str page;
    CHECK_OK(&c, file_read(c.run.arena, check_path(&c, "docs/cost.md"), 1 << 20, &page, &c.problems));
    for (int i = 0; i < TASK_COUNT; i++) {
        const struct work_time *t = work_time((enum work_task)i);
        const char *row = arena_printf(c.run.arena, "| %s | %g %s |", t->says, t->hours, t->per_m ? "a metre" : "each");
        CHECK(row, memmem(page.p, page.n, row, strlen(row)) != NULL);
    }
    check_run_end(&c);
}

/* The tables, row by row: the sums are those of the first house above. */
TEST(tables)
{
    struct bill_house b = bill_house("runs:\n  duct: {kind: duct, floors: [ground], line: [[0, 0, 0], [9, 0, 0]]}\n"
                                     "phases:\n  soon: {}\ndevices:\n  tv: {kind: television, says: TV, " WIRED "}\n"
                                     "equipment:\n  sw: {part: switch_8, " AT ", phase: soon}\n"
                                     "cables:\n  c: {from: \"sw:3\", to: tv, part: metre_6, length_m: 12.3}\n"
                                     "budget: {contingency_share: 0}\n");
    bill_leg(&b, "c", RUN_DUCT, 0.0);
    b.plan.cables[0].legs.v[0].run = 0;
    struct buf bill = { .arena = b.c.run.arena }, cables = { .arena = b.c.run.arena };
    bill_write_csv(&bill, bill_of(&b));
    cables_write_csv(&cables, &b.plan, &b.links, bill_of(&b), NULL);
    CHECK_TEXT("bill", buf_done(&bill),
               STR("phase,kind,part,what,count,unit,cable_m,each,total,currency,owned,for\r\n"
                   "soon,part,switch_8,Eight (Tarn),1,,,50.00,50.00,GBP,no,sw\r\n"
                   "soon,cable,metre_6,category 6 by the metre,13.00,m,12.3,0.50,6.50,GBP,no,c\r\n"
                   "soon,cable,cord_half,half a metre of cord,1,,,2.10,2.10,GBP,no,c\r\n"
                   "soon,cable,cord_two,two metres of cord,1,,,3.20,3.20,GBP,no,c\r\n"
                   "soon,outlet,socket,one socket,1,,,7.40,7.40,GBP,no,c\r\n"
                   "\"\",total,,,,,,,69.20,GBP,,\r\n"));
    CHECK_TEXT(
        "cables", buf_done(&cables),
        STR("cable,from,from_port,to,to_port,category,fixed_m,cords_m,way,label_at_from,label_at_to,owned,part\r\n"
            "c,sw,3,tv,,6,12.3,2.5,duct,\"c to tv, den\",\"c to sw:3, den\",no,metre_6\r\n"));
    check_run_end(&b.c);
}

/* No part is named, and outdoors the parts file has category 6 alone: the schedule tells the one that is bought, not the least that
 * would serve. */
TEST(the_schedule_tells_what_is_bought)
{
    struct bill_house b =
        bill_house("devices:\n  tv: {kind: television, " WIRED "}\nequipment:\n  sw: {part: switch_8, " AT "}\n"
                   "cables:\n  c: {from: \"sw:3\", to: tv, length_m: 12.3}\n");
    struct buf cables = { .arena = b.c.run.arena };
    b.links.v[0].category = STR("5e");
    b.plan.cables[0].outdoors = true;
    cables_write_csv(&cables, &b.plan, &b.links, bill_of(&b), NULL);
    CHECK_TEXT(
        "cables", buf_done(&cables),
        STR("cable,from,from_port,to,to_port,category,fixed_m,cords_m,way,label_at_from,label_at_to,owned,part\r\n"
            "c,sw,3,tv,,6,12.3,2.5,,\"c to tv, den\",\"c to sw:3, den\",no,metre_6_outdoor\r\n"));
    check_run_end(&b.c);
}
