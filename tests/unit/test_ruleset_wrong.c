/* Listings that cannot be judged: what is said of each, in these words; and what is passed over, and said. */
#include "reach/ruleset.h"

#include "check.h"

static struct ruleset_interface INTERFACES[] = {
    { STR("wan0"), ZONE_INTERNET },
    { STR("lan0"), ZONE_SEGMENT },
    { STR("lan1"), ZONE_SEGMENT },
};
static const struct ruleset_zones ZONES = { .interfaces = { INTERFACES, RT_COUNT(INTERFACES) },
                                            .n_zones = 3,
                                            .n_with_mac = 3 };

static enum rt_code read_it(struct check_run *c, const char *json, struct ruleset **out)
{
    *out = NULL;
    return ruleset_read(&c->run, &ZONES, NULL, "home.json", str_from(json), out, &c->problems);
}

/* A listing with one table, a chain `f` that forwards, one `u` that does not, and rules. */
static const char *listing_with(struct check_run *c, const char *more)
{
    return arena_printf(c->run.arena,
                        "{\"nftables\":[{\"metainfo\":{\"version\":\"1.0.6\"}},{\"table\":{\"family\":\"inet\","
                        "\"name\":\"t\",\"handle\":1}},"
                        "{\"chain\":{\"family\":\"inet\",\"table\":\"t\",\"name\":\"u\",\"handle\":1}},"
                        "{\"chain\":{\"family\":\"inet\",\"table\":\"t\",\"name\":\"f\",\"handle\":2,\"type\":"
                        "\"filter\",\"hook\":\"forward\","
                        "\"prio\":0,\"policy\":\"drop\"}}%s]}",
                        more);
}

static const char *rule_with(struct check_run *c, const char *expressions)
{
    return listing_with(c, arena_printf(c->run.arena,
                                        ",{\"rule\":{\"family\":\"inet\",\"table\":\"t\",\"chain\":\"f\",\"handle\":7,"
                                        "\"expr\":[%s,{\"accept\":null}]}}",
                                        expressions));
}

static void check_said(struct check_run *c, const char *what, enum rt_code code, enum rt_code want_code,
                       const char *want)
{
    struct buf said = { .arena = c->run.arena };
    rt_problems_format(&c->problems, &said);
    CHECK_TEXT(what, buf_done(&said), str_from(want));
    CHECK(what, code == want_code);
}

/* ---- expressions ---- */

#define MATCH(op, left, right) "{\"match\":{\"op\":\"" op "\",\"left\":" left ",\"right\":" right "}}"
#define META(key) "{\"meta\":{\"key\":\"" key "\"}}"
#define CT(key) "{\"ct\":{\"key\":\"" key "\"}}"
#define FIELD(protocol, field) "{\"payload\":{\"protocol\":\"" protocol "\",\"field\":\"" field "\"}}"
#define AT "home.json: table inet t, chain f, handle 7: "

static const struct {
    const char *expressions;
    enum rt_code code;
    const char *want;
} EXPRESSIONS[] = {
    { "{\"limit\":{\"rate\":10,\"burst\":5,\"per\":\"second\"}}", RT_SHAPE,
      AT "how fast packets come decides, not the packet: "
         "{\"limit\":{\"rate\":10,\"burst\":5,\"per\":\"second\"}}\n" },
    { "{\"quota\":{\"val\":10,\"val_unit\":\"mbytes\"}}", RT_SHAPE,
      AT "how much has passed decides, not the packet: {\"quota\":{\"val\":10,\"val_unit\":\"mbytes\"}}\n" },
    { "{\"ct count\":{\"val\":20,\"inv\":true}}", RT_SHAPE,
      AT "how many conversations there are decides, not the packet: {\"ct count\":{\"val\":20,\"inv\":true}}\n" },
    { "{\"set\":{\"op\":\"add\",\"elem\":" FIELD("ip",
                                                 "saddr") ",\"set\":\"@dyn\",\"stmt\":[{\"limit\":{\"rate\":10}}]}}",
      RT_SHAPE,
      AT "how fast packets come decides, not the packet: "
         "{\"set\":{\"op\":\"add\",\"elem\":{\"payload\":{\"protocol\":\"ip\","
         "\"field\":\"saddr\"}},\"set\":\"@dyn\",\"stmt\":[{\"limit\":{\"rate\":10}}]}}\n" },
    { "{\"flag\":\"a text that is longer than a hundred and twenty bytes, so that the message shows its beginning "
      "alone, and then three dots\"}",
      RT_SHAPE,
      AT "what it does is not known: {\"flag\":\"a text that is longer than a hundred and twenty bytes, so that the "
         "message shows its beginning alone, and then ...\n" },
    { "{\"queue\":{\"num\":1}}", RT_SHAPE, AT "a program decides: {\"queue\":{\"num\":1}}\n" },
    { "{\"flow\":{\"op\":\"add\",\"flowtable\":\"@ft\"}}", RT_SHAPE,
      AT "packets of such conversations pass by the rules: {\"flow\":{\"op\":\"add\",\"flowtable\":\"@ft\"}}\n" },
    { "{\"notrack\":null}", RT_SHAPE, AT "the kernel keeps no memory of such conversations: {\"notrack\":null}\n" },
    { "{\"xt\":null}", RT_SHAPE, AT "it is written by another tool and not listed: {\"xt\":null}\n" },
    { "{\"sparkle\":null}", RT_SHAPE, AT "what it does is not known: {\"sparkle\":null}\n" },
    { "{\"mangle\":{\"key\":" FIELD("ip", "saddr") ",\"value\":\"1.2.3.4\"}}", RT_SHAPE,
      AT "packets that are changed on their way cannot be judged: "
         "{\"key\":{\"payload\":{\"protocol\":\"ip\",\"field\":\"saddr\"}},\"value\":\"1.2.3.4\"}\n" },
    { MATCH("==", META("skuid"), "0"), RT_SHAPE,
      AT "what it looks at cannot be judged: {\"meta\":{\"key\":\"skuid\"}}\n" },
    { MATCH("<", FIELD("ip", "ttl"), "2"), RT_SHAPE,
      AT "what it looks at cannot be judged: {\"payload\":{\"protocol\":\"ip\",\"field\":\"ttl\"}}\n" },
    { MATCH("==", FIELD("ip6", "nexthdr"), "\"tcp\""), RT_SHAPE,
      AT "what it looks at cannot be judged: {\"payload\":{\"protocol\":\"ip6\",\"field\":\"nexthdr\"}}\n" },
    { MATCH("==", "{\"&\":[" FIELD("tcp", "flags") ",[\"fin\",\"syn\"]]}", "\"syn\""), RT_SHAPE,
      AT "what it looks at cannot be judged: "
         "{\"&\":[{\"payload\":{\"protocol\":\"tcp\",\"field\":\"flags\"}},[\"fin\",\"syn\"]]}\n" },
    { MATCH("==", "{\"fib\":{\"result\":\"oif\",\"flags\":[\"saddr\",\"iif\"]}}", "false"), RT_SHAPE,
      AT "what it looks at cannot be judged: {\"fib\":{\"result\":\"oif\",\"flags\":[\"saddr\",\"iif\"]}}\n" },
    { MATCH("==", "{\"ct\":{\"key\":\"ip daddr\",\"dir\":\"original\"}}", "\"1.2.3.4\""), RT_SHAPE,
      AT "what it looks at cannot be judged: {\"ct\":{\"key\":\"ip daddr\",\"dir\":\"original\"}}\n" },
    { MATCH("==", META("iifname"), "\"bridge7\""), RT_UNKNOWN_REF,
      AT "no part of the house lies behind interface \"bridge7\"\n"
         "    name it under `interfaces` of the house file, with the segment that lies behind it\n" },
    { MATCH("==", META("iifname"), "\"bri*\""), RT_UNKNOWN_REF,
      AT "no part of the house lies behind interface \"bri*\"\n"
         "    name it under `interfaces` of the house file, with the segment that lies behind it\n" },
    { MATCH("==", META("oifname"), "\"lan1\""), RT_SHAPE,
      AT "it tells \"lan1\" from \"lan0\", behind which lies the same part of the house: \"lan1\"\n" },
    { MATCH("==", FIELD("ip", "saddr"), "\"@nowhere\""), RT_UNKNOWN_REF,
      AT "the listing has no such set: \"@nowhere\"\n" },
    { MATCH("==", FIELD("ip", "saddr"), "\"fe80::1\""), RT_SHAPE,
      AT "what this value means is not known: \"fe80::1\"\n" },
    { MATCH("==", FIELD("tcp", "dport"), "65536"), RT_SHAPE, AT "a number out of its range: 65536\n" },
    { MATCH("==", FIELD("tcp", "dport"), "-1"), RT_SHAPE, AT "a number out of its range: -1\n" },
    { MATCH("==", FIELD("tcp", "dport"), "\"ssh\""), RT_SHAPE, AT "what this value means is not known: \"ssh\"\n" },
    { MATCH("==", FIELD("tcp", "dport"), "{\"range\":[9,8]}"), RT_SHAPE,
      AT "a range that ends before it begins: {\"range\":[9,8]}\n" },
    { MATCH("==", FIELD("ip", "daddr"), "{\"prefix\":{\"addr\":\"10.0.0.1\",\"len\":8}}"), RT_SHAPE,
      AT "an address with bits behind its prefix: {\"addr\":\"10.0.0.1\",\"len\":8}\n" },
    { MATCH("==", FIELD("ip", "daddr"), "{\"prefix\":{\"addr\":\"10.0.0.0\",\"len\":33}}"), RT_SHAPE,
      AT "what this prefix means is not known: {\"addr\":\"10.0.0.0\",\"len\":33}\n" },
    { MATCH("==", FIELD("th", "dport"), "53"), RT_SHAPE,
      AT
      "it looks at ports, but not of TCP and UDP alone: [{\"match\":{\"op\":\"==\",\"left\":{\"payload\":{\"protocol\":"
      "\"th\",\"field\":\"dport\"}},\"right\":53}},{\"accept\":null}]\n" },
    { MATCH("==", CT("direction"), "\"original\""), RT_SHAPE,
      AT
      "which way a related packet goes is not known; say `ct state established` beside it: [{\"match\":{\"op\":\"==\","
      "\"left\":{\"ct\":{\"key\":\"direction\"}},\"right\":\"original\"}},{\"accept\":null}]\n" },
    { MATCH("!=", CT("status"), "\"dnat\""), RT_SHAPE, AT "only `ct status dnat` can be judged: \"dnat\"\n" },
    { MATCH("in", CT("status"), "\"snat\""), RT_SHAPE, AT "what this value means is not known: \"snat\"\n" },
    { MATCH("==", META("hour"), "\"22:00\""), RT_SHAPE,
      AT "it goes by the clock, and no week was given in which to judge it: \"22:00\"\n" },
    { MATCH("!=", "{\"concat\":[" FIELD("ip", "saddr") "," FIELD("tcp", "dport") "]}",
            "{\"set\":[{\"concat\":[\"1.1.1.1\",22]}]}"),
      RT_SHAPE,
      AT "this of several things together cannot be judged: "
         "{\"concat\":[{\"payload\":{\"protocol\":\"ip\",\"field\":\"saddr\"}},"
         "{\"payload\":{\"protocol\":\"tcp\",\"field\":\"dport\"}}]}\n" },
    { MATCH("==", "{\"concat\":[" FIELD("ip", "saddr") "," FIELD("tcp", "dport") "]}",
            "{\"set\":[{\"concat\":[\"1.1.1.1\"]}]}"),
      RT_SHAPE, AT "an element does not fit what is looked up: {\"concat\":[\"1.1.1.1\"]}\n" },
    { "{\"vmap\":{\"key\":" FIELD("tcp", "dport") ",\"data\":\"@nowhere\"}}", RT_UNKNOWN_REF,
      AT "the listing has no such map: \"@nowhere\"\n" },
    { "{\"jump\":{\"target\":\"nowhere\"}}", RT_UNKNOWN_REF,
      AT "the listing has no such chain: {\"target\":\"nowhere\"}\n" },
};

TEST(what_cannot_be_judged_is_named)
{
    for (size_t i = 0; i < RT_COUNT(EXPRESSIONS); i++) {
        struct check_run c = check_run_begin();
        struct ruleset *out;
        const enum rt_code code = read_it(&c, rule_with(&c, EXPRESSIONS[i].expressions), &out);
        check_said(&c, EXPRESSIONS[i].expressions, code, EXPRESSIONS[i].code, EXPRESSIONS[i].want);
        CHECK("nothing is given", out == NULL);
        check_run_end(&c);
    }
}

/* ---- listings ---- */

#define RULE(chain, expressions)                                                                                       \
    ",{\"rule\":{\"family\":\"inet\",\"table\":\"t\",\"chain\":\"" chain "\",\"handle\":9,\"expr\":[" expressions "]}" \
    "}"
#define BASE(family, table, name, type, hook, prio)                                                         \
    ",{\"chain\":{\"family\":\"" family "\",\"table\":\"" table "\",\"name\":\"" name "\",\"type\":\"" type \
    "\",\"hook\":\"" hook "\",\"prio\":" prio ",\"policy\":\"accept\"}}"

static const struct {
    const char *what, *more;
    enum rt_code code;
    const char *want;
} LISTINGS[] = {
    { "a rule without its chain", RULE("gone", "{\"drop\":null}"), RT_UNKNOWN_REF,
      "home.json: table inet t, chain gone, handle 9: the listing has no such chain\n" },
    { "a part that is not known", ",{\"wish\":{}}", RT_SHAPE,
      "home.json: what this part of the listing is, is not known: {\"wish\":{}}\n" },
    { "a circle", RULE("u", "{\"jump\":{\"target\":\"u\"}}"), RT_LIMIT,
      "home.json: chains of the listing lead to each other in a circle\n" },
    { "bridges",
      ",{\"table\":{\"family\":\"bridge\",\"name\":\"b\"}}" BASE("bridge", "b", "x", "filter", "forward", "0"),
      RT_SHAPE,
      "home.json: table bridge b, chain x: what a chain of family bridge does to packets cannot be judged\n" },
    { "packets before the stack", BASE("netdev", "n", "x", "filter", "ingress", "0"), RT_SHAPE,
      "home.json: table netdev n, chain x: what a chain of family netdev does to packets cannot be judged\n" },
    { "a hook that is not known", BASE("inet", "t", "x", "filter", "ingress", "0"), RT_SHAPE,
      "home.json: table inet t, chain x: where this chain stands is not known: "
      "{\"family\":\"inet\",\"table\":\"t\",\"name\":\"x\","
      "\"type\":\"filter\",\"hook\":\"ingress\",\"prio\":0,\"policy\":\"accept\"}\n" },
    { "a conversation before the kernel knows it",
      BASE("inet", "t", "raw", "filter", "prerouting", "-300")
          RULE("raw", MATCH("in", CT("state"), "\"new\"") ",{\"drop\":null}"),
      RT_SHAPE,
      "home.json: table inet t, chain raw, handle 9: it looks at conversations before the kernel knows them\n" },
    { "destinations before they are translated",
      BASE("inet", "t", "early", "filter", "prerouting", "-150") BASE("inet", "t", "nat", "nat", "prerouting", "-100")
          RULE("early", MATCH("==", FIELD("tcp", "dport"), "22") ",{\"drop\":null}")
              RULE("nat", "{\"dnat\":{\"family\":\"ip\",\"addr\":\"10.0.0.1\"}}"),
      RT_SHAPE,
      "home.json: table inet t, chain early, handle 9: it looks at destinations before port openings translate "
      "them\n" },
    { "sources behind their translation",
      BASE("inet", "t", "late", "filter", "postrouting", "150") BASE("inet", "t", "nat", "nat", "postrouting", "100")
          RULE("late", MATCH("==", FIELD("ip", "saddr"), "\"10.0.0.1\"") ",{\"drop\":null}"),
      RT_SHAPE, "home.json: table inet t, chain late, handle 9: it looks at sources behind their translation\n" },
    { "where from, in postrouting",
      BASE("inet", "t", "late", "filter", "postrouting", "0")
          RULE("late", MATCH("==", META("iifname"), "\"wan0\"") ",{\"drop\":null}"),
      RT_SHAPE,
      "home.json: table inet t, chain late, handle 9: where a packet came from cannot be told in postrouting\n" },
    { "marks set on the way",
      RULE("f", "{\"mangle\":{\"key\":" CT("mark") ",\"value\":1}}")
          RULE("f", MATCH("==", CT("mark"), "1") ",{\"accept\":null}"),
      RT_SHAPE,
      "home.json: table inet t, chain f, handle 9: it sets marks of conversations that rules look at; that can be "
      "judged in "
      "prerouting alone\n" },
    { "a chain of translations that drops",
      BASE("inet", "t", "nat", "nat", "prerouting", "-100") RULE("nat", "{\"jump\":{\"target\":\"u\"}}")
          RULE("u", "{\"drop\":null}"),
      RT_SHAPE, "home.json: table inet t, chain u, handle 9: a chain of translations that drops cannot be judged\n" },
};

TEST(listings_that_cannot_be_judged)
{
    for (size_t i = 0; i < RT_COUNT(LISTINGS); i++) {
        struct check_run c = check_run_begin();
        struct ruleset *out;
        const enum rt_code code = read_it(&c, listing_with(&c, LISTINGS[i].more), &out);
        check_said(&c, LISTINGS[i].what, code, LISTINGS[i].code, LISTINGS[i].want);
        check_run_end(&c);
    }
}

static const struct {
    const char *json;
    enum rt_code code;
    const char *want;
} TEXTS[] = {
    { "", RT_SYNTAX,
      "home.json:1:1: this is no JSON: '[' or '{' expected near end of file\n    make it with: TZ=UTC nft -j list "
      "ruleset\n" },
    { "table inet t {", RT_SYNTAX,
      "home.json:1:5: this is no JSON: '[' or '{' expected near 'table'\n    make it with: TZ=UTC nft -j list "
      "ruleset\n" },
    { "{}", RT_SHAPE,
      "home.json: this is not the listing of a ruleset\n    make it with: TZ=UTC nft -j list ruleset\n" },
    { "[]", RT_SHAPE,
      "home.json: this is not the listing of a ruleset\n    make it with: TZ=UTC nft -j list ruleset\n" },
};

TEST(texts_that_are_no_listings)
{
    for (size_t i = 0; i < RT_COUNT(TEXTS); i++) {
        struct check_run c = check_run_begin();
        struct ruleset *out;
        const enum rt_code code = read_it(&c, TEXTS[i].json, &out);
        check_said(&c, TEXTS[i].json, code, TEXTS[i].code, TEXTS[i].want);
        check_run_end(&c);
    }
}

TEST(all_mistakes_are_told_in_one_go)
{
    struct check_run c = check_run_begin();
    struct ruleset *out;
    const char *two = RULE("f", "{\"queue\":{\"num\":1}}") RULE("u", "{\"xt\":null},{\"drop\":null}");
    CHECK("refused", read_it(&c, listing_with(&c, two), &out) == RT_SHAPE);
    CHECK_NEAR("errors", c.problems.n_errors, 2, 0, "");
    check_run_end(&c);
}

/* ---- what is passed over ---- */

TEST(what_decides_nothing_is_passed_over)
{
    struct check_run c = check_run_begin();
    struct ruleset *out;
    const char *more = RULE("f", MATCH("==", META("skuid"), "0") ",{\"counter\":null},{\"log\":{\"prefix\":\"x\"}}")
        RULE("f", "{\"limit\":{\"rate\":1}},{\"log\":null}") ",{\"table\":{\"family\":\"bridge\",\"name\":\"b\"}}"
                                                             ",{\"chain\":{\"family\":\"bridge\",\"table\":\"b\","
                                                             "\"name\":\"x\",\"handle\":1}}"
                                                             ",{\"table\":{\"family\":\"inet\",\"name\":\"asleep\","
                                                             "\"flags\":[\"dormant\"]}}" BASE(
                                                                 "inet", "asleep", "x", "filter", "forward",
                                                                 "0") ",{\"rule\":{\"family\":\"inet\",\"table\":"
                                                                      "\"asleep\",\"chain\":\"x\",\"handle\":3,"
                                                                      "\"expr\":[{\"queue\":{\"num\":1}}]}}";
    CHECK_OK(&c, read_it(&c, listing_with(&c, more), &out));
    CHECK_NEAR("notes", out->notes.n, 2, 0, "");
    CHECK_TEXT("a bridge's chain", out->notes.v[1].says,
               STR("table bridge b, chain x: no packet comes there, it hooks nothing"));
    CHECK_TEXT("a table asleep", out->notes.v[0].says, STR("table inet asleep is dormant: it judges nothing"));
    const struct packet p = { .family = FAMILY_IPV4, .at = { [AXIS_TO] = ZONE_SEGMENT } };
    enum action action;
    table_run(&out->table, &p, NULL, &action);
    CHECK("the policy decides", action == ACTION_DROP);
    check_run_end(&c);
}

TEST(a_listing_too_large)
{
    struct check_run c = check_run_begin();
    struct ruleset *out = NULL;
    const struct str large = { "", (size_t)RULESET_BYTES_MAX + 1 }; /* refused before it is looked at */
    CHECK("refused", ruleset_read(&c.run, &ZONES, NULL, "home.json", large, &out, &c.problems) == RT_LIMIT);
    check_run_end(&c);
}
