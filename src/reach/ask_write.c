/* The answer to a question for people and as JSON. */
#include "reach/ask.h"

static const char *const VERDICTS[] = {
    [ASK_ALLOWED] = "allowed", [ASK_SOME] = "some", [ASK_REFUSED] = "refused", [ASK_UNFILTERED] = "unfiltered"
};

static struct str statement_of(const struct answer *a)
{
    const struct rule *r = a->rule;
    if (!r || r->origin != ORIGIN_STATEMENT)
        return STR("");
    return a->proof->policy->h->statements.v[r->which].id;
}

static void step_write_json(struct json *j, const struct ask_step *s)
{
    static const char *const KINDS[] = { [STEP_DEVICE] = "device",  [STEP_AIR] = "air",
                                         [STEP_CABLE] = "cable",    [STEP_ACCESS_POINT] = "access_point",
                                         [STEP_SWITCH] = "switch",  [STEP_THROUGH] = "through",
                                         [STEP_GATEWAY] = "gateway" };
    json_begin_object(j, NULL);
    json_text(j, "kind", s->is_side ? "side" : KINDS[s->kind]);
    json_str(j, "id", s->id);
    json_str(j, "says", s->says);
    json_bool(j, "decides", s->decides);
    json_end_object(j);
}

void answer_write_json(struct json *j, const struct answer *a)
{
    json_begin_object(j, NULL);
    json_text(j, "verdict", VERDICTS[a->verdict]);
    if (a->rule) {
        json_begin_object(j, "rule");
        json_int(j, "number", a->rule->number);
        if (a->rule->at.line)
            json_int(j, "line", a->rule->at.line);
        else
            json_null(j, "line");
        json_str(j, "statement", statement_of(a));
        json_str(j, "says", a->rule->says);
        json_end_object(j);
    } else {
        json_null(j, "rule");
    }
    json_begin_array(j, "way");
    for (uint32_t i = 0; i < a->way.n; i++)
        json_str(j, NULL, a->way.v[i].says);
    json_end_array(j);
    json_begin_array(j, "steps");
    for (uint32_t i = 0; i < a->way.n; i++)
        step_write_json(j, &a->way.v[i]);
    json_end_array(j);
    json_str(j, "when", a->when);
    json_str(j, "reason", a->reason);
    json_end_object(j);
    json_end(j);
}

void answer_write_text(struct buf *out, const struct answer *a)
{
    buf_printf(out, "%s   %.*s\n\n  %.*s\n", VERDICTS[a->verdict], STR_ARG(a->when), STR_ARG(a->reason));
    for (uint32_t i = 0; i < a->way.n; i++)
        buf_printf(out, "%s  %2u  %.*s\n", i ? "" : "\n  The way\n", (unsigned)(i + 1), STR_ARG(a->way.v[i].says));
}
