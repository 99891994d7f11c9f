/* store_int.h - statements to the store's database: revisions (store.c) and records (records.c) are made of them. */
#ifndef RT_WEB_STORE_INT_H
#define RT_WEB_STORE_INT_H

#include <sqlite3.h>

#include "web/store.h"

struct store {
    sqlite3 *db;
    const char *path;
};

/* A statement under way; the first thing that goes wrong is kept. */
struct store_ask {
    struct store *s;
    sqlite3_stmt *stmt;
    int n_bound;
    bool is_bad;
};

struct store_ask store_ask(struct store *s, const char *sql);
/* In the order of the question marks. */
void store_bind_text(struct store_ask *q, struct str text);
void store_bind_bytes(struct store_ask *q, struct str bytes);
void store_bind_int(struct store_ask *q, int64_t value);
void store_bind_number(struct store_ask *q, double value); /* not finite: NULL */
/* True: there is a row. */
bool store_next(struct store_ask *q);
/* A copy of a column's bytes in the arena. */
struct str store_column_text(struct store_ask *q, struct arena *a, int column);
/* Errors: RT_IO, RT_NOMEM. */
RT_MUST_CHECK enum rt_code store_end(struct store_ask *q, struct rt_problems *p);
/* One that gives no rows, to its end. */
RT_MUST_CHECK enum rt_code store_run(struct store_ask *q, struct rt_problems *p);

#endif
