/* cabling.h - how far a category of cable carries a speed, and how cords shorten what is fixed.
 *
 * Lengths are of the whole channel: the fixed cable and the cords at both ends.  Sources stand beside the rows in cabling.c;
 * where sources disagree the shorter length is taken. */
#ifndef RT_DATA_CABLING_H
#define RT_DATA_CABLING_H

#include <stdbool.h>
#include <stdint.h>

#include "base/str.h"

enum cable_family { CABLE_COPPER, CABLE_MULTIMODE, CABLE_SINGLE_MODE, CABLE_TWINAX };

struct cable_category {
    const char *name; /* word of the parts file: 5e, 6, om3 */
    const char *says; /* "category 5e" */
    enum cable_family family;
    int rank;         /* within the family: a higher one carries all that a lower one does */
    double outer_mm;  /* of a cable whose part does not say it */
    bool screened;    /* always */
    double db_per_km; /* light it loses; copper and twinax: 0 */
};

struct cable_reach {
    const char *category;
    double speed_mbps;
    double channel_max_m;
    double loss_max_db;      /* that light may lose on the whole channel; copper and twinax: 0 */
    const char *application; /* of IEEE 802.3 */
    const char *source;
};

/* The tables and their lengths. */
const struct cable_category *cable_categories(uint32_t *n);
const struct cable_reach *cable_reaches(uint32_t *n);
/* By its word, or NULL. */
const struct cable_category *cable_category_find(struct str name);

/* Copper?  One that is not known counts as copper. */
bool cable_is_copper(struct str name);
/* May a cable or an outlet of one category stand where another is needed?  Copper of a higher one may; fibre must be the same. */
bool cable_category_serves(struct str name, struct str needed);

/* Longest channel that carries at least speed_mbps (the slowest application that does); 0: none does. */
double cable_channel_max_m(const struct cable_category *c, double speed_mbps);

/* What a mated pair of connectors, and a splice, may lose (ANSI/TIA-568.3-D, ISO/IEC 11801-1, from memory). */
#define FIBRE_CONNECTION_DB 0.75
#define FIBRE_SPLICE_DB 0.3
/* Most that light may lose on a channel that carries at least speed_mbps: of the row that cable_channel_max_m() takes; 0: none. */
double cable_loss_max_db(const struct cable_category *c, double speed_mbps);

/* The speeds of IEEE 802.3, rising, in Mb/s; the largest not above `at_most_mbps` that a channel of this length carries; 0:
 * none. */
double cable_speed_mbps(const struct cable_category *c, double fixed_m, double cords_m, double at_most_mbps);

/* Longest channel for copper with this much stranded cord in it, for a channel that may be channel_max_m long with 10 m of
 * cord.  Cords lose a fifth more than solid cable: C = (102 - H) / 1.2 with H at most 90 (TIA-568-B open offices, formula
 * read), in proportion for shorter channels (our own choice).  Fibre and twinax: channel_max_m. */
double cable_length_max_m(const struct cable_category *c, double channel_max_m, double cords_m);

/* Air under a roof or in the sun (common practice, no source). */
#define CABLE_UNDER_ROOF_DEGC 45.0

/* By how much more fixed copper loses where it is warm, so that its length counts for more: 0.4 % per K over 20 degC, 0.6 % over
 * 40, up to 60; screened 0.2 % (TIA-568-C.2 clause 6.4.7, read as quoted). */
double cable_warm_ratio(bool screened, double degc);

#endif
