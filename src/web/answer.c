#include "web/answer.h"

#include <string.h>

#include "web/sign_in.h"

static void tell(struct request *q, struct reply *r, unsigned status, const struct rt_problems *p)
{
    struct json_body b;
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    problems_write_json(j, "problems", p);
    json_end_object(j);
    json_end(j);
    const char *const allow = r->allow, *const retry_after = r->retry_after;
    *r = (struct reply){ .status = status,
                         .allow = allow,
                         .retry_after = retry_after,
                         .body = b.text.failed ? STR("{\"problems\": []}\n") : buf_done(&b.text) };
}

void answer_problem(struct request *q, struct reply *r, unsigned status, const char *says, const char *hint)
{
    struct rt_problems p;
    rt_problems_init(&p, q->arena);
    (void)rt_fail(&p, RT_USAGE, RT_NOWHERE, hint, "%s", says);
    tell(q, r, status, &p);
}

void answer_too_large(struct request *q, struct reply *r)
{
    answer_problem(q, r, 413, "that is more than is read here", "send less");
}

/* ---- before the body ---- */

static bool read_method(struct str name, enum http_method *out)
{
    static const struct {
        const char *name;
        enum http_method method;
    } METHODS[] = {
        { "GET", HTTP_GET }, { "HEAD", HTTP_GET }, { "POST", HTTP_POST }, { "PUT", HTTP_PUT }, { "DELETE", HTTP_DELETE }
    };
    for (size_t i = 0; i < RT_COUNT(METHODS); i++)
        if (str_is(name, METHODS[i].name)) {
            *out = METHODS[i].method;
            return true;
        }
    return false;
}

static const char *allow_of(struct arena *a, unsigned methods)
{
    const char *made =
        arena_printf(a, "%s%s%s%sOPTIONS", methods & HTTP_GET ? "GET, HEAD, " : "", methods & HTTP_POST ? "POST, " : "",
                     methods & HTTP_PUT ? "PUT, " : "", methods & HTTP_DELETE ? "DELETE, " : "");
    return made ? made : "OPTIONS";
}

static bool is_api(struct str path) { return path.n >= 5 && memcmp(path.p, "/api/", 5) == 0; }

/* The link that was printed: spent, and a session is begun. */
static void let_in(struct request *q, struct str token, struct reply *r)
{
    char session[GATE_HEX];
    if (!gate_spend_token(&q->server->gate, token, session)) {
        answer_problem(q, r, 401, "this link was used already", "ask for a new one where the server was started");
        return;
    }
    *r = (struct reply){ .status = 303, .location = "/", .cookie = session_cookie(q->arena, session) };
    if (!r->cookie)
        answer_problem(q, r, 500, "there is no memory left", NULL);
}

/* Without a session, by the door beyond this machine: the form alone, and no token. */
static void show_sign_in(struct request *q, struct reply *r)
{
    if (q->method == HTTP_GET && str_is(q->path, "/"))
        sign_in_page(q, r, 200, NULL);
    else
        answer_problem(q, r, 401, "nobody signed in with this browser", "open the server's first page, and sign in");
}

static bool is_let_through(struct request *q, const struct asked_for *a, struct reply *r)
{
    switch (gate_ask(&q->server->gate, &a->gate)) {
    case GATE_OPEN:
        return true;
    case GATE_WRONG_HOST:
        answer_problem(q, r, 421, "this server goes by another name", "use the link that it printed");
        return false;
    case GATE_CROSS_SITE:
        answer_problem(q, r, 403, "a page of another site asked for this", NULL);
        return false;
    case GATE_NO_SESSION:
        if (q->is_beyond)
            show_sign_in(q, r);
        else if (a->token.n && q->method == HTTP_GET && str_is(q->path, "/"))
            let_in(q, a->token, r);
        else
            answer_problem(q, r, 401, "nobody let this browser in",
                           "use the link that the server printed when it was started");
        return false;
    }
    return false;
}

static void give_page(struct request *q, struct reply *r)
{
    const struct page_file *f = page_find(&q->server->page, q->path);
    if (!f) {
        answer_problem(q, r, 404, "there is nothing here", NULL);
        return;
    }
    *r = (struct reply){ .body = f->bytes, .type = f->type, .etag = f->etag, .is_lasting = f->is_lasting };
    if (q->if_none_match.n && http_list_has(q->if_none_match, f->etag)) {
        r->status = 304;
        r->body = (struct str){ 0 };
    }
}

static bool is_longer(struct str digits, size_t most)
{
    size_t n = 0;
    for (size_t i = 0; i < digits.n; i++) {
        n = n * 10 + (size_t)(digits.p[i] - '0');
        if (n > most)
            return true;
    }
    return false;
}

/* The form's own, which need no session; everything else of the gate holds for them too. */
static bool is_sign_in(struct request *q, const struct asked_for *a, bool is_known, const struct route **route,
                       size_t *body_most, struct reply *r)
{
    const bool is_style = q->method == HTTP_GET && str_is(q->path, SIGN_IN_STYLE);
    const bool is_page = q->method == HTTP_GET && str_is(q->path, SIGN_IN_PATH); /* where a wrong password led to */
    const bool is_form = q->method == HTTP_POST && str_is(q->path, SIGN_IN_PATH);
    if (!q->is_beyond || !is_known || !(is_style || is_page || is_form))
        return false;
    const enum gate_answer said = gate_ask(&q->server->gate, &a->gate);
    if (said != GATE_OPEN && said != GATE_NO_SESSION)
        return false; /* told by who asks next */
    if (is_style)
        sign_in_style(r);
    else if (is_page && said == GATE_OPEN)
        *r = (struct reply){ .status = 303, .location = "/" };
    else if (is_page)
        sign_in_page(q, r, 200, NULL);
    else if (is_longer(a->content_length, SIGN_IN_ROUTE.body_most))
        answer_too_large(q, r);
    else {
        *route = &SIGN_IN_ROUTE;
        *body_most = SIGN_IN_ROUTE.body_most;
    }
    return true;
}

bool answer_begin(struct request *q, const struct asked_for *a, const struct route **route, size_t *body_most,
                  struct reply *r)
{
    unsigned allowed = HTTP_GET;
    const bool is_options = str_is(a->method, "OPTIONS"), is_known = read_method(a->method, &q->method);
    *route = NULL;
    if (!is_known)
        q->method = HTTP_GET;
    if (is_sign_in(q, a, is_known, route, body_most, r))
        return !*route;
    if (!is_let_through(q, a, r))
        return true;
    if (!is_known && !is_options) {
        answer_problem(q, r, 501, "this method is not known here", NULL);
        return true;
    }
    if (is_api(q->path) || str_is(q->path, "/api"))
        *route = route_find(q, &allowed);
    else if (!page_find(&q->server->page, q->path))
        allowed = 0;
    r->allow = allow_of(q->arena, allowed);
    if (!allowed)
        answer_problem(q, r, 404, "there is nothing here", NULL);
    else if (is_options)
        *r = (struct reply){ .status = 204, .allow = r->allow };
    else if (is_api(q->path) ? !*route : q->method != HTTP_GET)
        answer_problem(q, r, 405, "this cannot be done with that method", NULL);
    else if (!*route)
        give_page(q, r);
    else if (is_longer(a->content_length, (*route)->body_most))
        answer_too_large(q, r);
    else {
        r->allow = NULL;
        *body_most = (*route)->body_most;
        return false;
    }
    if (r->status != 405 && r->status != 204)
        r->allow = NULL;
    return true;
}

/* ---- with the body ---- */

void answer_finish(struct request *q, const struct route *route, struct reply *r)
{
    struct rt_problems p;
    rt_problems_init(&p, q->arena);
    *r = (struct reply){ 0 };
    const enum rt_code code = route->answer(q, r, &p);
    if (code) {
        tell(q, r, r->status ? r->status : (unsigned)rt_code_http_status(code), &p);
        return;
    }
    if (q->method == HTTP_GET && r->etag.n && q->if_none_match.n && http_list_has(q->if_none_match, r->etag)) {
        r->status = 304;
        r->body = (struct str){ 0 };
    }
}
