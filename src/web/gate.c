#include "web/gate.h"

#include <string.h>
#include <strings.h>
#include <sys/random.h>

static bool make_hex(char out[GATE_HEX])
{
    static const char DIGITS[] = "0123456789abcdef";
    unsigned char bytes[GATE_BYTES];
    if (getrandom(bytes, sizeof bytes, 0) != (ssize_t)sizeof bytes)
        return false;
    for (size_t i = 0; i < sizeof bytes; i++) {
        out[2 * i] = DIGITS[bytes[i] >> 4];
        out[2 * i + 1] = DIGITS[bytes[i] & 15];
    }
    out[GATE_HEX - 1] = '\0';
    return true;
}

/* In a time that tells nothing of where they differ. */
static bool is_same(const char *kept, struct str given)
{
    unsigned char differs = 0;
    if (!kept[0] || given.n != GATE_HEX - 1)
        return false;
    for (size_t i = 0; i < given.n; i++)
        differs |= (unsigned char)(kept[i] ^ given.p[i]);
    return differs == 0;
}

enum rt_code gate_init(struct gate *g, struct rt_problems *p)
{
    unsigned char probe;
    *g = (struct gate){ 0 };
    pthread_mutex_init(&g->lock, NULL);
    if (getrandom(&probe, 1, 0) != 1)
        return rt_fail(p, RT_MISSING, RT_NOWHERE, "start it again when the system has settled",
                       "the system gives no random bytes, and without them nobody can be kept out");
    return RT_OK;
}

void gate_end(struct gate *g) { pthread_mutex_destroy(&g->lock); }

static void allow(struct gate *g, const char *host, uint16_t port, bool is_beyond)
{
    pthread_mutex_lock(&g->lock); /* the port may be listened to already */
    if (g->n_hosts < GATE_HOSTS) {
        struct gate_host *h = &g->hosts[g->n_hosts++];
        snprintf(h->name, sizeof h->name, "%s:%u", host, (unsigned)port);
        h->is_beyond = is_beyond;
    }
    pthread_mutex_unlock(&g->lock);
}

void gate_allow_host(struct gate *g, const char *host, uint16_t port) { allow(g, host, port, false); }

void gate_allow_beyond(struct gate *g, const char *host, uint16_t port) { allow(g, host, port, true); }

bool gate_new_token(struct gate *g, char out[GATE_HEX])
{
    pthread_mutex_lock(&g->lock);
    const bool made = make_hex(out);
    if (made)
        memcpy(g->tokens[g->next_token++ % GATE_TOKENS], out, GATE_HEX);
    pthread_mutex_unlock(&g->lock);
    return made;
}

static bool begin_session(struct gate *g, char out[GATE_HEX])
{
    const bool made = make_hex(out);
    if (made)
        memcpy(g->sessions[g->next_session++ % GATE_SESSIONS], out, GATE_HEX);
    return made;
}

bool gate_new_session(struct gate *g, char out[GATE_HEX])
{
    pthread_mutex_lock(&g->lock);
    const bool made = begin_session(g, out);
    pthread_mutex_unlock(&g->lock);
    return made;
}

bool gate_spend_token(struct gate *g, struct str token, char out[GATE_HEX])
{
    bool is_spent = false;
    pthread_mutex_lock(&g->lock);
    for (int i = 0; i < GATE_TOKENS && !is_spent; i++)
        if (is_same(g->tokens[i], token) && begin_session(g, out)) {
            g->tokens[i][0] = '\0';
            is_spent = true;
        }
    pthread_mutex_unlock(&g->lock);
    return is_spent;
}

/* Hosts are the same whatever the case (RFC 9110, section 4.2.3). */
static bool is_host(const struct gate *g, struct str host, bool is_beyond)
{
    for (uint32_t i = 0; i < g->n_hosts; i++) {
        const struct gate_host *h = &g->hosts[i];
        if (h->is_beyond == is_beyond && host.n == strlen(h->name) && strncasecmp(host.p, h->name, host.n) == 0)
            return true;
    }
    return false;
}

/* "http://" and one of the hosts. */
static bool is_own_origin(const struct gate *g, struct str origin, bool is_beyond)
{
    static const struct str SCHEME = { "http://", 7 };
    return origin.n > SCHEME.n && memcmp(origin.p, SCHEME.p, SCHEME.n) == 0 &&
           is_host(g, (struct str){ origin.p + SCHEME.n, origin.n - SCHEME.n }, is_beyond);
}

/* A link to us on another site's page may open the front page, which then asks again from its own; nothing else. */
static bool is_cross_site(const struct gate *g, const struct gate_request *q)
{
    if (q->origin.n && !is_own_origin(g, q->origin, q->is_beyond))
        return true;
    if (q->site.n && !str_is(q->site, "same-origin") && !str_is(q->site, "none"))
        return true;
    return !q->is_safe && !q->origin.n;
}

static enum gate_answer ask(const struct gate *g, const struct gate_request *q)
{
    bool is_in = false;
    if (!is_host(g, q->host, q->is_beyond))
        return GATE_WRONG_HOST;
    if (is_cross_site(g, q))
        return GATE_CROSS_SITE;
    for (int i = 0; i < GATE_SESSIONS; i++)
        is_in |= is_same(g->sessions[i], q->session);
    return is_in ? GATE_OPEN : GATE_NO_SESSION;
}

enum gate_answer gate_ask(struct gate *g, const struct gate_request *q)
{
    pthread_mutex_lock(&g->lock);
    const enum gate_answer said = ask(g, q);
    pthread_mutex_unlock(&g->lock);
    return said;
}

struct str gate_cookie(struct str field, const char *name)
{
    const size_t n = strlen(name);
    for (size_t i = 0; i < field.n;) {
        while (i < field.n && (field.p[i] == ' ' || field.p[i] == ';'))
            i++;
        size_t end = i;
        while (end < field.n && field.p[end] != ';')
            end++;
        if (end - i > n && memcmp(field.p + i, name, n) == 0 && field.p[i + n] == '=')
            return (struct str){ field.p + i + n + 1, end - i - n - 1 };
        i = end;
    }
    return (struct str){ 0 };
}
