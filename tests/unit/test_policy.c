/* Statements as a table of rules: small houses, packets made by hand, run rule by rule. */
#include "reach_kit.h"

static const char PAIR[] =
    REACH_HOUSE REACH_LINE "segments: {home: {}, things: {}}\n"
                           "devices:\n"
                           "  laptop: {kind: laptop, room: hall, at_m: [1, 1, 1], segment: home, link: wifi}\n"
                           "  lamp: {kind: light, room: hall, at_m: [2, 1, 1], segment: things, link: wifi}\n"
                           "statements:\n"
                           "  - {from: home, to: [internet, things]}\n"
                           "  - {from: things, to: internet, services: [ntp, https]}\n";

TEST(a_statement_lets_begin_what_it_says_and_nothing_else_begins)
{
    struct reach r = reach_compile(PAIR);
    CHECK("home to the internet", reach_may(&r, "laptop", "internet", IP_TCP, 443));
    CHECK("home to things", reach_may(&r, "laptop", "lamp", IP_TCP, 80));
    CHECK("things to home", !reach_may(&r, "lamp", "laptop", IP_TCP, 80));
    CHECK("things to the web", reach_may(&r, "lamp", "internet", IP_TCP, 443));
    CHECK("things to elsewhere", !reach_may(&r, "lamp", "internet", IP_TCP, 25));
    CHECK("things to time", reach_may(&r, "lamp", "internet", IP_UDP, 123));
    CHECK("the internet to home", !reach_may(&r, "internet", "laptop", IP_TCP, 443));
    reach_end(&r);
}
