#include "web/password.h"

#include <string.h>
#include <sys/random.h>

void password_init(struct password *w)
{
    memset(w, 0, sizeof *w);
    pthread_mutex_init(&w->lock, NULL);
    w->all_left = PASSWORD_ALL_AT_ONCE;
}

void password_end(struct password *w)
{
    explicit_bzero(w->kept, sizeof w->kept);
    explicit_bzero(&w->work, sizeof w->work);
    pthread_mutex_destroy(&w->lock);
}

/* ---- setting it ---- */

static bool has_control(struct str text)
{
    for (size_t i = 0; i < text.n; i++)
        if ((unsigned char)text.p[i] < 32 || text.p[i] == 127)
            return true;
    return false;
}

/* The hash of a text with a setting (a hash is the setting of another); NULL: the library does not do it.  Lies in w->work. */
static const char *hash_of(struct password *w, struct str text, const char *setting)
{
    char phrase[PASSWORD_MOST + 1];
    memcpy(phrase, text.p, text.n);
    phrase[text.n] = '\0';
    const char *made = crypt_rn(phrase, setting, &w->work, sizeof w->work);
    explicit_bzero(phrase, sizeof phrase);
    return made && made[0] != '*' ? made : NULL;
}

enum rt_code password_set(struct password *w, struct str text, struct rt_problems *p)
{
    char setting[CRYPT_GENSALT_OUTPUT_SIZE];
    if (text.n < PASSWORD_LEAST || text.n > PASSWORD_MOST || has_control(text))
        return rt_fail(p, RT_USAGE, RT_NOWHERE,
                       "take a few words that nobody would guess, or leave the file out: then one is made",
                       "a password has %d to %d characters, on one line", PASSWORD_LEAST, PASSWORD_MOST);
    const char *made = crypt_gensalt_rn("$y$", 0, NULL, 0, setting, sizeof setting) ? hash_of(w, text, setting) : NULL;
    if (!made || strlen(made) >= sizeof w->kept)
        return rt_fail(p, RT_MISSING, RT_NOWHERE, "install the system's libcrypt with yescrypt",
                       "the system's library for passwords does not make a hash");
    memcpy(w->kept, made, strlen(made) + 1);
    explicit_bzero(&w->work, sizeof w->work);
    return RT_OK;
}

enum rt_code password_make(char out[PASSWORD_MADE], struct rt_problems *p)
{
    static const char LETTERS[] = "abcdefghjkmnpqrstuvwxyz23456789"; /* no i, l, o, 0, 1 */
    enum { KINDS = sizeof LETTERS - 1, FAIR = 256 / KINDS * KINDS };
    for (size_t i = 0; i < PASSWORD_MADE - 1; i++) {
        unsigned char byte = FAIR;
        if (i % 5 == 4) {
            out[i] = '-';
            continue;
        }
        while (byte >= FAIR) /* every letter as likely as another */
            if (getrandom(&byte, 1, 0) != 1)
                return rt_fail(p, RT_MISSING, RT_NOWHERE, "start it again when the system has settled",
                               "the system gives no random bytes, and without them there is no password");
        out[i] = LETTERS[byte % KINDS];
    }
    out[PASSWORD_MADE - 1] = '\0';
    return RT_OK;
}

/* ---- an attempt ---- */

static int64_t least(int64_t a, int64_t b) { return a < b ? a : b; }

/* What is known of an address; a new one takes the place of the one not heard of for longest. */
static struct password_peer *peer_of(struct password *w, struct str from, int64_t now_s)
{
    struct password_peer *oldest = &w->peers[0];
    if (from.n >= sizeof oldest->from)
        from.n = sizeof oldest->from - 1;
    for (int i = 0; i < PASSWORD_PEERS; i++) {
        struct password_peer *peer = &w->peers[i];
        if (peer->wrong && now_s - peer->last_s >= PASSWORD_FORGET_S)
            *peer = (struct password_peer){ 0 };
        if (peer->wrong && str_is(from, peer->from))
            return peer;
        if (!peer->wrong ? oldest->wrong : oldest->wrong && peer->last_s < oldest->last_s)
            oldest = peer;
    }
    *oldest = (struct password_peer){ 0 };
    memcpy(oldest->from, from.p, from.n);
    return oldest;
}

/* Attempts that all together have got back since; whoever looked at the clock earlier may come later. */
static void refill(struct password *w, int64_t now_s)
{
    if (now_s < w->all_at_s)
        return;
    const int64_t more = (now_s - w->all_at_s) / PASSWORD_ALL_EACH_S;
    w->all_at_s += more * PASSWORD_ALL_EACH_S;
    w->all_left = least(w->all_left + more, PASSWORD_ALL_AT_ONCE);
}

static int64_t wait_after(uint32_t wrong)
{
    const uint32_t doublings = wrong - PASSWORD_FREE;
    if (wrong < PASSWORD_FREE)
        return 0;
    return least((int64_t)1 << least(doublings, 20), PASSWORD_WAIT_MOST_S);
}

/* In a time that tells nothing of where they differ. */
static bool is_right(struct password *w, struct str text)
{
    const char *made = w->kept[0] && text.n && text.n <= PASSWORD_MOST && !memchr(text.p, '\0', text.n)
                           ? hash_of(w, text, w->kept)
                           : NULL;
    const size_t n = strlen(w->kept);
    const bool differs_in_length = !made || strlen(made) != n;
    unsigned char differs = differs_in_length;
    for (size_t i = 0; !differs_in_length && i < n; i++)
        differs |= (unsigned char)(made[i] ^ w->kept[i]);
    explicit_bzero(&w->work, sizeof w->work);
    return !differs;
}

enum password_answer password_try(struct password *w, struct str text, struct str from, int64_t now_s, int64_t *wait_s)
{
    enum password_answer answer = PASSWORD_WAIT;
    pthread_mutex_lock(&w->lock);
    struct password_peer *peer = peer_of(w, from, now_s);
    refill(w, now_s);
    if (now_s < peer->until_s) {
        *wait_s = peer->until_s - now_s;
    } else if (w->all_left <= 0) {
        *wait_s = w->all_at_s + PASSWORD_ALL_EACH_S - now_s;
    } else if (is_right(w, text)) {
        *peer = (struct password_peer){ 0 };
        *wait_s = 0;
        answer = PASSWORD_RIGHT;
    } else {
        w->all_left--;
        peer->wrong++;
        peer->last_s = now_s;
        *wait_s = wait_after(peer->wrong);
        peer->until_s = now_s + *wait_s;
        answer = PASSWORD_WRONG;
    }
    pthread_mutex_unlock(&w->lock);
    return answer;
}
