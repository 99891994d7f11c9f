/* What the engine computes of the present house; every number is the command line's. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "data/device_kinds.h"
#include "promise/failure_table.h"
#include "promise/spot_report.h"
#include "reach/ask.h"
#include "web/api.h"

static const double HEIGHT_M = 1.2, AVAILABILITY = 0.90;

/* Something computed and written as JSON while the house is locked. */
struct computing {
    struct request *q;
    struct workspace *w;
    struct json *j;
    int32_t kept, broken, unknown;
};

static enum rt_code compute(struct request *q, workspace_use *use, struct reply *r, struct computing *c,
                            struct rt_problems *p)
{
    struct json_body b;
    int64_t revision = 0;
    *c = (struct computing){ .q = q, .j = reply_json(&b, q), .kept = -1 };
    RT_TRY(api_house(q, &c->w, p));
    RT_TRY(workspace_compute(c->w, q->arena, use, c, &revision, p));
    if (c->kept >= 0)
        RT_TRY(workspace_judged(c->w, revision, c->kept, c->broken, c->unknown, p));
    r->etag = api_etag(q, revision);
    return reply_json_end(&b, r, p);
}

/* ---- promises ---- */

static enum rt_code judge(struct evaluation *ev, void *user, struct rt_problems *p)
{
    struct computing *c = user;
    struct promise_results results;
    RT_TRY(promises_evaluate(ev, ALL_PROMISE_KINDS, &results, p));
    promises_write_json(c->j, ev, &results, NULL, NULL);
    c->kept = (int32_t)results.n_kept;
    c->broken = (int32_t)results.n_broken;
    c->unknown = (int32_t)results.n_unknown;
    return RT_OK;
}

enum rt_code api_promises(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct computing c;
    return compute(q, judge, r, &c, p);
}

/* ---- a spot ---- */

bool api_read_spot(struct str text, struct vec3 *out)
{
    char kept[80];
    double v[3] = { 0.0, 0.0, HEIGHT_M };
    if (!text.n || text.n >= sizeof kept)
        return false;
    snprintf(kept, sizeof kept, "%.*s", STR_ARG(text));
    const char *at = kept;
    int n = 0;
    for (; n < 3; n++) {
        char *end;
        v[n] = strtod(at, &end);
        if (end == at || !(fabs(v[n]) <= 1e4))
            return false;
        at = end;
        if (*at != ',')
            break;
        at++;
    }
    *out = (struct vec3){ v[0], v[1], v[2] };
    return *at == '\0' && n >= 1;
}

static enum rt_code report_spot(struct evaluation *ev, void *user, struct rt_problems *p)
{
    const struct computing *c = user;
    const struct request *q = c->q;
    struct spot_report report;
    struct vec3 at_m;
    const uint32_t floor = house_find_floor(ev->h, q->query(q, "floor"));
    const struct str kind = q->query(q, "device").n ? q->query(q, "device") : STR(DEVICE_KIND_USUAL);
    const struct radio_ability *device = evaluation_radio_of(ev, kind);
    if (floor == NO_REF)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, NULL, "the house has no such floor");
    if (!api_read_spot(q->query(q, "at"), &at_m))
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, "send at=X,Y or at=X,Y,Z in metres", "that is no spot");
    if (!device)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "take phone, tablet, laptop ...",
                       "no device of that kind has a radio");
    RT_TRY(spot_report_make(ev, floor, at_m, device, kind, AVAILABILITY, 0, &report, p));
    spot_report_write_json(c->j, &report);
    return RT_OK;
}

enum rt_code api_signal(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct computing c;
    return compute(q, report_spot, r, &c, p);
}

/* ---- who may talk ---- */

static enum rt_code answer(struct evaluation *ev, void *user, struct rt_problems *p)
{
    const struct computing *c = user;
    const struct request *q = c->q;
    struct proof *proof;
    struct asked asked = { 0 };
    struct answer said;
    struct str service = q->query(q, "service"), when = q->query(q, "when");
    RT_TRY(evaluation_proof(ev, &proof, p));
    RT_TRY(house_read_endpoint(ev->h, q->query(q, "from"), &asked.from, p));
    RT_TRY(house_read_endpoint(ev->h, q->query(q, "to"), &asked.to, p));
    if (service.n) {
        RT_TRY(house_knows_service(ev->h, service, p));
        asked.services = (str_list){ &service, 1 };
    }
    RT_TRY(calendar_read_time(proof->calendar, when.n ? when : STR("now"), time(NULL), &asked.at_s, p));
    RT_TRY(ask(ev->run, proof, ev->layer2, &asked, &said, p));
    answer_write_json(c->j, &said);
    return RT_OK;
}

enum rt_code api_ask(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct computing c;
    return compute(q, answer, r, &c, p);
}

/* ---- failures ---- */

static enum rt_code fail_all(struct evaluation *ev, void *user, struct rt_problems *p)
{
    const struct computing *c = user;
    struct failure_table *table = NULL;
    struct promise_results results;
    RT_TRY(promises_evaluate(ev, ALL_PROMISE_KINDS, &results, p));
    RT_TRY(evaluation_failures(ev, &table, p));
    RT_TRY(failure_table_fill(table, p));
    json_begin_object(c->j, NULL);
    failure_table_write_json(c->j, "failures", table);
    json_end_object(c->j);
    return RT_OK;
}

enum rt_code api_failures(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct computing c;
    return compute(q, fail_all, r, &c, p);
}
