/* route.h - what can be asked of the server: one table, from which the answers, docs/api.md and the tests come.
 *
 * A new question: a function in an api_*.c, its line below, its row in route.c. */
#ifndef RT_WEB_ROUTE_H
#define RT_WEB_ROUTE_H

#include "web/http.h"

/* Fills the reply; errors become the status of their code (base/problem.h) with the problems as JSON. */
typedef enum rt_code route_answer(struct request *q, struct reply *r, struct rt_problems *p);

struct route {
    enum http_method method;
    const char *path; /* "/api/houses/{house}/file": a step in braces stands for any one step */
    route_answer *answer;
    size_t body_most;                 /* bytes of a request's body; 0: none */
    const char *says, *takes, *gives; /* for docs/api.md; takes NULL: nothing */
};

const struct route *routes(size_t *n);
/* The route of a path and method; fills q->params.  NULL: none; *allowed: methods that the path has (bits), 0: no such path. */
const struct route *route_find(struct request *q, unsigned *allowed);
/* docs/api.md */
void routes_write_markdown(struct buf *out);

/* clang-format off */
route_answer
    api_houses_list, api_houses_make,                         /* api_houses.c */
    api_file_read, api_file_write, api_model_read,            /* api_file.c */
    api_edit, api_try, api_undo, api_redo, api_history, api_restore, api_revision_read,
    api_promises, api_promise_events,                         /* api_promises.c */
    api_change_events,                                        /* api_changes.c */
    api_signal, api_ask, api_failures,                        /* api_compute.c */
    api_drawing,                                              /* api_drawing.c */
    api_enclosure, api_constructs,                            /* api_building.c */
    api_field, api_contours,                                  /* api_field.c */
    api_preview,                                              /* api_preview.c */
    api_design, api_job, api_job_cancel, api_job_events, api_job_take, /* api_jobs.c */
    api_parts_edit, api_parts_try, api_parts_undo, api_parts_redo, api_parts_history, api_parts_restore, /* api_file.c */
    api_parts_file_read, api_parts_file_write, /* api_file.c */
    api_parts_model, api_parts_used,                                                                     /* api_parts.c */
    api_book, api_drawings, api_drawing_sheet, api_export, api_schema, api_schema_parts, api_parts, /* api_papers.c */
    api_words,                                                /* api_words.c */
    api_ports, api_matrix, api_week, api_compare,             /* api_network.c */
    api_installation, api_installation_done, api_installation_mark, /* api_install.c */
    api_readings, api_reading_add, api_reading_remove, api_readings_csv,
    api_pictures, api_picture_send, api_picture_read, api_picture_place, api_picture_remove; /* api_pictures.c */
/* clang-format on */

#endif
