/* sheet.h - the paper: border, heading, title block, legend, scale bar, north, notes with their leader lines.
 * Millimetres from the upper left corner, y down. */
#ifndef RT_DRAW_SHEET_H
#define RT_DRAW_SHEET_H

#include "draw/label.h"
#include "draw/pen.h"
#include "draw/plan.h"

/* The scale of a field: colours, figures, and where its contour lines run. */
struct legend {
    double lo, hi;        /* at the ends of the map */
    bool is_log;          /* equal steps of the map stand for equal ratios */
    double_list levels;   /* of the contour lines, rising */
    double_list promised; /* rising */
    struct str caption;   /* "level at a phone, dBm" */
    struct str unit;      /* "dBm" */
    struct str lines;     /* what the thin lines are: "every 5 dB" */
    struct str limit;     /* what the dashed line is: "no link beyond"; may be empty */
};

/* Share of the map, 0 to 1 within the scale. */
double legend_share(const struct legend *g, double value);

/* A figure as the sheets print it: true minus sign, no needless decimals. */
struct str sheet_figure(struct arena *a, double value);

/* Words of a sheet. */
struct sheet_words {
    struct str title;           /* the floor */
    struct str head;            /* what is drawn */
    struct str soft;            /* under which conditions */
    struct str drawing, height; /* for the title block; height empty: of no single floor */
    struct str house, estimate; /* there too; empty: those of the sheet */
    bool no_north;              /* it is not drawn here */
};

/* A note as laid out: its lines broken to the column. */
struct sheet_note {
    const struct draw_note *note;
    bool is_left; /* of the plan */
    struct draw_box box;
    LIST(struct str) head, lines, advice;
};

/* Of every sheet: what is drawn keeps this far from the paper's edges on the left and right, and leaves these heights to the heading
 * and to legend, scale and title block; dimensions take so much left of a plan and above it. */
#define SHEET_MARGIN_MM 15.0
#define SHEET_HEAD_MM 35.0
#define SHEET_FOOT_MM 42.0
#define SHEET_DIMENSION_MM 9.0

struct sheet {
    struct arena *arena;
    struct pen pen;
    const struct house *house;
    const struct fields *fields;
    const struct draw_options *options;
    struct draw_subject subject;
    struct plan plan;
    struct label_space space;
    LIST(struct sheet_note) notes; /* from top to bottom */
    str_list room_key;             /* rooms too small for their names: "1  cupboard" */
    uint32_t marks;                /* on the plan, bits of enum plan_mark */
    double w_mm, h_mm;
    const char *paper;         /* "A4" */
    struct draw_box scale_bar; /* filled by sheet_finish() */
    double scale_bar_m;
    bool failed; /* the arena's ceiling was reached */
};

/* Breaks a text at its spaces into lines of at most width_mm, added to the *n that there are; a longer word stands alone. */
void sheet_wrap(struct sheet *s, enum text_style style, struct str whole, double width_mm, struct str **v, uint32_t *n);

/* Chooses paper and scale, lays out plan and notes; needs only the pen's fonts. */
void sheet_lay_out(struct sheet *s);
/* A sheet of the whole house, without a plan: A3, or the paper of the options.  Its painter sets plan.scale if it is drawn to one. */
void sheet_lay_out_blank(struct sheet *s);
/* Another paper for it: 0 A4, 1 A3 (ISO 216); that of the options, if they name one. */
void sheet_take_paper(struct sheet *s, uint32_t paper);
/* Of a book: less wide than A3. */
static inline bool sheet_is_small(const struct sheet *s) { return s->options->paper != DRAW_ON_ISO; }
/* Kept free right of the plan on sheets of cables, for their tables: in a book there is less to say. */
double sheet_side_mm(const struct sheet *s);
/* Neither border nor heading nor title block: it stands in a text. */
bool sheet_is_figure(const struct sheet *s);
/* Ground and border. */
void sheet_begin(struct sheet *s);
/* A promise's state as one of three shapes: dot, cross in a ring, dashed ring. */
void sheet_draw_state(struct pen *pen, enum draw_state state, enum ink ink, struct vec2 at, double radius_mm);
/* Marks of the notes and their leader lines, which texts in the plan must then avoid. */
void sheet_draw_leaders(struct sheet *s);
/* The arrow to the north, about its middle, as the sheet's house and plan lie. */
void sheet_draw_north(struct sheet *s, struct vec2 mid);
/* Texts of the notes, heading, legend (may be NULL), scale bar, north and title block. */
void sheet_finish(struct sheet *s, const struct sheet_words *words, const struct legend *legend);

#endif
