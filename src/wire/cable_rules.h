/* cable_rules.h - what a cable owes to where it lies: room in the runs, distance to mains, weather, warmth.
 *
 * Generated ways have no limit of room, and nobody knows their distance to mains. */
#ifndef RT_WIRE_CABLE_RULES_H
#define RT_WIRE_CABLE_RULES_H

#include "wire/links.h"

enum cable_rule { RULE_FILL, RULE_MAINS, RULE_WEATHER, RULE_WARMTH, RULE_COUNT };

/* One breach: of a run (fill), of a cable in a run (mains), of a cable or of equipment at the end of one (weather, warmth). */
struct cable_breach {
    enum cable_rule rule;
    uint32_t cable, run, equipment; /* of the house; NO_REF: not about one */
    double is, limit;               /* share of the cross-section; m; degC; NaN: no figure */
    double metres;                  /* of the cable, that lie so; NaN: no figure */
    struct str says;                /* what is wrong, with its figures, and what to do */
};

/* How full a run of the file is. */
struct run_fill {
    uint32_t run, n_cables;
    double used_mm2, share, share_max; /* share: NaN where the run says no area */
};

struct cable_rules {
    LIST(struct cable_breach) breaches; /* by rule, then run, cable, equipment */
    LIST(struct run_fill) fills;        /* runs with cable in them, in the file's order */
    ref_list mains_unknown;             /* runs of the file with copper in them that do not tell their mains_m */
    bool generated_unknown;             /* copper lies in generated voids too, of which nothing is known */
};

/* Fill: NFPA 70 (NEC) chapter 9 table 1; mains: EN 50174-2:2000 (data/separation.h); weather: a part that is not made for outdoors
 * may not lie there but for its last metre, in or at the thing it feeds, nor equipment stand there but in a cabinet that is;
 * warmth: a part's temperature_max_degc against the air under a roof or in the sun.  The links are those of the plan.  Lives in
 * run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code cable_rules_check(const struct run *run, const struct cable_plan *plan,
                                             const struct wire_links *links, struct cable_rules *out,
                                             struct rt_problems *p);

/* What a cable takes of a run's cross-section: by its part's outer_mm, else that of its category. */
double cable_section_mm2(const struct house *h, const struct wire_links *links, uint32_t cable);
/* Metres of the cable in a run; NaN: it does not lie there.  What has no way lies in the runs that the file names for it. */
double cable_metres_in(const struct cable_plan *plan, uint32_t cable, uint32_t run);

const char *cable_rule_name(enum cable_rule rule); /* fill, mains, weather, warmth */

/* Does the leg lie outdoors, and in air that gets warm (under a roof, in the sun, not in the ground)? */
bool cable_leg_is_outdoors(const struct house *h, const struct cable_leg *leg);
bool cable_leg_is_warm(const struct house *h, const struct cable_leg *leg);
/* Has the cable a screen: its part says so, or its category always has one? */
bool cable_is_screened(const struct part *part, struct str category);
/* Does equipment stand out in the weather? */
bool equipment_is_outdoors(const struct house *h, uint32_t equipment);

#endif
