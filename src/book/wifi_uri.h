/* wifi_uri.h - what a phone's camera reads off a card to join a Wi-Fi network.
 *
 * Source: Wi-Fi Alliance, WPA3 Specification, version 3.0 (2020) and later, clause 7.1 "URI format", as quoted by others (the rule
 * WIFI-qr and its notes; the document itself was not at hand):
 *   WIFI-qr = "WIFI:" [type ";"] [trdisable ";"] ssid ";" [hidden ";"] [id ";"] [password ";"] [public-key ";"] ";"
 * type is "T:WPA" for every network with a passphrase, WPA3 included, and left out for open and OWE ones; "R:" is the Transition Disable
 * value; "H:true" is for names that are not broadcast, which this program never makes.  Values are printable ASCII without the semicolon,
 * the rest percent-encoded (RFC 3986, 2.1).  Older readers know backslashes in place of percent signs: a name or passphrase of
 * letters, digits, blanks and - . : , reads the same either way, and only there do all readers agree. */
#ifndef RT_BOOK_WIFI_URI_H
#define RT_BOOK_WIFI_URI_H

#include "house/house.h"

/* In the arena; p NULL: its ceiling.  passphrase is left out where the security takes none. */
struct str wifi_uri(struct arena *a, struct str name, enum security security, struct str passphrase);
/* Does something in it have to be percent-encoded? */
bool wifi_uri_encodes(struct str value);

#endif
