#include "web/http.h"

#include <string.h>

#include "web/problem_path.h"

struct json *reply_json(struct json_body *b, struct request *q)
{
    *b = (struct json_body){ .text = { .arena = q->arena } };
    b->j = (struct json){ .out = &b->text, .compact = true };
    return &b->j;
}

enum rt_code reply_json_end(struct json_body *b, struct reply *r, struct rt_problems *p)
{
    json_end(&b->j);
    if (b->text.failed)
        return rt_fail_memory(p);
    r->body = buf_done(&b->text);
    return RT_OK;
}

void reply_json_made(struct json *j, const char *key, struct str made)
{
    static const char HELD[] = "null";
    json_null(j, key);
    if (j->out->failed)
        return;
    j->out->n -= sizeof HELD - 1; /* what holds its place gives way */
    buf_str(j->out, made);
}

void problems_write_json(struct json *j, const char *key, const struct rt_problems *p)
{
    struct problem_tree tree = { 0 };
    json_begin_array(j, key);
    for (uint32_t i = 0; i < p->list.n; i++) {
        const struct rt_problem *q = &p->list.v[i];
        json_begin_object(j, NULL);
        json_text(j, "code", rt_code_name(q->code));
        json_bool(j, "is_warning", q->is_warning);
        json_text(j, "says", q->msg);
        json_text(j, "hint", q->hint);
        if (q->at.file) {
            const char *slash = strrchr(q->at.file, '/'); /* where the house lies is nobody's business */
            json_text(j, "file", slash ? slash + 1 : q->at.file);
        }
        if (q->at.line) {
            json_int(j, "line", q->at.line);
            json_int(j, "column", q->at.col);
            json_int(j, "byte", (int64_t)q->at.byte);
            json_int(j, "bytes", (int64_t)q->at.n);
            json_text(j, "path", problem_path(p, q, &tree));
        } else {
            json_null(j, "line");
        }
        json_end_object(j);
    }
    json_end_array(j);
}

/* The next entity tag of a list, without W/ and quotes; false: there is none. */
static bool next_tag(struct str *list, struct str *tag)
{
    size_t i = 0;
    while (i < list->n && (list->p[i] == ' ' || list->p[i] == ',' || list->p[i] == '\t'))
        i++;
    if (i + 1 < list->n && list->p[i] == 'W' && list->p[i + 1] == '/')
        i += 2;
    if (i >= list->n || list->p[i] != '"')
        return false;
    size_t end = ++i;
    while (end < list->n && list->p[end] != '"')
        end++;
    if (end == list->n)
        return false;
    *tag = (struct str){ list->p + i, end - i };
    *list = (struct str){ list->p + end + 1, list->n - end - 1 };
    return true;
}

bool http_list_has(struct str field, struct str etag)
{
    struct str tag;
    if (str_is(field, "*"))
        return etag.n > 0;
    while (next_tag(&field, &tag))
        if (str_eq(tag, etag))
            return true;
    return false;
}

int64_t http_revision(struct str field)
{
    struct str tag;
    int64_t number = 0;
    if (!next_tag(&field, &tag) || tag.p[0] != 'r')
        return 0;
    for (size_t i = 1; i < tag.n; i++)
        if (tag.p[i] == '.') /* the mark of the parts file stands behind it */
            tag.n = i;
    if (tag.n < 2 || tag.n > 18)
        return 0;
    for (size_t i = 1; i < tag.n; i++) {
        if (tag.p[i] < '0' || tag.p[i] > '9')
            return 0;
        number = number * 10 + (tag.p[i] - '0');
    }
    return number;
}
