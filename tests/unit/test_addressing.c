/* The address plan of houses written as text. */
#include "reach/addressing.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "check.h"

static const char HEAD[] = "rooftree: 1\n"
                           "name: Test house\n"
                           "country: GB\n"
                           "time_zone: Europe/London\n"
                           "currency: GBP\n"
                           "floors:\n"
                           "  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n"
                           "rooms:\n"
                           "  hall: { floor: ground, outline: [[0, 0], [4, 0], [4, 6], [0, 6]] }\n";

static struct house *read_house(struct check_run *c, const char *text)
{
    struct house *h = NULL;
    struct str all = str_from(arena_printf(c->run.arena, "%s%s", HEAD, text));
    CHECK_OK(c, house_read_bytes(&c->run, "house.yaml", all, &h, &c->problems));
    return h;
}

static struct address_plan *plan_of(struct check_run *c, const char *text)
{
    struct address_plan *plan = NULL;
    CHECK_OK(c, addresses_plan(&c->run, read_house(c, text), &plan, &c->problems));
    return plan;
}

/* ---- demo houses ---- */

TEST(demo_houses_are_planned)
{
    static const char *const HOUSES[] = { "larch_end", "quay_flat", "whin_farm" };
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++) {
        struct check_run c = check_run_begin();
        struct house *h = NULL;
        struct address_plan *plan = NULL;
        const char *path = check_path(&c, arena_printf(c.run.arena, "houses/%s.house.yaml", HOUSES[i]));
        CHECK_OK(&c, house_read(&c.run, path, &h, &c.problems));
        CHECK_OK(&c, addresses_plan(&c.run, h, &plan, &c.problems));
        if (getenv("RT_SHOW")) {
            struct buf b = { .arena = c.run.arena };
            for (uint32_t k = 0; k < h->segments.n; k++) {
                const struct segment_plan *s = &plan->segments[k];
                buf_printf(&b, "%.*s vlan %u ", STR_ARG(h->segments.v[k].id), s->vlan);
                prefix_write(&b, s->ipv4);
                buf_text(&b, " ");
                prefix_write(&b, s->ula);
                buf_text(&b, " ");
                prefix_write(&b, s->global);
                buf_text(&b, " ");
                address_write(&b, FAMILY_IPV4, s->dhcp_from);
                buf_text(&b, "-");
                address_write(&b, FAMILY_IPV4, s->dhcp_to);
                buf_text(&b, "\n");
            }
            for (uint32_t k = 0; k < h->devices.n; k++) {
                const struct device_plan *d = &plan->devices[k];
                buf_printf(&b, "%.*s ", STR_ARG(d->name));
                address_write(&b, FAMILY_IPV4, d->ipv4);
                buf_text(&b, " ");
                address_write(&b, FAMILY_IPV6, d->ula);
                buf_text(&b, " ");
                mac_write(&b, d->mac);
                buf_text(&b, "\n");
            }
            for (uint32_t k = 0; k < plan->notes.n; k++)
                buf_printf(&b, "note %u: %.*s\n", plan->notes.v[k].at.line, STR_ARG(plan->notes.v[k].says));
            printf("%.*s", STR_ARG(buf_done(&b)));
        }
        check_run_end(&c);
    }
}

TEST(an_empty_house_is_planned)
{
    struct check_run c = check_run_begin();
    const struct address_plan *plan = plan_of(&c, "");
    CHECK("zones", plan->n_zones == ZONE_SEGMENT);
    check_run_end(&c);
}
