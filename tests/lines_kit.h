/* lines_kit.h - random statements about a small house, a line of its file each, and the house compiled with them. */
#ifndef RT_LINES_KIT_H
#define RT_LINES_KIT_H

#include "base/random.h"
#include "reach_kit.h"

static const char LINES_HOUSE[] = REACH_HOUSE REACH_LINE
    "segments: {home: {}, work: {known_only: true}, things: {}, guests: {}}\n"
    "people: {ann: {kind: adult}, ben: {kind: adult}, eve: {kind: child}}\n"
    "devices:\n"
    "  laptop: {kind: laptop, owner: ann, room: hall, at_m: [1, 1, 1], segment: home, link: wifi}\n"
    "  tablet: {kind: tablet, owner: eve, room: hall, at_m: [1, 2, 1], segment: home, link: wifi}\n"
    "  desk: {kind: desktop, owner: ann, room: hall, at_m: [1, 3, 1], segment: work, link: wired}\n"
    "  desk_phone: {kind: desk_phone, owner: ben, room: hall, at_m: [1, 4, 1], segment: work, link: wired}\n"
    "  lamp: {kind: light, room: hall, at_m: [2, 1, 1], segment: things, link: wifi}\n"
    "  printer: {kind: printer, room: hall, at_m: [2, 2, 1], segment: things, link: wifi}\n"
    "  visitor: {kind: phone, room: hall, at_m: [3, 2, 1], segment: guests, link: wifi}\n"
    "hours: {night: {from: \"20:30\", to: \"07:00\"}, day: {from: \"08:00\", to: \"18:00\"}}\n"
    "groups: {play: {members: [tablet, lamp]}, mixed: {members: [play, ben, desk]}}\n"
    "services: {panel: {protocol: tcp, ports: [\"8443\", \"9000-9010\"]}}\n"
    "remote_access: {away: {segment: home, port: 51820, people: [ann, ben]}}\n";

static const char *const LINES_ENDS[] = { "anyone", "internet", "gateway", "home",  "work",      "things",   "guests",
                                          "laptop", "tablet",   "desk",    "lamp",  "printer",   "visitor",  "ann",
                                          "ben",    "eve",      "play",    "mixed", "a.example", "b.example" };
enum { LINES_NAMES = 2 }; /* the last ones: of the internet, which nothing comes from */
static const char *const LINES_SERVICES[] = { "https", "http", "dns", "ping",  "ntp",    "ipps",
                                              "mdns",  "sip",  "esp", "panel", "netbios" };

/* Different ones: 7 has no common factor with either number of words. */
static inline void lines_add_ends(struct buf *b, struct random *random, bool receives)
{
    const uint32_t n = 1 + random_below(random, 3), all = (uint32_t)RT_COUNT(LINES_ENDS) - (receives ? 0 : LINES_NAMES);
    const uint32_t first = random_below(random, all);
    for (uint32_t i = 0; i < n; i++)
        buf_printf(b, "%s%s", i ? ", " : "[", LINES_ENDS[(first + 7 * i) % all]);
    buf_text(b, "]");
}

/* `verdict` NULL: either.  Half of them plain, such as can share a rule with others or stand in each other's way. */
static inline void lines_add_statement(struct buf *b, struct random *random, const char *verdict)
{
    static const char *const FROM[] = { "home", "work", "things", "guests", "tablet", "printer" }, *const TO[] = {
        "internet", "things", "home"
    };
    const bool is_plain = random_below(random, 2) == 0;
    buf_text(b, "  - {from: ");
    if (is_plain)
        buf_printf(b, "%s, to: %s", FROM[random_below(random, 6)], TO[random_below(random, 3)]);
    else {
        lines_add_ends(b, random, false);
        buf_text(b, ", to: ");
        lines_add_ends(b, random, true);
    }
    buf_printf(b, ", verdict: %s", verdict ? verdict : random_below(random, 3) ? "allow" : "refuse");
    const uint32_t n = is_plain ? 0 : random_below(random, 4);
    const uint32_t first = random_below(random, (uint32_t)RT_COUNT(LINES_SERVICES));
    for (uint32_t i = 0; i < n; i++)
        buf_printf(b, "%s%s%s", i ? ", " : ", services: [", LINES_SERVICES[(first + 3 * i) % RT_COUNT(LINES_SERVICES)],
                   i + 1 == n ? "]" : "");
    if (random_below(random, is_plain ? 12 : 4) == 0)
        buf_printf(b, ", hours: %s", random_below(random, 2) ? "night" : "day");
    buf_text(b, "}\n");
}

enum { LINES_MAX = 12 };

struct lines {
    struct str v[LINES_MAX + 1];
    uint32_t n;
};

/* Either verdict; they may contradict each other. */
static inline struct lines lines_draw(struct arena *a, struct random *random)
{
    struct lines out = { .n = 1 + random_below(random, LINES_MAX) };
    for (uint32_t i = 0; i < out.n; i++) {
        struct buf b = { .arena = a };
        lines_add_statement(&b, random, NULL);
        out.v[i] = buf_done(&b);
    }
    return out;
}

/* False: a statement contradicts those before it, as the problems say.  End r with reach_end() in any case. */
static inline bool lines_try(struct reach *r, const struct lines *lines)
{
    *r = (struct reach){ .c = check_run_begin() };
    struct buf b = { .arena = r->c.run.arena };
    buf_text(&b, LINES_HOUSE);
    buf_text(&b, lines->n ? "statements:\n" : "");
    for (uint32_t i = 0; i < lines->n; i++)
        buf_str(&b, lines->v[i]);
    CHECK_OK(&r->c, house_read_bytes(&r->c.run, "house.yaml", buf_done(&b), &r->h, &r->c.problems));
    CHECK_OK(&r->c, addresses_plan(&r->c.run, r->h, &r->plan, &r->c.problems));
    const enum rt_code code = policy_compile(&r->c.run, r->plan, &r->policy, &r->c.problems);
    if (code != RT_OK && code != RT_CONFLICT)
        CHECK_OK(&r->c, code);
    return code == RT_OK;
}

/* Compiles, leaving out the statements that contradict those before them. */
static inline struct reach lines_compile(struct lines *lines)
{
    uint32_t first_line = 1;
    for (const char *c = LINES_HOUSE; *c; c++)
        first_line += *c == '\n';
    for (;;) {
        struct reach r;
        if (lines_try(&r, lines))
            return r;
        uint32_t drop = NO_REF;
        for (uint32_t i = 0; i < r.c.problems.list.n && drop == NO_REF; i++)
            if (!r.c.problems.list.v[i].is_warning)
                drop = r.c.problems.list.v[i].at.line - first_line - 1;
        reach_end(&r);
        CHECK("the error points at a statement", drop < lines->n);
        for (uint32_t i = drop; i + 1 < lines->n; i++)
            lines->v[i] = lines->v[i + 1];
        lines->n--;
    }
}

#endif
