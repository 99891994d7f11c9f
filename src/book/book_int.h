/* book_int.h - what the chapters of the book share.  A new chapter: a file chapter_NAME.c, its line here, and its row in book.c. */
#ifndef RT_BOOK_INT_H
#define RT_BOOK_INT_H

#include "book/book.h"
#include "draw/load_view.h"
#include "promise/failure_table.h"
#include "promise/phase_keeps.h"
#include "promise/port_map.h"
#include "wire/front.h"

/* Everything the chapters tell, computed before the first of them. */
struct book {
    const struct run *run;
    struct arena *arena;
    const struct house *h;
    struct evaluation *ev;
    const struct book_options *options;
    struct promise_results results; /* every promise of the house, in the order of the file */
    const struct fields *fields;    /* of the whole house */
    struct draw_options draw;       /* everything set: cables, numbers, fronts, energy, ports, failures, load, notes */
    struct proof *proof;            /* with its addressing and policy; ev->layer2 */
    const struct wire_links *links;
    const struct bill *bill;
    struct phase_stages stages; /* what each phase keeps */
    struct flow *flow;
    bool figure_failed; /* one could not be painted: the arena's ceiling */
};

/* Fills what is computed, from run, arena, h, ev and draw.  Errors: those of what it computes. */
RT_MUST_CHECK enum rt_code book_gather(struct book *b, struct rt_problems *p);

/* A text in the book's arena; empty, and the flow will fail, at its ceiling. */
struct str book_text(struct book *b, const char *fmt, ...) RT_PRINTF(2, 3);
enum flow_mark book_mark(enum promise_state state);
/* The margin as a reader has it: "+46 Mb/s", "proven", "-3 dB"; empty: none. */
struct str book_margin(struct book *b, const struct promise_result *r);
/* What a thing is called: the words of the file (says, name), else its id with blanks. */
struct str book_id_words(struct book *b, struct str id);

/* A sheet of src/draw as a page of the book: on its own paper, lying, at a true scale.  id NULL: it does not stand in the contents.
 * Errors: draw_size()'s. */
enum rt_code book_sheet(struct book *b, struct draw_subject subject, const char *id, struct str title,
                        struct rt_problems *p);
/* The sheets of these drawings (bits of enum draw_what) on a floor, or NO_REF: on all and of the whole house. */
enum rt_code book_sheets_find(struct book *b, uint32_t what, uint32_t floor, struct draw_subject **out, uint32_t *n,
                              struct rt_problems *p);

/* A floor's field as a figure in the text, at the largest true scale at which it is no higher than most_mm; caption: what it shows,
 * to which its scale is added. */
enum rt_code book_figure(struct book *b, struct draw_subject subject, double most_mm, struct str caption,
                         struct rt_problems *p);
/* The text with a capital at its beginning. */
struct str book_capital(struct book *b, struct str text);

/* A chapter writes itself into b->flow. */
typedef enum rt_code book_chapter(struct book *b, struct rt_problems *p);
/* clang-format off */
book_chapter
    chapter_promises,   /* what was promised, each with its evidence */
    chapter_care,       /* cautions */
    chapter_floors,     /* floor by floor: mounts, fields, cable routes */
    chapter_cables,     /* the cable schedule */
    chapter_ports,      /* port map and cabinets */
    chapter_addresses,  /* the address plan */
    chapter_networks,   /* segments in plain words, statements, the proof's matrix, what was rehearsed */
    chapter_week,       /* hours, busy hours, the line */
    chapter_load,       /* recordings, watts, battery */
    chapter_money,      /* the bill, phases, running cost */
    chapter_acceptance, /* tests to tick on the day, room to sign */
    chapter_breaks,     /* what to do when something breaks */
    chapter_growth,     /* how to grow */
    chapter_words;      /* words used here */
/* clang-format on */

/* The cover, painted by flow_write(). */
void book_cover(struct pen *pen, double w_mm, double h_mm, void *book);
/* Its picture: the floors one above the other, drawn apart, with what hangs and stands there; into the box. */
void book_cover_house(struct pen *pen, struct book *b, struct draw_box box);

#endif
