/* records.h - what was done and read on the building site, kept in the store beside the revisions: ticks, notes, readings.
 *
 * They belong to a house by its name and to a box or a place, not to a revision: a change of the house takes nothing away.  Safe for
 * several threads: the database takes one statement at a time, and each call is one statement. */
#ifndef RT_WEB_RECORDS_H
#define RT_WEB_RECORDS_H

#include "web/store.h"

/* ---- boxes (book/checklist.h) ---- */

struct done {
    struct str box, name, note;
    bool is_ticked;
    double reading; /* NaN: none */
    int64_t at_s;   /* UNIX time of the last change */
};
typedef LIST(struct done) done_list;

/* What of a box changes; the rest stays, so that two who write at once lose nothing of one another's. */
struct done_change {
    struct str box, name;
    bool sets_tick, sets_note, sets_reading;
    bool is_ticked;
    struct str note;
    double reading; /* NaN: it is taken back */
};
RT_MUST_CHECK enum rt_code records_mark(struct store *s, struct str house, const struct done_change *change,
                                        int64_t at_s, struct rt_problems *p);
/* In the order of the boxes' ids. */
RT_MUST_CHECK enum rt_code records_done(struct store *s, struct arena *a, struct str house, done_list *out,
                                        struct rt_problems *p);
/* Grows with every change of a box. */
RT_MUST_CHECK enum rt_code records_done_state(struct store *s, struct str house, int64_t *out, struct rt_problems *p);

/* ---- levels read at a spot ---- */

struct reading {
    int64_t number; /* never given twice in a folder */
    struct str floor, access_point, band, note;
    double x_m, y_m, z_m; /* above the floor */
    double level_dbm;
    int64_t at_s;
};
typedef LIST(struct reading) reading_list;

RT_MUST_CHECK enum rt_code records_add(struct store *s, struct str house, const struct reading *reading,
                                       int64_t *number, struct rt_problems *p);
/* Errors: RT_UNKNOWN_REF (the house has none of that number). */
RT_MUST_CHECK enum rt_code records_remove(struct store *s, struct str house, int64_t number, struct rt_problems *p);
/* The oldest first. */
RT_MUST_CHECK enum rt_code records_readings(struct store *s, struct arena *a, struct str house, reading_list *out,
                                            struct rt_problems *p);

/* HOUSE.readings.csv (RFC 4180), as docs/readings.md describes it. */
void readings_write_csv(struct buf *out, const reading_list *list);

#endif
