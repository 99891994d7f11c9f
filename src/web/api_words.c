/* Names that need not be declared, for a page that suggests them. */
#include "data/constructs.h"
#include "data/device_kinds.h"
#include "data/services.h"
#include "web/api.h"

static void write_constructs(struct json *j)
{
    json_begin_array(j, "constructs");
    for (uint32_t i = 0; i < built_in_construct_count(); i++) {
        const struct built_in_construct *c = built_in_construct_get(i);
        json_begin_object(j, NULL);
        json_text(j, "name", c->id);
        json_text(j, "says", c->says);
        json_end_object(j);
    }
    json_end_array(j);
}

static void write_device_kinds(struct json *j)
{
    uint32_t n;
    const struct device_kind *kinds = device_kinds(&n);
    json_begin_array(j, "device_kinds");
    for (uint32_t i = 0; i < n; i++) {
        json_begin_object(j, NULL);
        json_text(j, "name", kinds[i].name);
        json_text(j, "says", kinds[i].says);
        json_bool(j, "has_radio", kinds[i].bands != 0);
        json_end_object(j);
    }
    json_end_array(j);
}

/* Flows of one service follow each other: each name once, with the words of its first. */
static void write_services(struct json *j)
{
    uint32_t n;
    const struct service_flow *flows = service_flows(&n);
    json_begin_array(j, "services");
    for (uint32_t i = 0; i < n; i++) {
        if (i && str_is(str_from(flows[i].name), flows[i - 1].name))
            continue;
        json_begin_object(j, NULL);
        json_text(j, "name", flows[i].name);
        json_text(j, "says", flows[i].says);
        json_end_object(j);
    }
    json_end_array(j);
}

enum rt_code api_words(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct json_body b;
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    write_constructs(j);
    write_device_kinds(j);
    write_services(j);
    json_end_object(j);
    return reply_json_end(&b, r, p);
}
