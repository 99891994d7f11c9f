/* The table of routes: what it matches, and docs/api.md, which is made from it (RT_GOLDEN_UPDATE=1 writes it). */
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "web_kit.h"

TEST(the_page_of_questions_is_the_table)
{
    struct check_run c = check_run_begin();
    struct buf want = { .arena = c.run.arena };
    struct str have = { 0 };
    routes_write_markdown(&want);
    if (getenv("RT_GOLDEN_UPDATE"))
        CHECK_OK(&c, file_write(check_path(&c, "docs/api.md"), buf_done(&want), 0644, &c.problems));
    CHECK_OK(&c, file_read(c.run.arena, check_path(&c, "docs/api.md"), 1 << 20, &have, &c.problems));
    CHECK_TEXT("docs/api.md (RT_GOLDEN_UPDATE=1 writes it)", have, buf_done(&want));
    check_run_end(&c);
}

static const struct route *found(struct check_run *c, const char *path, enum http_method method, struct request *q,
                                 unsigned *allowed)
{
    *q = (struct request){ .arena = c->run.arena, .path = str_from(path), .method = method };
    return route_find(q, allowed);
}

TEST(steps_in_braces_take_one_step)
{
    struct check_run c = check_run_begin();
    struct request q;
    unsigned allowed;
    const struct route *r = found(&c, "/api/houses/larch_end/revisions/12", HTTP_GET, &q, &allowed);
    CHECK("found", r && strcmp(r->path, "/api/houses/{house}/revisions/{number}") == 0);
    CHECK_TEXT("house", q.params[0], STR("larch_end"));
    CHECK_TEXT("number", q.params[1], STR("12"));
    CHECK("too long", !found(&c, "/api/houses/larch_end/revisions/12/13", HTTP_GET, &q, &allowed) && !allowed);
    CHECK("too short", !found(&c, "/api", HTTP_GET, &q, &allowed) && !allowed);
    CHECK("an empty step", !found(&c, "/api/houses//file", HTTP_GET, &q, &allowed) && !allowed);
    CHECK("a slash behind", !found(&c, "/api/houses/", HTTP_GET, &q, &allowed));
    CHECK("another method", !found(&c, "/api/houses/a/file", HTTP_DELETE, &q, &allowed));
    CHECK("what it has", allowed == (HTTP_GET | HTTP_PUT));
    check_run_end(&c);
}

TEST(every_route_is_whole)
{
    size_t n;
    const struct route *r = routes(&n);
    for (size_t i = 0; i < n; i++) {
        unsigned params = 0;
        for (const char *at = r[i].path; *at; at++)
            params += *at == '{';
        CHECK(r[i].path, params <= HTTP_PARAMS);
        CHECK(r[i].path, r[i].answer && r[i].says && r[i].gives);
        CHECK(r[i].path, !r[i].takes || r[i].body_most > 0);
        CHECK(r[i].path, r[i].method != HTTP_GET || r[i].body_most == 0);
        for (size_t k = 0; k < i; k++)
            CHECK(r[i].path, strcmp(r[i].path, r[k].path) != 0 || r[i].method != r[k].method);
    }
}
