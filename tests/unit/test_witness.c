/* The spot on the drawing that decides a promise: it belongs on the sheet of the band in which it was judged. */
#include <string.h>

#include "check.h"
#include "promise/promise.h"

static const struct fact *fact_of(const struct fact *parent, const char *key)
{
    for (const struct fact *f = parent->first; f; f = f->next)
        if (f->key && strcmp(f->key, key) == 0)
            return f;
    return NULL;
}

/* The flat promises a phone's signal in whichever band is better, so its promise names no band. */
TEST(witness_is_of_the_band_that_decides)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    struct evaluation ev;
    struct promise_results results;
    CHECK_OK(&c, house_read(&c.run, check_path(&c, "houses/quay_flat.house.yaml"), &h, &c.problems));
    struct field_options options = evaluation_default_options(h);
    options.cell_m = 1.0;
    options.trace.order = 0;
    CHECK_OK(&c, evaluation_begin(&ev, &c.run, h, options, &c.problems));
    CHECK_OK(&c, promises_evaluate(&ev, ALL_PROMISE_KINDS & ~POLICY_PROMISE_KINDS, &results, &c.problems));
    uint32_t n_unnamed = 0;
    for (uint32_t i = 0; i < results.n; i++) {
        const struct promise_result *r = &results.v[i];
        if (!r->witness.is_set)
            continue;
        const struct fact *band = fact_of(r->evidence, "band");
        CHECK("a witness has a radio", band != NULL);
        n_unnamed += r->promise->bands == 0;
        for (int b = 0; b < BAND_COUNT; b++)
            CHECK("its band and no other",
                  !(r->witness.bands & 1u << b) == !str_is(band->text, band_name((enum band)b)));
    }
    CHECK("some promises name no band", n_unnamed > 0);
    check_run_end(&c);
}
