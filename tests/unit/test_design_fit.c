/* Choices of places as whole houses: the demo houses as they stand and from bare walls. */
#include "design/fit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "check.h"
#include "design/needs.h"
#include "promise/promise.h"
#include "wire/cable_tree.h"

struct made {
    struct check_run c;
    const char *path;
    struct house *before;
    struct design_space *space;
    struct placing_answer answer;
    struct fitted fitted;
    struct evaluation ev;
};

static void begin(struct made *m, const char *house)
{
    *m = (struct made){ .c = check_run_begin() };
    m->path = check_path(&m->c, house);
    CHECK_OK(&m->c, house_read(&m->c.run, m->path, &m->before, &m->c.problems));
}

static void look(struct made *m)
{
    CHECK_OK(&m->c, evaluation_begin(&m->ev, &m->c.run, m->fitted.house, evaluation_default_options(m->fitted.house),
                                     &m->c.problems));
}

/* Places by the quick search, for wires alone: an access point at every third site. */
static void fit(struct made *m, const struct house *h, bool anew)
{
    const struct design_options options = { .anew = anew, .generates = true, .seconds = 30, .gap = 0.01, .grid_m = 3 };
    CHECK_OK(&m->c, space_make(&m->c.run, h, options, &m->space, &m->c.problems));
    CHECK_OK(&m->c, placing_greedy(&m->c.run, &m->space->placing, NULL, &m->answer, &m->c.problems));
    CHECK("there is a choice", m->answer.is_found);
    CHECK_OK(&m->c, fit_house(&m->c.run, m->space, &m->answer, &m->fitted, &m->c.problems));
    if (getenv("FIT_SHOW")) {
        struct str bytes = { 0 };
        for (uint32_t i = 0; i < m->fitted.reasons.n; i++)
            print_message("%.*s: %.*s\n", STR_ARG(m->fitted.reasons.v[i].id), STR_ARG(m->fitted.reasons.v[i].says));
        CHECK_OK(&m->c, fit_write(&m->c.run, m->before, m->fitted.house, &bytes, &m->c.problems));
        print_message("%.*s", STR_ARG(bytes));
    }
    look(m);
}

TEST(show_larch)
{
    struct made m;
    begin(&m, "houses/larch_end.house.yaml");
    fit(&m, m.before, getenv("ANEW") != NULL);
    check_run_end(&m.c);
}
