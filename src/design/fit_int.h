/* fit_int.h - a house while it is fitted, shared by the sources of fit.h. */
#ifndef RT_DESIGN_FIT_INT_H
#define RT_DESIGN_FIT_INT_H

#include "base/units.h"
#include "design/fit.h"

/* A thing at a hub that others are plugged into. */
struct fit_source {
    uint32_t equipment;
    struct fit_ports {
        uint32_t left;
        int poe_class; /* -1: feeds nothing */
        double speed_mbps;
    } * ports;
    uint32_t n_ports;
    double budget_w; /* left */
    /* Promised to stay free: ports of a switch, watts of the budget. */
    uint32_t spare;
    double spare_w;
};

/* A piece that no promise needs, and the port it is in (NULL: none was left). */
struct fit_idle {
    uint32_t thing, source;
    double power_w;
    struct fit_ports *port;
};

struct fit_hub {
    VEC(struct fit_idle) idle;
    VEC(struct fit_source) sources; /* the gateway first, then what is there; the way up ends in the first */
    uint32_t cabinet;               /* of h->equipment; NO_REF */
    double units;                   /* of the rack that are free; NaN: no rack */
    uint32_t n_placed;              /* beside one another */
};

struct fitter {
    const struct run *run;
    struct arena *a;
    struct rt_problems *p;
    const struct design_space *space;
    const struct placing *q;
    const struct placing_answer *answer;
    const struct house *old; /* as the file was before `anew`; NULL: nothing was left out */
    bool *is_claimed;        /* of old->equipment: its id is taken on */
    struct house *h;         /* lists that grow are these, put in place by fit_lists() */
    VEC(struct equipment) things;
    VEC(struct cable) cables;
    VEC(struct battery) batteries;
    VEC(struct mount) mounts;
    bool *is_gone; /* of the things that were there already */
    bool *cable_is_gone;
    uint32_t *thing_at; /* of each site; NO_REF */
    struct fit_hub *hubs;
    VEC(uint32_t) recorders; /* things at the core that want a cord */
    struct ref segment;      /* of what is new */
    VEC(struct fit_reason) reasons;
    VEC(struct str) added, moved;
    bool failed; /* the arena's ceiling */
};

static inline const struct part *fit_part(const struct fitter *f, uint32_t part) { return &f->h->parts.list.v[part]; }
#define FIT_NONE ((struct ref){ .i = NO_REF })

void fit_tell(struct fitter *f, struct str id, const char *fmt, ...) RT_PRINTF(3, 4);
/* Puts the grown lists into f->h. */
void fit_lists(struct fitter *f);

/* fit_names.c */
/* An id that nothing in the file bears: stem_room, or with a number behind. */
struct str fit_name(struct fitter *f, const char *stem, struct str where);
/* stem_1, or the next number that is free. */
struct str fit_numbered_name(struct fitter *f, const char *stem);
/* The same for equipment: the id of what stood there in the old house, or is spoken of elsewhere in the file, and was of the same kind,
 * if there is such a piece. */
struct str fit_equipment_name(struct fitter *f, enum part_kind kind, uint32_t mount, uint32_t room, const char *stem);
/* Its piece in the old house; NULL: it is new there. */
const struct equipment *fit_old_piece(const struct fitter *f, struct str id);
/* Of the cable that leads to the thing, of the battery in the room: as in the old house, else c_THING and battery_ROOM. */
struct str fit_cable_name(struct fitter *f, struct str to);
struct str fit_battery_name(struct fitter *f, uint32_t room);
struct str fit_place_name(const struct fitter *f, uint32_t room, uint32_t floor);
/* Names of equipment in promises: those of the old house, as far as they stand for something. */
RT_MUST_CHECK enum rt_code fit_promise_names(struct fitter *f);

/* fit_equipment.c: access points, gateway, cabinets, switches. */
RT_MUST_CHECK enum rt_code fit_equipment(struct fitter *f);
/* A new piece beside the others of a hub, in its cabinet if it goes in; its index. */
uint32_t fit_add_at_hub(struct fitter *f, uint32_t hub, uint32_t part, struct str id);

/* fit_radios.c: radios of new access points for which the country has no channel where they hang are off. */
RT_MUST_CHECK enum rt_code fit_radios(struct fitter *f);

/* fit_cables.c */
RT_MUST_CHECK enum rt_code fit_cables(struct fitter *f);

/* fit_disks.c */
RT_MUST_CHECK enum rt_code fit_disks(struct fitter *f);
/* fit_air.c: slots or a fan for a new cabinet that would be too warm, also when it has grown as was promised; `ev` is of f->h. */
RT_MUST_CHECK enum rt_code fit_air(struct fitter *f, struct evaluation *ev);
/* fit_battery.c: `ev` is of f->h. */
/* The plans of cables, ports and watts of one house, for another that differs by batteries and air alone.  `ev` has them.  False: the
 * arena's ceiling. */
RT_MUST_CHECK bool fit_evaluation_with(const struct fitter *f, const struct evaluation *ev, struct house *h,
                                       struct evaluation *with);
RT_MUST_CHECK enum rt_code fit_battery(struct fitter *f, struct evaluation *ev);

#endif
