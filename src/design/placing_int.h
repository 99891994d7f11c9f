/* placing_int.h - shared by the sources of placing: exact sums, cells as sets, the program. */
#ifndef RT_DESIGN_PLACING_INT_H
#define RT_DESIGN_PLACING_INT_H

#include "design/placing.h"
#include "wire/integer_program.h"

/* ---- placing_check.c ---- */

int64_t place_mm(double length_m);
int64_t place_mw(double power_w);
/* Milliwatts of a switch that may be used at this hub. */
int64_t place_budget_mw(const struct place_hub *hub, const struct place_switch *s);
/* The speed that is asked of a port: as fast as wanted, or as the fastest that feeds the class. */
double place_speed(const struct placing *q, int poe_class, double speed_mbps);
/* What a thing asks of its port in this answer. */
struct place_asks {
    int poe_class;
    double speed_mbps;
    int64_t power_mw;
};
static inline bool place_asks_same(struct place_asks a, struct place_asks b)
{
    return a.poe_class == b.poe_class && a.speed_mbps >= b.speed_mbps && a.speed_mbps <= b.speed_mbps &&
           a.power_mw == b.power_mw;
}
struct place_asks place_asks_of(const struct placing *q, const struct place_thing *t, const struct place_offer *offer);
bool place_is_box(const struct place_offer *o);
/* Ports that a switch takes for hanging on another: of its own, and there. */
static inline uint32_t place_joints(const struct place_switch *s) { return 1 + (s->n_up == 0); }
uint32_t place_n_boxes(const struct placing *q, const struct placing_answer *a);
int64_t place_sent_mw(const struct placing *q, const struct placing_answer *a);
/* Of a hub that is used: ports, watts, what is to be left free. */
bool place_ports_hold(const struct placing *q, const struct placing_answer *a, uint32_t hub);
/* All but the needs and the budget. */
bool place_wires_hold(const struct placing *q, const struct placing_answer *a);
bool place_is_given_up(const bool *given_up, uint32_t promise);
int64_t place_at_most(const struct placing *q, const bool *given_up);
/* The part of a cabling that is least for so many millimetres; its price in *price. */
uint32_t place_best_part(const struct place_cabling *c, int64_t length_mm, int64_t *price);
/* An answer with nothing chosen; false at the ceiling. */
bool place_blank(struct arena *a, const struct placing *q, struct placing_answer *out);
bool place_copy(struct arena *a, const struct placing *q, const struct placing_answer *from,
                struct placing_answer *out);

/* ---- placing_image.c: cells that the same offers serve, once for all needs ---- */

/* Sets of offers as bits. */
struct image_clause {
    uint64_t *offers; /* [n_words] */
    uint32_t at_least;
};

struct image_cell {
    uint32_t first, n; /* of clauses; n >= 1 */
    uint32_t next;     /* with the same hash */
};

struct image_share {
    uint32_t cell, weight;
};

struct image_need {
    uint32_t need;   /* of placing.needs */
    uint32_t always; /* weight of cells that ask nothing */
    uint32_t total;  /* of the shares */
    LIST(struct image_share) shares;
};

enum { IMAGE_BUCKETS = 4096 };

struct image {
    const struct placing *q;
    struct arena *a;
    uint32_t n_words;
    uint64_t **sites; /* [n_sites]: its offers */
    VEC(struct image_clause) clauses;
    VEC(struct image_cell) cells;
    struct image_need *needs; /* [needs.n] */
    uint32_t *buckets;
    uint32_t *lost; /* [offers.n]: scratch of image_holds() */
    bool failed;
};

/* Lives in the arena; false at its ceiling. */
bool image_make(struct arena *a, const struct placing *q, struct image *out);
/* The cell as it is when a site has failed; NO_REF: it can no longer be served.  Adds to im->cells: look at im->failed. */
uint32_t image_without(struct image *im, uint32_t cell, uint32_t site);
/* chosen: offers as bits, at most one of each site. */
bool image_serves(const struct image *im, uint32_t cell, const uint64_t *chosen);
uint32_t image_served(const struct image *im, uint32_t need, const uint64_t *chosen);
/* Has the need what is wanted, and, where it bears a loss, also with each chosen site lost? */
bool image_holds(const struct image *im, uint32_t need, const uint64_t *chosen);
static inline bool bits_has(const uint64_t *b, uint32_t i) { return b[i / 64] >> (i % 64) & 1; }
static inline void bits_set(uint64_t *b, uint32_t i) { b[i / 64] |= UINT64_C(1) << (i % 64); }
static inline void bits_clear(uint64_t *b, uint32_t i) { b[i / 64] &= ~(UINT64_C(1) << (i % 64)); }
/* How many offers both sets have; up to `most`, if no more matter.  A choice has few, so going from one to the next is quickest. */
static inline uint32_t bits_common_to(const uint64_t *a, const uint64_t *b, uint32_t n_words, uint32_t most)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < n_words && n < most; i++)
        for (uint64_t both = a[i] & b[i]; both; both &= both - 1)
            n++;
    return n < most ? n : most;
}
static inline uint32_t bits_common(const uint64_t *a, const uint64_t *b, uint32_t n_words)
{
    return bits_common_to(a, b, n_words, UINT32_MAX);
}
static inline bool bits_meet(const uint64_t *a, const uint64_t *b, uint32_t n_words)
{
    return bits_common_to(a, b, n_words, 1);
}

/* ---- placing_rank.c ---- */

/* [offers.n], in the arena; what keeps the need weighs 1 at least.  NULL: the arena's ceiling. */
double *place_rank(struct arena *a, const struct image *im, uint32_t need);

/* ---- placing_wiring.c ---- */

/* Links, switches and cablings for the offers of an answer, cheap but not proven to be the cheapest, beginning from the links that
 * are set; false: none found.  Thorough: all things are moved about, not those alone that have no link yet.  Sets price, n_boxes. */
bool place_wire(struct arena *scratch, const struct placing *q, struct placing_answer *a, bool is_thorough);
/* The cheapest cable of a thing for itself, and what it costs; NO_REF: it has none. */
double place_cable_estimate(const struct placing *q, const struct place_thing *t, uint32_t *link);

/* ---- placing_greedy.c ---- */

/* The quick search; takes the place of `best` if it is better.  hint: [offers.n], how far a relaxed choice has each; NULL.
 * RT_NOMEM at the ceiling. */
RT_MUST_CHECK enum rt_code place_search(const struct run *run, const struct placing *q, const bool *given_up,
                                        const double *hint, struct placing_answer *best);

/* ---- placing_program.c ---- */

/* A link as it is used by offers that ask the same of the port. */
struct place_way {
    uint32_t link, column;
    struct place_asks asks;
};

/* A need as it stands when a site has failed (NO_REF: none has).  Cells that have no column yet count as served: they get one when a
 * choice does not serve them, so that the many that any choice serves cost nothing. */
struct place_asked {
    uint32_t need, site, row;
    struct image_share *shares;
    bool *has_column; /* [n] */
    uint32_t n;
};

struct place_maker {
    const struct run *run;
    struct arena *a;
    const struct placing *q;
    const bool *given_up;
    struct image *image;
    struct program program;
    bool with_budget;    /* a row for at_most */
    bool is_elastic;     /* promises may be given up: a column for each */
    uint32_t n_promises; /* of let_go */
    uint32_t *let_go;    /* columns; NO_REF */
    uint32_t *offers;    /* columns */
    uint32_t count;      /* column of how many of them are chosen */
    VEC(uint32_t) cells; /* columns by cell of the image; NO_REF: none yet */
    VEC(struct place_way) ways;
    uint32_t *first_way;      /* [things.n + 1] */
    uint32_t *works, *hubs;   /* columns */
    uint32_t *depths;         /* of hubs; NO_REF */
    uint32_t *switches;       /* [hubs.n * switches.n] columns; NO_REF */
    uint32_t *first_part;     /* [cablings.n + 1]: of pieces and takes */
    uint32_t *pieces, *takes; /* columns: how many are bought; which part it is */
    VEC(struct place_asked) asked;
    bool is_whole; /* all cells have columns from the start */
};

static inline const struct place_link *place_link_of(const struct place_maker *m, uint32_t way)
{
    return &m->q->links.v[m->ways.v[way].link];
}

/* Half of the smallest step of sums of whole millimetres and milliwatts, in metres and watts. */
#define PLACE_HALF_STEP 0.0004

bool place_make(struct place_maker *m);
/* Room for n columns, none of them there yet (NO_REF); the program has failed where there is no memory. */
uint32_t *place_columns(struct place_maker *m, size_t n);
/* Rows: the column is at least the sum of the ways of each thing that pass a work (else NO_REF), or come to a hub. */
void place_add_bounds(struct place_maker *m, uint32_t column, uint32_t work, uint32_t hub);
void place_add_need(struct place_maker *m, uint32_t need, uint32_t lost_site);
/* A column for this of its cells. */
void place_add_cell(struct place_maker *m, struct place_asked *asked, uint32_t share);

enum place_aim { PLACE_PRICE, PLACE_BOXES_SENT };
/* cost: [columns.n], of PLACE_PRICE without `owing`. */
void place_costs(const struct place_maker *m, enum place_aim aim, double *cost);

/* ---- placing_ports.c ---- */

/* Switches and ports of all hubs, whose ways are there; false: no memory, or more sorts of ports asked for at a hub than are borne. */
bool place_add_hubs(struct place_maker *m);

/* ---- placing_answer.c ---- */

void place_read(const struct place_maker *m, const double *x, struct placing_answer *out);
/* The columns of an answer that holds; false: the arena's ceiling. */
bool place_write(const struct place_maker *m, const struct placing_answer *a, double *x);

/* ---- placing_solve.c ---- */

/* What is missing for this choice: cells without a column, losses not borne; how many rows and cells were added. */
uint32_t place_add_rows(struct place_maker *m, const double *x, bool is_relaxed);
/* The monotonic clock. */
double place_now_s(void);

#endif
