/* secret.h - passphrases of the house's SSIDs, in a file of their own beside the house file.
 *
 * houses/larch_end.house.yaml has houses/larch_end.secrets.yaml: mode 0600, never in a version store, never in the house file.
 * Nothing of it may come into a problem, JSON, a log or an output that did not ask for secrets. */
#ifndef RT_REACH_SECRET_H
#define RT_REACH_SECRET_H

#include "base/run.h"
#include "house/house.h"

/* Letters of one case that are not taken for one another or for a digit (no i, l, o), in groups of four: to be typed with a
 * television's remote control. */
#define SECRET_ALPHABET "abcdefghjkmnpqrstuvwxyz"
enum { SECRET_LETTERS = 24, SECRET_GROUP = 4, SECRET_BYTES = SECRET_LETTERS + SECRET_LETTERS / SECRET_GROUP };

/* Makes one from the kernel's random bytes (getrandom(2)), each letter with the same chance; NUL-terminated.  It is a passphrase as
 * IEEE Std 802.11-2020 Annex J.4.1 wants it (from memory): 8 to 63 printable ASCII characters.  False: no random bytes. */
bool secret_make(char out[SECRET_BYTES]);
/* Printable ASCII, 8 to 63 of it. */
bool secret_is_passphrase(struct str s);

struct secrets {
    const char *path;
    str_list passphrases; /* as house->ssids; empty: the SSID takes none (OWE, open) */
    uint32_t n_made;      /* new ones */
};

/* "NAME.secrets.yaml" beside "NAME.house.yaml".  NULL: the arena's ceiling. */
const char *secrets_path(struct arena *a, const char *house_path);

/* Reads the file and makes what is missing in it: the file, or passphrases of SSIDs that have none; all others stay as they are.
 * Errors: RT_CONFLICT (others than its owner may read or write it; it is no plain file), RT_SYNTAX, RT_SHAPE, RT_RANGE (not a
 * passphrase), RT_IO, RT_MISSING (no random bytes), RT_NOMEM.  Messages never quote the file. */
RT_MUST_CHECK enum rt_code secrets_open(const struct run *run, const struct house *h, struct secrets **out,
                                        struct rt_problems *p);

#endif
