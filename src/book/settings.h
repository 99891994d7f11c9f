/* settings.h - every setting to type into the equipment of a house, in the order in which one would do the work.
 *
 * For equipment of any maker: where a setting stands in a menu nobody can say, so its place is told in the words of the standard
 * that defines it.  Nothing is computed here: values come from the address plan, the compiled policy, the port map, the resolved
 * radios, the watts and the batteries; the reason of each leads with the promise or statement that it serves.
 *
 * A sheet is things (what one sits down in front of), blocks (a page of settings of one thing) and settings, all in order.  No
 * secret is in it. */
#ifndef RT_BOOK_SETTINGS_H
#define RT_BOOK_SETTINGS_H

#include "promise/evaluation.h"
#include "promise/port_map.h"
#include "reach/export.h"

struct setting {
    uint32_t block;
    struct str item; /* what in the block is set: "port 4", "rule 12", an SSID; empty: the block's subject itself */
    struct str name; /* "tagged VLANs" */
    struct str value;
    struct str reason; /* of the item, where the block has columns; else of the setting */
    bool is_open;      /* the house file does not say: value tells what to find out and write in */
};

struct settings_block {
    uint32_t thing;
    struct str title;
    struct str where;    /* the topic, in the standards' words */
    struct str standard; /* the document that defines the settings; empty: common practice, no source */
    struct str intro;    /* what to know before; may be empty */
    struct str instead;  /* where the equipment does not offer it: what to do, and what is lost; may be empty */
    struct str check;    /* how to see that it works */
    const char *of;      /* heading of the items; NULL: the block has none, and each setting is a row */
    const char *const
        *columns; /* names of settings that stand side by side, a row for each item; others are told behind */
    uint32_t n_columns;
};

struct settings_thing {
    struct str id;    /* of the equipment in the house file; "line" and the like for what is none */
    struct str words; /* as a heading */
    struct str lead;  /* may be empty */
};

struct settings {
    const struct house *h;
    const struct export_house *x; /* its notes and findings end the sheet */
    LIST(struct settings_thing) things;
    LIST(struct settings_block) blocks; /* by thing */
    LIST(struct setting) list;          /* by block, then item: the items of a block follow each other */
};

/* Makes the list; lives in x->run->arena.  `ev` was begun for the same house and shares x's picks, `map` is of x->l2.  Errors: those of
 * evaluation_power(), evaluation_energy(), recording_life_of(), RT_NOMEM. */
RT_MUST_CHECK enum rt_code settings_make(const struct export_house *x, struct evaluation *ev,
                                         const struct port_map *map, struct settings **out, struct rt_problems *p);

/* One page, without scripts and outside resources (HTML Living Standard). */
void settings_write_html(struct buf *out, const struct settings *s);
/* One row a setting (RFC 4180). */
void settings_write_csv(struct buf *out, const struct settings *s);

#endif
