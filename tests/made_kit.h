/* made_kit.h - a demo house with choices made for it, as a whole house again. */
#ifndef RT_MADE_KIT_H
#define RT_MADE_KIT_H

#include "check.h"
#include "design/fit.h"
#include "promise/outage_stages.h"
#include "promise/promise.h"

struct made {
    struct check_run c;
    const char *path;
    struct house *before;
    struct design_space *space;
    struct placing_answer answer;
    struct fitted fitted;
    const struct house *h; /* fitted */
    struct evaluation ev;  /* of it */
};

static const char *const MADE_HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                           "houses/whin_farm.house.yaml" };

static inline struct made made_open(const char *house)
{
    struct made m = { .c = check_run_begin() };
    m.path = check_path(&m.c, house);
    CHECK_OK(&m.c, house_read(&m.c.run, m.path, &m.before, &m.c.problems));
    return m;
}

/* Wires alone: without needs of rooms, which other tests are about. */
static inline void made_choose(struct made *m, bool anew)
{
    const struct design_options options = { .anew = anew, .generates = true, .seconds = 30, .gap = 0.01, .grid_m = 3 };
    CHECK_OK(&m->c, space_make(&m->c.run, m->before, options, &m->space, &m->c.problems));
    m->space->placing.at_most = INT64_MAX;
    CHECK_OK(&m->c, placing_greedy(&m->c.run, &m->space->placing, NULL, &m->answer, &m->c.problems));
    CHECK("there is a choice", m->answer.is_found);
}

static inline void made_fit(struct made *m)
{
    CHECK_OK(&m->c, fit_house(&m->c.run, m->space, &m->answer, &m->fitted, &m->c.problems));
    m->h = m->fitted.house;
    CHECK_OK(&m->c, evaluation_begin(&m->ev, &m->c.run, m->h, evaluation_default_options(m->h), &m->c.problems));
}

static inline struct promise_result made_judge(struct made *m, enum promise_kind kind)
{
    struct promise_result r = { .state = PROMISE_KEPT };
    for (uint32_t i = 0; i < m->h->promises.n && r.state == PROMISE_KEPT; i++)
        if (m->h->promises.v[i].kind == kind && kind == PROMISE_OUTAGE)
            CHECK_OK(&m->c, outage_judge(&m->ev, &m->h->promises.v[i], &r, &m->c.problems));
        else if (m->h->promises.v[i].kind == kind)
            CHECK_OK(&m->c, promise_evaluate(&m->ev, &m->h->promises.v[i], &r, &m->c.problems));
    return r;
}

/* Each id stands for one thing, and what names a thing names one that is there: the reader says so. */
static inline void made_check_reads(struct made *m)
{
    struct str bytes = { 0 };
    struct house *h = NULL;
    CHECK_OK(&m->c, fit_write(&m->c.run, m->before, m->h, &bytes, &m->c.problems));
    CHECK_OK(&m->c, house_read_bytes(&m->c.run, m->path, bytes, &h, &m->c.problems));
    CHECK("all there", h->equipment.n == m->h->equipment.n && h->cables.n == m->h->cables.n);
}

/* What the house had is there as it was. */
static inline void made_check_stays(const struct made *m)
{
    for (uint32_t i = 0; i < m->before->equipment.n; i++) {
        const struct equipment *a = &m->before->equipment.v[i];
        const uint32_t e = house_find_equipment(m->h, a->id);
        CHECK("it stays", e != NO_REF);
        const struct equipment *b = &m->h->equipment.v[e];
        CHECK("as it was", a->part.i == b->part.i && a->mount.i == b->mount.i && a->at_m.x == b->at_m.x &&
                               a->radios.v == b->radios.v && a->radios.n == b->radios.n && a->owned == b->owned &&
                               a->segment.i == b->segment.i && a->phase.i == b->phase.i);
    }
    for (uint32_t i = 0; i < m->before->mounts.n; i++)
        CHECK_TEXT("mounts", m->h->mounts.v[i].id, m->before->mounts.v[i].id);
}

#endif
