/* api.h - what the answers of the API share. */
#ifndef RT_WEB_API_H
#define RT_WEB_API_H

#include "base/geom.h"
#include "web/route.h"
#include "web/server.h"

/* The house that the path names. */
RT_MUST_CHECK enum rt_code api_house(struct request *q, struct workspace **out, struct rt_problems *p);
/* The parts file that it names. */
RT_MUST_CHECK enum rt_code api_parts_file(struct request *q, struct workspace **out, struct rt_problems *p);
/* "r12" */
struct str api_etag(struct request *q, int64_t revision);
/* Of what is computed: "r12", and behind a point the mark of the parts file, if there is one. */
struct str api_etag_of(struct request *q, struct study_state of);
struct str api_state_tag(struct arena *a, struct study_state of);
/* "X,Y" or "X,Y,Z" in metres; without Z the height of a hand, 1.2 m.  False: it is no spot. */
bool api_read_spot(struct str text, struct vec3 *out);
/* A number of the query; left out: *out as it is.  Errors: RT_RANGE. */
RT_MUST_CHECK enum rt_code api_read_number(const struct request *q, const char *key, double least, double most,
                                           double *out, struct rt_problems *p);
/* An answer computed of the house as it is now, in a lane of its study, and written as JSON. */
typedef enum rt_code api_write(struct lane *lane, struct request *q, struct json *j, struct rt_problems *p);
RT_MUST_CHECK enum rt_code api_tell(struct request *q, enum study_lane in, api_write *write, struct reply *r,
                                    struct rt_problems *p);
/* {"revision", "problems"}: what a change led to, with what is wrong with the house now. */
RT_MUST_CHECK enum rt_code api_tell_state(struct request *q, struct workspace *w, const struct workspace_state *s,
                                          struct reply *r, struct rt_problems *p);
/* The same of what would be; with `file`, its text, where that is no house any more: the problems' places are in it. */
RT_MUST_CHECK enum rt_code api_tell_tried(struct request *q, struct workspace *w, const struct workspace_state *s,
                                          struct reply *r, struct rt_problems *p);

/* A revision's number as a question has it.  Errors: RT_UNKNOWN_REF (no number). */
RT_MUST_CHECK enum rt_code api_revision_number(struct str s, int64_t *out, struct rt_problems *p);

/* A value of a YAML file as JSON, in its order. */
struct edit_node;
void api_write_node(struct json *j, const char *key, const struct edit_node *n, struct arena *a);
/* `breaks`: the houses that name this parts file and could not be read any more if it held these bytes, each with why. */
RT_MUST_CHECK enum rt_code api_tell_breaks(struct request *q, struct json *j, struct workspace *parts, struct str bytes,
                                           struct rt_problems *p);

#endif
