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
enum { PATHS_MOST = 100000 };

/* ---- what is computed and told as JSON ---- */

struct telling {
    struct request *q;
    api_write *write;
    struct json_body body;
};

static enum rt_code begin_anew(struct lane *lane, void *user, struct rt_problems *p)
{
    struct telling *t = user;
    return t->write(lane, t->q, reply_json(&t->body, t->q), p);
}

enum rt_code api_tell(struct request *q, enum study_lane in, api_write *write, struct reply *r, struct rt_problems *p)
{
    struct telling t = { .q = q, .write = write };
    struct workspace *w;
    struct study_state of = { 0 };
    RT_TRY(api_house(q, &w, p));
    RT_TRY(workspace_compute(w, q->arena, in, begin_anew, &t, &of, p));
    r->etag = api_etag_of(q, of);
    return reply_json_end(&t.body, r, p);
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

static enum rt_code report_spot(struct lane *lane, struct request *q, struct json *j, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
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
    double availability = AVAILABILITY, paths = 0.0;
    RT_TRY(api_read_number(q, "availability", 0.5, 0.999, &availability, p));
    RT_TRY(api_read_number(q, "paths", 0.0, PATHS_MOST, &paths, p));
    RT_TRY(spot_report_make(ev, floor, at_m, device, kind, availability, (uint32_t)paths, &report, p));
    spot_report_write_json(j, &report);
    return RT_OK;
}

enum rt_code api_signal(struct request *q, struct reply *r, struct rt_problems *p)
{
    return api_tell(q, LANE_HOUSE, report_spot, r, p);
}

/* ---- who may talk ---- */

static enum rt_code answer(struct lane *lane, struct request *q, struct json *j, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
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
    answer_write_json(j, &said);
    return RT_OK;
}

enum rt_code api_ask(struct request *q, struct reply *r, struct rt_problems *p)
{
    return api_tell(q, LANE_HOUSE, answer, r, p);
}

/* ---- failures ---- */

static enum rt_code fail_all(struct lane *lane, struct request *q, struct json *j, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    struct failure_table *table = NULL;
    (void)q;
    RT_TRY(lane_judge(lane, p));
    RT_TRY(evaluation_failures(ev, &table, p));
    RT_TRY(failure_table_fill(table, p));
    json_begin_object(j, NULL);
    failure_table_write_json(j, "failures", table);
    json_end_object(j);
    return RT_OK;
}

enum rt_code api_failures(struct request *q, struct reply *r, struct rt_problems *p)
{
    return api_tell(q, LANE_JUDGE, fail_all, r, p);
}
