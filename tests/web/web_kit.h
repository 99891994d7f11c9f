/* web_kit.h - the server's answers without a network: a folder of its own with the demo houses, and questions put to the table of
 * routes as the carrier would. */
#ifndef RT_WEB_KIT_H
#define RT_WEB_KIT_H

#include "check.h"
#include "web/answer.h"

struct web_kit {
    struct check_run c;
    char folder[64]; /* below /tmp; removed by web_kit_end() */
    struct server server;
    struct arena *asked; /* what questions use: as in the carrier, none of the server's own */
};

/* The named demo houses (NULL ends the list) and their parts files are copied into the folder. */
void web_kit_begin(struct web_kit *k, const char *const *houses);
void web_kit_end(struct web_kit *k);

/* One question: "GET", "/api/houses/quay_flat/signal?floor=flat&at=1,2".  The reply lives as long as the kit. */
struct asked_web {
    const char *method, *target, *body, *if_match, *if_none_match;
    struct str bytes; /* in place of body: may hold NULs */
};
struct reply web_ask(struct web_kit *k, struct asked_web a);
struct reply web_get(struct web_kit *k, const char *target);
/* The same in an arena of the caller's: for several threads at once. */
struct reply web_ask_in(struct web_kit *k, struct arena *arena, struct asked_web a);

/* A file of the folder as it is now. */
struct str web_file(struct web_kit *k, const char *name);
void web_write(struct web_kit *k, const char *name, struct str bytes);

#endif
