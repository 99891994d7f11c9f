/* sign_in.h - the page where the password is given, for browsers beyond this machine.
 *
 * A form and no script: it works before anything of the program's page is handed out.  Three things are open to everybody who may
 * ask at all (gate.h): GET / without a session, GET /sign-in.css, POST /sign-in. */
#ifndef RT_WEB_SIGN_IN_H
#define RT_WEB_SIGN_IN_H

#include "web/route.h"

#define SIGN_IN_PATH "/sign-in"
#define SIGN_IN_STYLE "/sign-in.css"

/* The form, which says `says` above it if that is no NULL. */
void sign_in_page(struct request *q, struct reply *r, unsigned status, const char *says);
void sign_in_style(struct reply *r);
/* POST of the form (application/x-www-form-urlencoded, WHATWG URL): a session and the way to the page, or the form again. */
extern const struct route SIGN_IN_ROUTE;
/* Set-Cookie of a session; NULL: the arena's ceiling. */
const char *session_cookie(struct arena *a, const char *session);

#endif
