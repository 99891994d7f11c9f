/* Random policies on this kernel: houses are drawn, compiled, exported, loaded, and every packet's fate is the proof's.  At least
 * 100 policies and 100,000 verdicts. */
#include "rehearse_kit.h"

enum { POLICIES = 100, VERDICTS = 100000, DRAWS_MAX = 400 };
enum { SEGMENTS_MAX = 3, DEVICES_MAX = 4, WITH_HOURS_EVERY = 50 };

/* A house as it is written. */
struct drawn {
    struct random *r;
    struct buf text;
    uint32_t n_segments, n_devices;
    bool has_hours, has_person;
};

static const char *const SERVICES[] = { "http", "https", "ssh",  "ipps", "mqtts", "dns",
                                        "ntp",  "smb",   "rtsp", "ping", "game",  "beam" };
enum { N_SERVICES = RT_COUNT(SERVICES) };

static bool one_in(struct drawn *d, uint32_t n) { return random_below(d->r, n) == 0; }

/* Somebody: a segment, a device, a person, a group, the internet ... */
static void write_end(struct drawn *d, bool is_sender)
{
    const uint32_t kind = random_below(d->r, is_sender ? 10 : 12);
    if (kind < 4)
        buf_printf(&d->text, "segment:s%u", random_below(d->r, d->n_segments));
    else if (kind < 7)
        buf_printf(&d->text, "d%u", random_below(d->r, d->n_devices));
    else if (kind == 7)
        buf_text(&d->text, "group:some");
    else if (kind == 8)
        buf_text(&d->text, d->has_person ? "ada" : "anyone");
    else if (kind == 9)
        buf_text(&d->text, is_sender && one_in(d, 2) ? "anyone" : "internet");
    else
        buf_text(&d->text, kind == 10 ? "gateway" : "backup.example");
}

static void write_ends(struct drawn *d, bool is_sender)
{
    buf_char(&d->text, '[');
    write_end(d, is_sender);
    if (one_in(d, 4)) {
        buf_text(&d->text, ", ");
        write_end(d, is_sender);
    }
    buf_char(&d->text, ']');
}

static void write_services(struct drawn *d)
{
    if (one_in(d, 3))
        return;
    const uint32_t n = 1 + random_below(d->r, 3), first = random_below(d->r, N_SERVICES);
    buf_text(&d->text, ", services: [");
    for (uint32_t i = 0; i < n; i++)
        buf_printf(&d->text, "%s%s", i ? ", " : "", SERVICES[(first + i * 5) % N_SERVICES]);
    buf_char(&d->text, ']');
}

static void write_line(struct drawn *d)
{
    static const char *const BOXES[] = { "", "", ", box: {mode: modem}",
                                         ", box: {mode: router, ipv4: 192.168.1.0/24}" };
    static const char *const PUBLIC[] = { "own", "own", "shared", "none" };
    buf_printf(&d->text, "line: {kind: fibre, down_mbps: 500, up_mbps: 70, floor: ground, at_m: [1, 1, 1]%s%s",
               one_in(d, 4) ? "" : ", ipv6_prefix_len: 56", BOXES[random_below(d->r, RT_COUNT(BOXES))]);
    buf_printf(&d->text, ", public_ipv4: %s}\n", PUBLIC[random_below(d->r, RT_COUNT(PUBLIC))]);
}

static void write_things(struct drawn *d)
{
    buf_text(&d->text, "segments:\n");
    for (uint32_t i = 0; i < d->n_segments; i++)
        buf_printf(&d->text, "  s%u: {known_only: %s}\n", i, one_in(d, 3) ? "true" : "false");
    if (d->has_person)
        buf_text(&d->text, "people: {ada: {kind: adult}}\n");
    buf_text(&d->text, "devices:\n");
    for (uint32_t i = 0; i < d->n_devices; i++) {
        /* each segment has at least one */
        const uint32_t segment = i < d->n_segments ? i : random_below(d->r, d->n_segments);
        buf_printf(&d->text, "  d%u: {kind: other, room: hall, at_m: [%u, 1, 1], segment: s%u, link: wired", i, 1 + i,
                   segment);
        if (one_in(d, 3))
            buf_printf(&d->text, ", mac: \"b8:00:00:00:0%u:0%u\"", random_below(d->r, 9), i);
        if (d->has_person && one_in(d, 3))
            buf_text(&d->text, ", owner: ada");
        buf_text(&d->text, "}\n");
    }
    buf_printf(&d->text, "groups: {some: {members: [d%u, d%u]}}\n", random_below(d->r, d->n_devices / 2),
               d->n_devices / 2 + random_below(d->r, d->n_devices / 2));
    buf_text(&d->text, "services:\n"
                       "  game: {protocol: udp, ports: [\"7000-7010\", \"9000\"]}\n"
                       "  beam: {protocol: tcp, ports: [\"5000-5999\"]}\n");
}

static void write_policy(struct drawn *d)
{
    static const char *const VERDICTS_OF[] = { "allow", "allow", "refuse" };
    static const char *const TIMES[] = { "evening", "morning" };
    if (d->has_hours)
        buf_text(&d->text, "hours:\n"
                           "  evening: {days: [mon, tue, wed, thu, fri, sat, sun], from: \"20:00\", to: \"23:00\"}\n"
                           "  morning: {days: [mon, wed], from: \"06:00\", to: \"09:00\"}\n");
    buf_text(&d->text, "statements:\n");
    const uint32_t n = 4 + random_below(d->r, 10);
    for (uint32_t i = 0; i < n; i++) {
        buf_printf(&d->text, "  - {id: t%u, from: ", i);
        write_ends(d, true);
        buf_text(&d->text, ", to: ");
        write_ends(d, false);
        write_services(d);
        buf_printf(&d->text, ", verdict: %s", VERDICTS_OF[random_below(d->r, RT_COUNT(VERDICTS_OF))]);
        if (d->has_hours && one_in(d, 2))
            buf_printf(&d->text, ", hours: %s", TIMES[random_below(d->r, RT_COUNT(TIMES))]);
        buf_text(&d->text, "}\n");
    }
    if (one_in(d, 3))
        buf_printf(&d->text, "port_openings: {in: {device: d%u, service: %s%s}}\n", random_below(d->r, d->n_devices),
                   one_in(d, 2) ? "https" : "game", one_in(d, 2) ? ", from: [45.9.8.0/24, \"2600:9::/32\"]" : "");
    if (d->has_person && one_in(d, 2))
        buf_printf(&d->text, "remote_access: {away: {segment: s%u, port: 51820, people: [ada]}}\n",
                   random_below(d->r, d->n_segments));
}

static const char *draw(struct random *r, struct arena *a, bool has_hours)
{
    struct drawn d = { .r = r,
                       .text.arena = a,
                       .n_segments = 2 + random_below(r, SEGMENTS_MAX - 1),
                       .n_devices = DEVICES_MAX - random_below(r, 2),
                       .has_hours = has_hours };
    d.has_person = one_in(&d, 2);
    buf_text(&d.text, REACH_HOUSE);
    write_line(&d);
    write_things(&d);
    write_policy(&d);
    return d.text.p;
}

/* Compiles a drawn house; false: its statements say a thing twice or contradict each other, as drawn ones will. */
static bool compile(struct reach *r, const char *text)
{
    *r = (struct reach){ .c = check_run_begin() };
    enum rt_code code = house_read_bytes(&r->c.run, "house.yaml", str_from(text), &r->h, &r->c.problems);
    if (code == RT_SHAPE || code == RT_CONFLICT)
        return false;
    CHECK_OK(&r->c, code);
    CHECK_OK(&r->c, addresses_plan(&r->c.run, r->h, &r->plan, &r->c.problems));
    code = policy_compile(&r->c.run, r->plan, &r->policy, &r->c.problems);
    if (code != RT_CONFLICT)
        CHECK_OK(&r->c, code);
    return code == RT_OK;
}

PROP(kernel_and_proof_agree_on_random_policies, 1)
{
    uint32_t n_policies = 0, n_verdicts = 0, n_cut = 0;
    for (uint32_t i = 0; i < DRAWS_MAX && (n_policies < POLICIES || n_verdicts < VERDICTS); i++) {
        struct check_run text = check_run_begin();
        struct reach house;
        struct rehearsal *out;
        const char *written = draw(r, text.run.arena, n_policies % WITH_HOURS_EVERY == 0);
        if (compile(&house, written)) {
            const enum rt_code code = rehearse(&house.c.run, house.policy, NULL, &out, &house.c.problems);
            if (rehearse_is_forbidden(&house.c, code))
                skip();
            CHECK_OK(&house.c, code);
            if (out->disagreed.n)
                print_message("%s", written);
            rehearse_check(&house.c, out);
            n_policies++;
            n_verdicts += out->n_probes;
            n_cut += out->n_cut;
        }
        check_run_end(&house.c);
        check_run_end(&text);
    }
    print_message("    %u policies, %u verdicts, %u conversations cut\n", n_policies, n_verdicts, n_cut);
    CHECK("at least 100 policies", n_policies >= POLICIES);
    CHECK("at least 100,000 verdicts", n_verdicts >= VERDICTS);
}
