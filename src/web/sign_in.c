#include "web/sign_in.h"

#include <string.h>

#include "web/server.h"

static const char STYLE[] =
    ":root { color-scheme: light dark; --ink: #1d1f21; --paper: #f7f5ef; --quiet: #63625d; --wrong: #a33a22; }\n"
    "@media (prefers-color-scheme: dark) { :root { --ink: #e6e8ea; --paper: #1c2126; --quiet: #a4abb2; --wrong: "
    "#f09a80; } }\n"
    "body { margin: 0; background: var(--paper); color: var(--ink); font: 1rem/1.5 system-ui, sans-serif; }\n"
    "main { max-width: 22rem; margin: 12vh auto 0; padding: 1.5rem; }\n"
    "h1 { font-weight: 300; font-size: 2rem; margin: 0 0 1rem; }\n"
    "p { color: var(--quiet); }\n"
    ".wrong { color: var(--wrong); font-weight: 600; }\n"
    "label { display: block; margin-bottom: 0.25rem; }\n"
    "input, button { box-sizing: border-box; width: 100%; min-height: 2.75rem; font: inherit; color: inherit; "
    "background: transparent; border: 1px solid var(--quiet); padding: 0 0.75rem; }\n"
    "button { margin-top: 0.75rem; font-weight: 600; border-color: var(--ink); cursor: pointer; }\n";

void sign_in_style(struct reply *r)
{
    *r = (struct reply){ .body = { STYLE, sizeof STYLE - 1 }, .type = "text/css; charset=utf-8", .is_sign_in = true };
}

void sign_in_page(struct request *q, struct reply *r, unsigned status, const char *says)
{
    struct buf b = { .arena = q->arena };
    buf_text(&b, "<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n"
                 "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                 "<title>Rooftree: sign in</title>\n<link rel=\"stylesheet\" href=\"" SIGN_IN_STYLE "\">\n"
                 "<main>\n<h1>Rooftree</h1>\n");
    if (says)
        buf_printf(&b, "<p class=\"wrong\" role=\"alert\">%s</p>\n", says);
    buf_text(&b,
             "<form method=\"post\" action=\"" SIGN_IN_PATH "\">\n"
             "<label for=\"password\">Password</label>\n"
             "<input id=\"password\" name=\"password\" type=\"password\" autocomplete=\"current-password\" required "
             "autofocus>\n<button>Sign in</button>\n</form>\n"
             "<p>It was chosen or printed where the server was started. This connection is not encrypted: sign in from "
             "your own house's network alone.</p>\n</main>\n</html>\n");
    *r = (struct reply){ .status = status, .type = "text/html; charset=utf-8", .is_sign_in = true };
    if (b.failed)
        *r = (struct reply){ .status = 500, .type = "text/plain; charset=utf-8", .body = STR("out of memory\n") };
    else
        r->body = buf_done(&b);
}

const char *session_cookie(struct arena *a, const char *session)
{
    return arena_printf(a, GATE_COOKIE "=%s; HttpOnly; SameSite=Strict; Path=/", session);
}

/* ---- what the form sends ---- */

static int hex_of(char c)
{
    return c >= '0' && c <= '9'   ? c - '0'
           : c >= 'a' && c <= 'f' ? c - 'a' + 10
           : c >= 'A' && c <= 'F' ? c - 'A' + 10
                                  : -1;
}

/* The value of `password` among NAME=VALUE pairs parted by '&', with '+' for a space and %XX.  Empty: it is not there. */
static struct str password_in(struct arena *a, struct str body)
{
    static const struct str KEY = { "password=", 9 };
    for (size_t i = 0; i < body.n;) {
        size_t end = i;
        while (end < body.n && body.p[end] != '&')
            end++;
        if (end - i < KEY.n || memcmp(body.p + i, KEY.p, KEY.n) != 0) {
            i = end + 1;
            continue;
        }
        struct buf out = { .arena = a };
        for (size_t k = i + KEY.n; k < end; k++) {
            char c = body.p[k] == '+' ? ' ' : body.p[k];
            if (c == '%' && k + 2 < end && hex_of(body.p[k + 1]) >= 0 && hex_of(body.p[k + 2]) >= 0) {
                c = (char)(hex_of(body.p[k + 1]) * 16 + hex_of(body.p[k + 2]));
                k += 2;
            }
            buf_add(&out, &c, 1);
        }
        return out.failed ? (struct str){ 0 } : buf_done(&out);
    }
    return (struct str){ 0 };
}

static enum rt_code let_in(struct request *q, struct reply *r, struct rt_problems *p)
{
    char session[GATE_HEX];
    if (!gate_new_session(&q->server->gate, session))
        return rt_fail(p, RT_MISSING, RT_NOWHERE, NULL, "the system gives no random bytes");
    *r = (struct reply){ .status = 303, .location = "/", .cookie = session_cookie(q->arena, session) };
    return r->cookie ? RT_OK : rt_fail_memory(p);
}

static enum rt_code sign_in(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct timespec now;
    int64_t wait_s = 0;
    clock_gettime(CLOCK_MONOTONIC, &now);
    const struct str given = password_in(q->arena, q->body);
    const enum password_answer answer = password_try(q->server->password, given, q->from, now.tv_sec, &wait_s);
    if (answer == PASSWORD_RIGHT)
        return let_in(q, r, p);
    sign_in_page(q, r, answer == PASSWORD_WAIT ? 429 : 403,
                 answer == PASSWORD_WAIT ? "Too many wrong passwords. Wait a while, then try again."
                                         : "That is not the password.");
    if (wait_s > 0)
        r->retry_after = arena_printf(q->arena, "%lld", (long long)wait_s);
    return RT_OK;
}

const struct route SIGN_IN_ROUTE = {
    HTTP_POST, SIGN_IN_PATH, sign_in, 4096, "The password, beyond this machine.", "`password=...`", "303"
};
