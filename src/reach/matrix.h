/* matrix.h - who may begin a conversation with whom: every zone with every other, in an ordinary week. */
#ifndef RT_REACH_MATRIX_H
#define RT_REACH_MATRIX_H

#include "base/json.h"
#include "reach/proof.h"

enum cell_verdict { CELL_NONE, CELL_SOME, CELL_ALL };

/* What one rule, or several from one line of the house file, let through between two zones. */
struct passage {
    const struct rule *rule; /* the first of them; NULL: a chain's policy */
    str_list services;
    struct str from, to; /* devices, in words; empty: anybody of the zone */
    struct str hours;    /* empty: always */
};

struct matrix_cell {
    enum cell_verdict verdict;
    LIST(struct passage) passages; /* of CELL_SOME, by rule */
};

struct matrix {
    const struct proof *proof;
    uint32_t n;                              /* zones */
    struct matrix_cell *cells[FAMILY_COUNT]; /* n * n: from * n + to */
};

/* Errors: those of proof_judge(). */
RT_MUST_CHECK enum rt_code matrix_make(struct proof *proof, struct matrix **out, struct rt_problems *p);
const struct matrix_cell *matrix_at(const struct matrix *m, enum family family, uint32_t from, uint32_t to);
/* Do they let the same through, by whatever rule? */
bool passage_equal(const struct passage *a, const struct passage *b);
/* Addresses, names, time, neighbours: what every segment has of its gateway, whatever the statements say. */
bool passage_is_basic(const struct passage *x);

/* The array of docs/json.md under `prove`, and the same for people: a table of words, then what `some` means, `columns`
 * wide. */
void matrix_write_json(struct json *j, const char *key, const struct matrix *m);
void matrix_write_text(struct buf *out, const struct matrix *m, unsigned columns);

#endif
