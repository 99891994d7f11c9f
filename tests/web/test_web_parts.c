/* The parts file, edited: its bytes, its history, and that every house which names it is computed anew.
 * Expected figures are worked out beside the checks from the demo's own prices. */
#include <math.h>
#include <string.h>

#include "web_json.h"

#define FLAT "/api/houses/quay_flat"
#define FARM "/api/houses/whin_farm"
#define FILE_NAME "parts/demo_eur.parts.yaml"

static struct reply post(struct web_kit *k, const char *target, const char *body, const char *if_match)
{
    return web_ask(k, (struct asked_web){ .method = "POST", .target = target, .body = body, .if_match = if_match });
}

#define SET(path, value) "{\"op\": \"set\", \"path\": \"" path "\", \"value\": " value "}"
#define EDITS(edits) "{\"what\": \"tried\", \"edits\": [" edits "]}"

static json_t *loaded(struct reply r)
{
    json_error_t error;
    json_t *j = json_loadb(r.body.p, r.body.n, 0, &error);
    CHECK(error.text, j != NULL);
    return j;
}

/* What the cost promise of the flat says of all that is bought. */
static double purchase(struct web_kit *k, struct str *state)
{
    json_t *told = web_json(k, FLAT "/promises");
    size_t i;
    json_t *promise, *found = NULL;
    json_array_foreach(json_object_get(told, "promises"), i, promise)
    {
        if (strcmp(json_string_value(json_object_get(promise, "kind")), "cost") == 0)
            found = promise;
    }
    CHECK("the flat promises a cost", found != NULL);
    *state = str_dup(k->asked, str_from(json_string_value(json_object_get(found, "state"))));
    const double is = json_number_value(json_object_get(json_object_get(found, "evidence"), "purchase"));
    json_decref(told);
    return is;
}

/* The gateway is bought once, and the flat adds a tenth for what was not foreseen: 50 more are 55 more. */
TEST(a_price_is_its_own_bytes_and_is_judged_anew)
{
    struct web_kit k;
    struct str stands;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    const struct str was = web_file(&k, FILE_NAME);
    const double before = purchase(&k, &stands);
    CHECK_TEXT("kept", stands, STR("kept"));
    const struct reply told = web_get(&k, FLAT "/promises");
    const char *tag = arena_printf(k.asked, "\"%.*s\"", STR_ARG(told.etag));
    const struct asked_web again = { .method = "GET", .target = FLAT "/promises", .if_none_match = tag };
    CHECK_NEAR("nothing changed", web_ask(&k, again).status, 304, 0, "");
    CHECK_NEAR("edited", post(&k, FLAT "/parts/edits", EDITS(SET("/parts/gateway_1g/price", "213")), "\"r1\"").status,
               200, 0, "");
    CHECK_NEAR("what is known is not it any more", web_ask(&k, again).status, 200, 0, "");
    CHECK_NEAR("the bill", purchase(&k, &stands), before + 55.0, 0.005, "EUR");
    CHECK_TEXT("broken", stands, STR("broken"));

    const struct str is = web_file(&k, FILE_NAME);
    const char *at = strstr(was.p, "  gateway_1g:"), *price = at ? strstr(at, "price: 163\n") : NULL;
    CHECK("the demo's price", price != NULL);
    const size_t head = (size_t)(price - was.p) + strlen("price: ");
    CHECK("what stands before", is.n == was.n && memcmp(is.p, was.p, head) == 0);
    CHECK("the price", memcmp(is.p + head, "213", 3) == 0);
    CHECK("what stands behind", memcmp(is.p + head + 3, was.p + head + 3, was.n - head - 3) == 0);

    CHECK_NEAR("undone", post(&k, FLAT "/parts/undo", "{}", NULL).status, 200, 0, "");
    CHECK("byte for byte", str_eq(web_file(&k, FILE_NAME), was));
    CHECK_NEAR("redone", post(&k, FLAT "/parts/redo", "{}", NULL).status, 200, 0, "");
    CHECK("byte for byte", str_eq(web_file(&k, FILE_NAME), is));
    CHECK_NEAR("restored", post(&k, FLAT "/parts/revisions/1/restore", "{}", NULL).status, 200, 0, "");
    json_t *history = web_json(&k, FLAT "/parts/revisions");
    CHECK("found, changed, restored", json_array_size(json_object_get(history, "revisions")) == 3);
    json_decref(history);
    CHECK_TEXT("the house's own history knows nothing of it", web_get(&k, FLAT "/file").etag, STR("r1"));

    /* another program: 100 more, and a tenth */
    const struct reply model = web_get(&k, FLAT "/model");
    char *outside = arena_printf(k.asked, "%.*s", STR_ARG(was));
    memcpy(strstr(strstr(outside, "  gateway_1g:"), "price: 163"), "price: 263", 10);
    web_write(&k, FILE_NAME, str_from(outside));
    CHECK("the model's state is another", !str_eq(web_get(&k, FLAT "/model").etag, model.etag));
    CHECK_NEAR("the bill", purchase(&k, &stands), before + 110.0, 0.005, "EUR");
    CHECK_NEAR("an edit of what it was",
               post(&k, FLAT "/parts/edits", EDITS(SET("/parts/gateway_1g/price", "1")), "\"r3\"").status, 409, 0, "");
    CHECK("stays", str_eq(web_file(&k, FILE_NAME), str_from(outside)));
    web_kit_end(&k);
}

/* An edit made on an older state is kept where it touches nothing that was changed, and refused where it does. */
TEST(two_who_edit_the_parts)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", "whin_farm", NULL });
    (void)web_get(&k, FLAT "/parts/model");
    CHECK_NEAR("the first", post(&k, FLAT "/parts/edits", EDITS(SET("/parts/switch_5/price", "31")), "\"r1\"").status,
               200, 0, "");
    CHECK_NEAR("another part, by another house",
               post(&k, FARM "/parts/edits", EDITS(SET("/parts/switch_8/price", "32")), "\"r1\"").status, 200, 0, "");
    CHECK_NEAR("the same part",
               post(&k, FARM "/parts/edits", EDITS(SET("/parts/switch_5/price", "33")), "\"r1\"").status, 409, 0, "");
    json_t *told = web_json(&k, FARM "/parts/model");
    const json_t *parts = json_object_get(json_object_get(told, "parts"), "parts");
    CHECK_NEAR("its price", json_number_value(json_object_get(json_object_get(parts, "switch_5"), "price")), 31, 0, "");
    CHECK_NEAR("and its", json_number_value(json_object_get(json_object_get(parts, "switch_8"), "price")), 32, 0, "");
    json_decref(told);
    web_kit_end(&k);
}

TEST(what_a_change_would_break_is_told)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", "whin_farm", NULL });
    const struct str was = web_file(&k, FILE_NAME);
    json_t *told =
        loaded(post(&k, FLAT "/parts/try", EDITS("{\"op\": \"remove\", \"path\": \"/parts/ceiling_two_band\"}"), NULL));
    const json_t *breaks = json_object_get(told, "breaks");
    CHECK("the parts are whole", json_is_true(json_object_get(told, "can_be_read")));
    CHECK("the farm has it, the flat has not", json_array_size(breaks) == 1);
    CHECK_TEXT("the farm", str_from(json_string_value(json_object_get(json_array_get(breaks, 0), "house"))),
               STR("whin_farm"));
    CHECK("and why", json_array_size(json_object_get(json_array_get(breaks, 0), "problems")) > 0);
    json_decref(told);
    told = loaded(post(&k, FLAT "/parts/try", EDITS(SET("/parts/switch_5/price", "-3")), NULL));
    CHECK("no price", json_is_false(json_object_get(told, "can_be_read")));
    CHECK_TEXT(
        "at the field",
        str_from(json_string_value(json_object_get(json_array_get(json_object_get(told, "problems"), 0), "path"))),
        STR("/parts/switch_5/price"));
    json_decref(told);
    CHECK("nothing was written", str_eq(web_file(&k, FILE_NAME), was));
    web_kit_end(&k);
}

/* How often a house names each part: counted in the demo houses' files by hand (`part:` of each). */
TEST(who_names_which_part)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", "larch_end", NULL });
    json_t *told = web_json(&k, FLAT "/parts/used");
    const json_t *houses = json_object_get(told, "houses");
    CHECK("the other house has other parts", json_array_size(houses) == 1);
    const json_t *parts = json_object_get(json_array_get(houses, 0), "parts");
    size_t i, n_gateways = 0;
    json_t *one;
    json_array_foreach(parts, i, one)
    {
        if (strcmp(json_string_value(json_object_get(one, "part")), "gateway_1g") == 0)
            n_gateways = (size_t)json_integer_value(json_object_get(one, "count"));
    }
    CHECK("one gateway", n_gateways == 1);
    CHECK("and a bill", json_array_size(json_object_get(told, "bought")) > 0);
    json_decref(told);
    web_kit_end(&k);
}

/* A house that names no parts file, one outside the folder, or one of another name: nothing is edited. */
TEST(no_other_file_is_edited)
{
    static const struct {
        const char *names;
        unsigned status;
    } HOUSES[] = {
        { "", 422 },
        { "parts_file: nowhere.parts.yaml\n", 422 },
        { "parts_file: /etc/hostname\n", 409 },
        { "parts_file: quay_flat.house.yaml\n", 409 },
    };
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++) {
        web_write(&k, "houses/mine.house.yaml", str_from(arena_printf(k.asked, "rooftree: 1\n%s", HOUSES[i].names)));
        CHECK_NEAR(HOUSES[i].names, web_get(&k, "/api/houses/mine/parts/model").status, HOUSES[i].status, 0, "");
        CHECK_NEAR(HOUSES[i].names, post(&k, "/api/houses/mine/parts/edits", EDITS(SET("/name", "\"x\"")), NULL).status,
                   HOUSES[i].status, 0, "");
    }
    web_kit_end(&k);
}

TEST(the_parts_file_is_read_and_written_as_text)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    const struct str was = web_file(&k, "parts/demo_eur.parts.yaml");
    const struct reply r = web_get(&k, "/api/houses/quay_flat/parts/file");
    CHECK_TEXT("its bytes", r.body, was);
    CHECK_TEXT("and their revision", r.etag, STR("r1"));
    const struct asked_web put = { .method = "PUT",
                                   .target = "/api/houses/quay_flat/parts/file",
                                   .body = "rooftree_parts: [broken\n",
                                   .if_match = "\"r1\"" };
    struct asked_web without = put;
    without.if_match = NULL;
    CHECK("without a revision", web_ask(&k, without).status == 428);
    CHECK("what cannot be read is written all the same", web_ask(&k, put).status == 200);
    CHECK_TEXT("byte for byte", web_file(&k, "parts/demo_eur.parts.yaml"), STR("rooftree_parts: [broken\n"));
    CHECK_TEXT("and given as it is", web_get(&k, put.target).body, STR("rooftree_parts: [broken\n"));
    CHECK("somebody was there before", web_ask(&k, put).status == 409);
    web_kit_end(&k);
}
