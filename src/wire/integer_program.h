/* integer_program.h - linear programs of which some unknowns are whole numbers, solved by COIN-OR CBC (EPL 2.0).
 *
 * One thread, a fixed seed, a limit on the nodes of the search: the same program has the same answer each time, unless the
 * limit in seconds stops a search that the nodes did not.  CBC keeps its own memory outside the arenas while it runs, and prints
 * nothing. */
#ifndef RT_WIRE_INTEGER_PROGRAM_H
#define RT_WIRE_INTEGER_PROGRAM_H

#include "base/array.h"
#include "base/problem.h"
#include "base/run.h"

/* An unknown between lo and hi. */
struct program_column {
    double lo, hi;
    bool is_whole;
};

/* lo <= sum of entries <= hi; infinite: no such side. */
struct program_row {
    double lo, hi;
};

struct program_entry {
    uint32_t row, column;
    double value;
};

struct program {
    struct arena *arena;
    VEC(struct program_column) columns;
    VEC(struct program_row) rows;
    VEC(struct program_entry) entries; /* one at most for each row and column */
    bool failed;                       /* the arena's ceiling */
};

uint32_t program_column(struct program *p, double lo, double hi, bool is_whole);
uint32_t program_row(struct program *p, double lo, double hi);
void program_entry(struct program *p, uint32_t row, uint32_t column, double value);

/* is_large: rows are many and long, so that preprocessing and dense cuts would take longer than the search itself; they are left out,
 * and the seconds are those of the clock on the wall, not of the processor. */
struct program_limits {
    int nodes;
    double seconds;
    double gap;          /* (value - bound) / value at which the search may stop; 0: none */
    const double *start; /* [columns.n]: a solution to begin from; NULL */
    double step;         /* all solutions' values are multiples of this; 0: not known */
    bool is_large;
    bool is_interruptible; /* run->cancel ends the search too, with the best so far */
};

struct program_answer {
    bool is_found;     /* x and value hold a solution */
    bool is_best;      /* none is better, but for the gap allowed */
    bool is_cancelled; /* before the end: x is the best so far, and nothing is known of a bound */
    double *x;         /* of each column; whole ones exactly whole */
    double value;
    double bound; /* no solution is less */
};

/* Least sum of cost times column.  Nothing found without an error: there is no solution, or the limits came first (is_best tells:
 * true for the former).  Errors, without a problem told: RT_NOMEM, RT_CANCELLED (looked at before the search). */
RT_MUST_CHECK enum rt_code program_least(const struct run *run, const struct program *p, const double *cost,
                                         struct program_limits limits, struct program_answer *out);

#endif
