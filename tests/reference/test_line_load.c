/* Framing, goodput, buffers and targets against the reference tables; their sources stand in them. */
#include "load/line_load.h"

#include <math.h>

#include "base/units.h"
#include "check.h"
#include "csv.h"

static struct csv table(struct check_run *c, const char *name)
{
    return csv_read(c->run.arena, check_path(c, arena_printf(c->run.arena, "tests/reference/%s", name)));
}

static enum line_framing framing_of(struct str word)
{
    if (str_is(word, "none"))
        return FRAMING_NONE;
    if (str_is(word, "ptm"))
        return FRAMING_PTM;
    if (str_is(word, "atm"))
        return FRAMING_ATM;
    if (str_is(word, "mpu64"))
        return FRAMING_DOCSIS;
    if (str_is(word, "mpu84"))
        return FRAMING_ETHERNET;
    fail_msg("framing %.*s", STR_ARG(word));
    return FRAMING_BY_KIND;
}

TEST(bytes_on_the_line)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "overhead.csv");
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const struct line line = { .framing = framing_of(csv_cell(&t, i, "framing")),
                                   .overhead_bytes = csv_num(&t, i, "overhead_bytes") };
        const double ip_bytes = csv_num(&t, i, "ip_packet_bytes"), got = line_wire_bytes(&line, ip_bytes);
        const char *label = arena_printf(c.run.arena, "row %u: %.*s", i, STR_ARG(csv_cell(&t, i, "line")));
        CHECK_NEAR(label, got, csv_num(&t, i, "wire_bytes"), 0.0, "bytes");
        CHECK_NEAR(label, ip_bytes / got, csv_num(&t, i, "efficiency_ratio"), 5e-7, "");
    }
    CHECK_NEAR("rows", t.rows.n, 80, 0, "");
    check_run_end(&c);
}

/* VDSL packs as ptm (64b/65b), cable counts at least 64 bytes (DOCSIS): common practice, no source. */
TEST(framing_by_kind)
{
    const struct line dsl = { .kind = LINE_DSL, .overhead_bytes = 22 },
                      cable = { .kind = LINE_CABLE, .overhead_bytes = 18 };
    const struct line fibre = { .kind = LINE_FIBRE, .overhead_bytes = 23 };
    const struct line old_dsl = { .kind = LINE_DSL, .framing = FRAMING_ATM, .overhead_bytes = 40 };
    CHECK_NEAR("bridged-ptm, 1500", line_wire_bytes(&dsl, 1500), 1546, 0, "bytes");
    CHECK_NEAR("docsis, 40", line_wire_bytes(&cable, 40), 64, 0, "bytes");
    CHECK_NEAR("gpon, 1500", line_wire_bytes(&fibre, 1500), 1523, 0, "bytes");
    CHECK_NEAR("pppoe-llcsnap, 1500", line_wire_bytes(&old_dsl, 1500), 1749, 0, "bytes");
}

static double value_of(const struct csv *t, const char *key)
{
    for (uint32_t i = 0; i < t->rows.n; i++)
        if (str_is(csv_cell(t, i, "key"), key))
            return csv_num(t, i, "value");
    fail_msg("no row %s", key);
    return NAN;
}

TEST(payload_of_full_packets)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "queue.csv");
    const struct line ethernet = { .framing = FRAMING_ETHERNET,
                                   .overhead_bytes = value_of(&t, "ethernet_overhead_on_wire"),
                                   .down_mbps = 1000,
                                   .up_mbps = 100 };
    const double want = value_of(&t, "tcp_goodput_ethernet_1500_ipv6_timestamps");
    CHECK_NEAR("TCP over IPv6 with time stamps", line_payload_ratio(&ethernet), want, 5e-7, "");
    CHECK_NEAR("down", line_capacity_mbps(&ethernet, LOAD_DOWN), 1000.0 * want, 5e-4, "Mb/s");
    CHECK_NEAR("up", line_capacity_mbps(&ethernet, LOAD_UP), 100.0 * want, 5e-5, "Mb/s");
    CHECK_NEAR("least on the wire", line_wire_bytes(&ethernet, 1.0), value_of(&t, "ethernet_least_on_wire"), 0,
               "bytes");
    check_run_end(&c);
}

TEST(waiting_behind_a_full_buffer)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "queue.csv");
    struct line line = { .down_mbps = 20, .up_mbps = 1 };
    CHECK_NEAR("256 KiB at 20 Mb/s", line_delay_of(&line, LOAD_DOWN).plain_s,
               value_of(&t, "buffer_delay_256KiB_at_20_Mbit"), 1e-12, "s");
    CHECK_NEAR("256 KiB at 1 Mb/s", line_delay_of(&line, LOAD_UP).plain_s,
               value_of(&t, "buffer_delay_256KiB_at_1_Mbit"), 1e-12, "s");
    CHECK_NEAR("CoDel's target", line_delay_of(&line, LOAD_DOWN).shaped_s, value_of(&t, "codel_target") / 1e3, 1e-12,
               "s");
    line.up_mbps = 1.0 / LINE_SHAPED_SHARE; /* shaped to 1 Mb/s */
    CHECK_NEAR("one frame at 1 Mb/s", line_delay_of(&line, LOAD_UP).shaped_s,
               value_of(&t, "target_at_1_Mbit_per_s") / 1e3, 1e-9, "s");
    line.up_mbps = value_of(&t, "rate_where_one_1514_byte_packet_takes_5_ms") / 1e6 / LINE_SHAPED_SHARE;
    CHECK_NEAR("where a frame takes the target", line_delay_of(&line, LOAD_UP).shaped_s, CODEL_TARGET_S, 1e-12, "s");
    CHECK_NEAR("shaped to the common share", LINE_SHAPED_SHARE * 100.0, value_of(&t, "shape_rule_common"), 1e-12,
               "percent");
    CHECK_NEAR("a full frame", FULL_FRAME_BYTES, value_of(&t, "fq_codel_quantum"), 0, "bytes");
    check_run_end(&c);
}

TEST(delays_of_calls)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "qos_targets.csv");
    CHECK_TEXT("row", csv_cell(&t, 0, "document"), STR("ITU-T G.114"));
    CHECK_NEAR("good", CALL_DELAY_GOOD_S, csv_num(&t, 0, "preferred_one_way_s"), 0, "s");
    CHECK_NEAR("most", CALL_DELAY_MOST_S, csv_num(&t, 0, "limit_one_way_s"), 0, "s");
    check_run_end(&c);
}
