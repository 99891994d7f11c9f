/* Entity tags in lists: RFC 9110, sections 8.8.3 and 13.1. */
#include "check.h"
#include "web/http.h"

TEST(revisions_are_read_from_tags)
{
    CHECK("strong", http_revision(STR("\"r12\"")) == 12);
    CHECK("weak", http_revision(STR("W/\"r7\"")) == 7);
    CHECK("the first of a list", http_revision(STR("\"r3\", \"r4\"")) == 3);
    CHECK("any", http_revision(STR("*")) == 0);
    CHECK("none", http_revision(STR("")) == 0);
    CHECK("another's", http_revision(STR("\"x1\"")) == 0);
    CHECK("no figure", http_revision(STR("\"r1a\"")) == 0);
    CHECK("open", http_revision(STR("\"r1")) == 0);
    CHECK("too long to be one", http_revision(STR("\"r99999999999999999999999\"")) == 0);
}

TEST(lists_are_compared_weakly)
{
    CHECK("alone", http_list_has(STR("\"a\""), STR("a")));
    CHECK("among others", http_list_has(STR("\"b\" ,\t W/\"a\",\"c\""), STR("a")));
    CHECK("any", http_list_has(STR("*"), STR("a")));
    CHECK("any of nothing", !http_list_has(STR("*"), STR("")));
    CHECK("not there", !http_list_has(STR("\"b\", \"ab\""), STR("a")));
    CHECK("a comma within", http_list_has(STR("\"x,y\", \"a\""), STR("x,y")));
}

PROP(any_bytes_end, 5000)
{
    char bytes[24];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = "\"r1W/, *\0\x80"[random_below(r, 10)];
    const struct str field = { bytes, sizeof bytes };
    CHECK("a number, or none", http_revision(field) >= 0);
    (void)http_list_has(field, STR("r1"));
}
