/* draw.h - the house as an architect's sheets: plans of each floor with what the radio does on it.
 *
 * A sheet is A4 or A3 landscape at a true printed scale (ISO 5455: 1:20, 1:50, 1:100 ...).  SVG carries millimetres, PNG is
 * the same sheet in pixels.  No date, no random order: the same house gives the same bytes.  docs/drawings.md tells
 * people how to read them. */
#ifndef RT_DRAW_H
#define RT_DRAW_H

#include "house/house.h"
#include "radio/field.h"
#include "wire/cables.h"

typedef struct _cairo cairo_t; /* <cairo.h>; whoever only passes one on need not read it */
struct port_map;               /* promise/port_map.h */
struct port_numbers;           /* wire/power.h */
struct front_plan;             /* wire/front.h */
struct energy_plan;            /* wire/energy.h */
struct load_view;              /* draw/load_view.h */
struct failure_table;          /* promise/failure_table.h */

/* What is drawn; one row each in the table of draw.c. */
enum draw_what {
    DRAW_SIGNAL = 1,     /* level of the strongest access point at each spot */
    DRAW_RATE = 2,       /* Mb/s one device gets there when it is alone on the air */
    DRAW_SECOND = 4,     /* level of the second-strongest access point: where to hand over */
    DRAW_CABLE = 8,      /* where the cables lie; one sheet a floor, whatever the band */
    DRAW_CABINET = 16,   /* the front of each cabinet and wall of equipment */
    DRAW_PORTS = 32,     /* the port map */
    DRAW_WEEK = 64,      /* the week by hours: the line, dark screens, the radios' channels */
    DRAW_LOAD = 128,     /* the line in its fullest hour, who asks, every cable */
    DRAW_SPECTRUM = 256, /* who sends where in each band, and how much of the time */
    DRAW_FAILURES = 512, /* every single failure against every promise */
    DRAW_ALL_WHAT = 1023 /* the bits above together */
};

enum draw_format { DRAW_SVG = 1, DRAW_PNG = 2, DRAW_ALL_FORMATS = 3 };

/* On which paper, lying.  All but the first are for a printer at home: their ground is the white of its paper.  Sources: ISO 216 (A4 297 x 210 mm, A3 420 x 297 mm), ANSI/ASME Y14.1 (A, Letter, 11 x 8.5 inches). */
enum draw_paper {
    DRAW_ON_ISO, /* A4, and A3 where the drawing gains by it; tables A3 */
    DRAW_ON_A4,  /* everything */
    DRAW_ON_LETTER
};

/* How a promise stands at a spot; said by three shapes: dot, cross in a ring, dashed ring. */
enum draw_state { DRAW_KEPT, DRAW_BROKEN, DRAW_UNKNOWN };

/* Evidence written on the drawing with a leader line: what, where and why, and what would keep it. */
struct draw_note {
    uint32_t floor;
    struct vec2 at_m;
    uint32_t what;  /* drawings it belongs on, bits of enum draw_what; 0: all */
    uint32_t bands; /* bits 1 << enum band; 0: all */
    enum draw_state state;
    struct str head; /* one line: "-70 dBm in this corner" */
    str_list lines;  /* what was promised, where, why */
    str_list advice; /* what would keep it; may be empty */
};

typedef LIST(struct draw_note) draw_note_list;

struct draw_options {
    uint32_t what;    /* bits of enum draw_what; 0: all */
    uint32_t bands;   /* bits 1 << enum band; 0: every band the house and the device have */
    uint32_t formats; /* bits of enum draw_format; 0: both */
    uint32_t floor;   /* NO_REF: every floor */
    enum draw_paper paper;
    double figure_w_mm, figure_h_mm;    /* of a floor: no sheet, a figure so wide and at most so high; 0: a sheet */
    struct str page_words;              /* "page 12 of 34", for the title block; empty: a sheet of no book */
    bool all_heights;                   /* a sheet for each grid of a floor; else only for its first */
    bool devices;                       /* mark the devices that have a place */
    bool free_mounts;                   /* mark places for an access point that hold none */
    const struct radio_ability *device; /* whose level and rate; must be set */
    struct str device_name;             /* as the sheet calls it: "phone" */
    double availability; /* 0.5 < a < 1: levels and rates that hold in this share of places; 0.5: local mean */
    draw_note_list notes;
    const struct cable_plan *cables;      /* NULL: no sheets of cables */
    const struct port_numbers *numbers;   /* with them: the ports of each cable's ends */
    const struct front_plan *fronts;      /* NULL: no sheets of cabinets */
    const struct energy_plan *energy;     /* with them: batteries */
    const struct port_map *ports;         /* NULL: no port map */
    const struct failure_table *failures; /* NULL: no table of failures; else filled */
    const struct load_view *load;         /* NULL: no sheets of week, load and spectrum */
};

/* Everything drawn, every floor, both formats, levels that hold in 90 of 100 places. */
struct draw_options draw_options_usual(const struct radio_ability *device, struct str device_name);

/* Files written, in the order of writing: the folder's name, a slash, and a name such as ground-signal-5ghz.svg. */
struct draw_files {
    LIST(struct str) paths;
};

/* Draws the sheets asked for into `folder`, which is made if it is not there.  Each file is replaced whole or not at all.
 * Texts of *out live in run->arena.  Warns when a band is asked for that no access point sends.
 * Errors: RT_IO, RT_NOMEM, RT_CANCELLED. */
RT_MUST_CHECK enum rt_code draw_house(const struct run *run, const struct house *h, const struct fields *fields,
                                      const struct draw_options *options, const char *folder, struct draw_files *out,
                                      struct rt_problems *p);

/* ---- one sheet, in memory ---- */

/* A sheet to draw: which drawing, on which grid of the fields, for which band.  Tables and views of the whole house have no
 * grid, but pages. */
struct draw_subject {
    enum draw_what what;
    uint32_t grid; /* NO_REF: of the whole house */
    enum band band;
    uint32_t page;   /* of the whole house's sheets of this drawing, from 0 ... */
    struct str name; /* ... and its file's name; of a floor's sheet: empty, it is made of the rest */
};

/* A rectangle on the sheet, millimetres from its upper left corner, y down. */
struct draw_box {
    double x_mm, y_mm, w_mm, h_mm;
};

struct draw_label {
    struct str text;
    struct draw_box box;
};

/* A sheet as drawn.  Bytes and texts live in run->arena. */
struct draw_sheet {
    struct str name;                /* "ground-signal-5ghz" */
    struct str svg, png;            /* empty if the format was not asked for */
    double w_mm, h_mm;              /* 297 x 210 or 420 x 297 */
    double scale;                   /* 50 stands for 1:50; 0: a table, not drawn to scale */
    uint32_t w_px, h_px;            /* of the PNG */
    struct draw_box scale_bar;      /* its whole length ... */
    double scale_bar_m;             /* ... stands for so many metres */
    LIST(struct draw_label) labels; /* every text placed in the plan: names, ids, contour figures, notes */
};

/* The sheets that the options ask for, in order: floors, then drawings, then bands; then those of the whole house. */
RT_MUST_CHECK enum rt_code draw_subjects(const struct run *run, const struct house *h, const struct fields *fields,
                                         const struct draw_options *options, struct draw_subject **out, uint32_t *n,
                                         struct rt_problems *p);

/* The name of its file without the ending; p NULL: the arena's ceiling. */
struct str draw_name(struct arena *a, const struct house *h, const struct fields *f, struct draw_subject s);

/* Draws one sheet in the formats asked for.  Errors: RT_NOMEM, RT_MISSING (no font at all on this machine). */
RT_MUST_CHECK enum rt_code draw_one(const struct run *run, const struct house *h, const struct fields *fields,
                                    const struct draw_options *options, struct draw_subject subject,
                                    struct draw_sheet *out, struct rt_problems *p);

/* How large it will be and at which scale: w_mm, h_mm and scale of *out alone. */
RT_MUST_CHECK enum rt_code draw_size(const struct run *run, const struct house *h, const struct fields *fields,
                                     const struct draw_options *options, struct draw_subject subject,
                                     struct draw_sheet *out, struct rt_problems *p);
/* Draws it onto a Cairo context whose unit is the millimetre, from its origin; no bytes are made.  Errors: as draw_one(). */
RT_MUST_CHECK enum rt_code draw_onto(const struct run *run, const struct house *h, const struct fields *fields,
                                     const struct draw_options *options, struct draw_subject subject, cairo_t *cr,
                                     struct draw_sheet *out, struct rt_problems *p);

#endif
