/* space_kit.h - what a design of a demo house may choose from. */
#ifndef RT_SPACE_KIT_H
#define RT_SPACE_KIT_H

#include "check.h"
#include "design/space.h"
#include "wire/open_parts.h"

static const char *const SPACE_HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                            "houses/whin_farm.house.yaml" };

static inline struct house *space_house(struct check_run *c, const char *path)
{
    struct house *h = NULL;
    CHECK_OK(c, house_open(&c->run, check_path(c, path), &h, &c->problems));
    return h;
}

static inline struct design_space *space_of(struct check_run *c, const struct house *h, bool anew, bool generates)
{
    struct design_space *s = NULL;
    const struct design_options options = {
        .anew = anew, .generates = generates, .seconds = 30.0, .gap = 0.01, .grid_m = 3.0
    };
    CHECK_OK(c, space_make(&c->run, h, options, &s, &c->problems));
    return s;
}

#endif
