/* Who is let in.  RFC 9110 (Host), RFC 6454 (Origin), RFC 6265 (cookies), W3C Fetch Metadata (Sec-Fetch-Site). */
#include <string.h>

#include "check.h"
#include "web/gate.h"

static struct gate opened(struct check_run *c, char session[GATE_HEX])
{
    struct gate g;
    char token[GATE_HEX];
    CHECK_OK(c, gate_init(&g, &c->problems));
    gate_allow_host(&g, "127.0.0.1", 4321);
    gate_allow_host(&g, "localhost", 4321);
    CHECK("a token", gate_new_token(&g, token));
    CHECK("spent", gate_spend_token(&g, str_from(token), session));
    CHECK("it works once", !gate_spend_token(&g, str_from(token), session + 0));
    return g;
}

static enum gate_answer ask(struct gate *g, const char *host, const char *origin, const char *site, const char *session,
                            bool is_safe)
{
    const struct gate_request q = { .host = str_from(host),
                                    .origin = str_from(origin),
                                    .site = str_from(site),
                                    .session = str_from(session),
                                    .is_safe = is_safe };
    return gate_ask(g, &q);
}

TEST(every_branch)
{
    struct check_run c = check_run_begin();
    char session[GATE_HEX], other[GATE_HEX];
    struct gate g = opened(&c, session);
    static const char HOST[] = "127.0.0.1:4321", OURS[] = "http://127.0.0.1:4321";
    memcpy(other, session, sizeof other);
    other[0] = other[0] == 'a' ? 'b' : 'a';
    CHECK("reads", ask(&g, HOST, "", "", session, true) == GATE_OPEN);
    CHECK("by its other name", ask(&g, "localhost:4321", "", "same-origin", session, true) == GATE_OPEN);
    CHECK("typed by hand", ask(&g, HOST, "", "none", session, true) == GATE_OPEN);
    CHECK("changes", ask(&g, HOST, OURS, "same-origin", session, false) == GATE_OPEN);
    CHECK("a name that was rebound", ask(&g, "evil.example:4321", "", "", session, true) == GATE_WRONG_HOST);
    CHECK("another port", ask(&g, "127.0.0.1:80", "", "", session, true) == GATE_WRONG_HOST);
    CHECK("no host", ask(&g, "", "", "", session, true) == GATE_WRONG_HOST);
    CHECK("begins like it", ask(&g, "127.0.0.1:43210", "", "", session, true) == GATE_WRONG_HOST);
    CHECK("another site's page", ask(&g, HOST, "http://evil.example", "", session, false) == GATE_CROSS_SITE);
    CHECK("no origin", ask(&g, HOST, "null", "", session, false) == GATE_CROSS_SITE);
    CHECK("another scheme", ask(&g, HOST, "https://127.0.0.1:4321", "", session, false) == GATE_CROSS_SITE);
    CHECK("the browser says so", ask(&g, HOST, OURS, "cross-site", session, false) == GATE_CROSS_SITE);
    CHECK("another port of this machine", ask(&g, HOST, OURS, "same-site", session, false) == GATE_CROSS_SITE);
    CHECK("nobody", ask(&g, HOST, "", "", "", true) == GATE_NO_SESSION);
    CHECK("somebody else", ask(&g, HOST, "", "", other, true) == GATE_NO_SESSION);
    CHECK("a part of it", (session[10] = '\0', ask(&g, HOST, "", "", session, true) == GATE_NO_SESSION));
    gate_end(&g);
    check_run_end(&c);
}

TEST(the_oldest_session_gives_way)
{
    struct check_run c = check_run_begin();
    char first[GATE_HEX], token[GATE_HEX], session[GATE_HEX];
    struct gate g = opened(&c, first);
    for (int i = 0; i < GATE_SESSIONS; i++) {
        CHECK("the first is there yet", ask(&g, "localhost:4321", "", "", first, true) == GATE_OPEN);
        CHECK("another", gate_new_token(&g, token) && gate_spend_token(&g, str_from(token), session));
        CHECK("is open", ask(&g, "localhost:4321", "", "", session, true) == GATE_OPEN);
    }
    CHECK("gone", ask(&g, "localhost:4321", "", "", first, true) == GATE_NO_SESSION);
    gate_end(&g);
    check_run_end(&c);
}

TEST(tokens_are_no_sessions_and_empty_is_none)
{
    struct check_run c = check_run_begin();
    char session[GATE_HEX], token[GATE_HEX];
    struct gate g = opened(&c, session);
    CHECK("a token", gate_new_token(&g, token));
    CHECK("not a session", ask(&g, "localhost:4321", "", "", token, true) == GATE_NO_SESSION);
    CHECK("empty", !gate_spend_token(&g, STR(""), session));
    CHECK("128 bits in hexadecimal", strlen(token) == 32 && strspn(token, "0123456789abcdef") == 32);
    gate_end(&g);
    check_run_end(&c);
}

/* RFC 6265, section 4.2.1: cookie-string = cookie-pair *( ";" SP cookie-pair ). */
TEST(a_cookie_is_found_among_others)
{
    CHECK_TEXT("alone", gate_cookie(STR("a=1"), "a"), STR("1"));
    CHECK_TEXT("last", gate_cookie(STR("b=2; a=1"), "a"), STR("1"));
    CHECK_TEXT("first", gate_cookie(STR("a=1; b=2"), "a"), STR("1"));
    CHECK_TEXT("another's name ends like it", gate_cookie(STR("xa=3; a=1"), "a"), STR("1"));
    CHECK_TEXT("another's begins like it", gate_cookie(STR("ab=3"), "a"), STR(""));
    CHECK_TEXT("none", gate_cookie(STR(""), "a"), STR(""));
    CHECK_TEXT("no value", gate_cookie(STR("a"), "a"), STR(""));
    CHECK_TEXT("an equals sign in it", gate_cookie(STR("a=1=2"), "a"), STR("1=2"));
}

PROP(cookies_of_any_bytes_end, 2000)
{
    char bytes[40];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = "a=; \tb\"\0,x"[random_below(r, 10)];
    const struct str value = gate_cookie((struct str){ bytes, sizeof bytes }, "a");
    CHECK("within the field", !value.n || (value.p >= bytes && value.p + value.n <= bytes + sizeof bytes));
}
