/* password.h - the password of a server that listens beyond this machine, and how guessing it is slowed.
 *
 * What is kept is a yescrypt hash, made and checked by the system's own password library (crypt(5) of libxcrypt), so that a copy of
 * the process's memory does not tell the password, and so that a guess costs as much as at the system's own sign-in.  Who guesses
 * wrong waits: from the third time on for 1, 2, 4 ... at most 300 seconds, by address (of IPv6 the first 64 bits, which one
 * household has at once), and all together get 20 attempts and one more every 3 seconds.  Safe for several threads: one attempt is looked at at
 * a time, so that many at once are no way round. */
#ifndef RT_WEB_PASSWORD_H
#define RT_WEB_PASSWORD_H

#include <crypt.h>
#include <pthread.h>

#include "base/problem.h"

enum {
    PASSWORD_LEAST =
        12, /* characters; NIST SP 800-63B asks for at least 8, 15 where nothing else guards: from memory */
    PASSWORD_MOST = 256,
    PASSWORD_FREE = 3, /* wrong ones of an address until it waits */
    PASSWORD_WAIT_MOST_S = 300,
    PASSWORD_FORGET_S = 3600, /* after its last wrong one an address is as new */
    PASSWORD_ALL_AT_ONCE = 20,
    PASSWORD_ALL_EACH_S = 3,
    PASSWORD_PEERS = 64, /* addresses minded; the one not heard of for longest gives way */
    PASSWORD_MADE = 25   /* five times four letters and what parts them, with its NUL: 99 bits */
};

struct password_peer {
    char from[48]; /* empty: none */
    uint32_t wrong;
    int64_t last_s, until_s; /* its last wrong attempt; it waits until then */
};

struct password {
    pthread_mutex_t lock;
    char kept[CRYPT_OUTPUT_SIZE]; /* empty: nobody gets in */
    struct crypt_data work;
    struct password_peer peers[PASSWORD_PEERS];
    int64_t all_left, all_at_s; /* attempts left to all together, as of that second */
};

enum password_answer { PASSWORD_RIGHT, PASSWORD_WRONG, PASSWORD_WAIT };

/* No password yet: every attempt is wrong. */
void password_init(struct password *w);
/* Wipes what is kept. */
void password_end(struct password *w);
/* Errors: RT_USAGE (shorter than PASSWORD_LEAST, longer than PASSWORD_MOST, or with a control character), RT_MISSING (the system's
 * library does not make the hash). */
RT_MUST_CHECK enum rt_code password_set(struct password *w, struct str text, struct rt_problems *p);
/* A new one of letters that are not taken for one another.  Errors: RT_MISSING (no random bytes). */
RT_MUST_CHECK enum rt_code password_make(char out[PASSWORD_MADE], struct rt_problems *p);

/* One attempt from an address, at a second of a clock that is never set.  *wait_s: until it may be tried again; the attempt was not
 * looked at if it had to wait. */
enum password_answer password_try(struct password *w, struct str text, struct str from, int64_t now_s, int64_t *wait_s);

#endif
