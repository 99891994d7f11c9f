/* docs/addresses.md: its example reads as it stands, and its tables are its plan.  With RT_GOLDEN_UPDATE=1 they are
 * written. */
#include "base/file.h"
#include "check.h"
#include "reach/addressing.h"

#include <stdlib.h>
#include <string.h>

static const char FROM[] = "<!-- the plan of the example -->\n\n", TO[] = "\n<!-- end of the plan -->";

static void write_segments(struct buf *b, const struct address_plan *plan)
{
    buf_text(b, "| segment | VLAN | IPv4 | IPv6 within the house | gateway | handed out |\n"
                "| --- | --- | --- | --- | --- | --- |\n");
    for (uint32_t i = 0; i < plan->h->segments.n; i++) {
        const struct segment_plan *s = &plan->segments[i];
        buf_printf(b, "| `%.*s` | %u | ", STR_ARG(plan->h->segments.v[i].id), s->vlan);
        prefix_write(b, s->ipv4);
        buf_text(b, " | ");
        prefix_write(b, s->ula);
        buf_text(b, " | ");
        address_write(b, FAMILY_IPV4, s->ipv4_gateway);
        buf_text(b, " | ");
        if (s->dhcp_from) {
            address_write(b, FAMILY_IPV4, s->dhcp_from);
            buf_text(b, " to ");
            address_write(b, FAMILY_IPV4, s->dhcp_to);
        }
        buf_text(b, s->dhcp_from ? " |\n" : "nothing |\n");
    }
}

static void write_devices(struct buf *b, const struct address_plan *plan)
{
    buf_text(b, "\n| device | name | IPv4 | IPv6 within the house |\n| --- | --- | --- | --- |\n");
    for (uint32_t i = 0; i < plan->h->devices.n; i++) {
        const struct device_plan *d = &plan->devices[i];
        buf_printf(b, "| `%.*s` | %.*s | ", STR_ARG(plan->h->devices.v[i].id), STR_ARG(d->name));
        address_write(b, FAMILY_IPV4, d->ipv4);
        buf_text(b, " | ");
        address_write(b, FAMILY_IPV6, d->ula);
        buf_text(b, " |\n");
    }
}

TEST(the_plan_of_the_example_is_the_pages)
{
    struct check_run c = check_run_begin();
    const char *path = check_path(&c, "docs/addresses.md");
    struct str page;
    CHECK_OK(&c, file_read(c.run.arena, path, 1 << 20, &page, &c.problems));
    const char *yaml = strstr(page.p, "```yaml\n"), *yaml_end = yaml ? strstr(yaml + 8, "```\n") : NULL;
    const char *from = strstr(page.p, FROM), *to = from ? strstr(from, TO) : NULL;
    CHECK("example and tables", yaml_end && to);
    struct house *h = NULL;
    struct address_plan *plan = NULL;
    CHECK_OK(&c, house_read_bytes(&c.run, "example.house.yaml", (struct str){ yaml + 8, (size_t)(yaml_end - yaml) - 8 },
                                  &h, &c.problems));
    CHECK_OK(&c, addresses_plan(&c.run, h, &plan, &c.problems));
    struct buf b = { .arena = c.run.arena };
    write_segments(&b, plan);
    write_devices(&b, plan);
    if (getenv("RT_GOLDEN_UPDATE")) {
        struct buf all = { .arena = c.run.arena };
        buf_add(&all, page.p, (size_t)(from - page.p) + sizeof FROM - 1);
        buf_str(&all, buf_done(&b));
        buf_text(&all, to);
        CHECK_OK(&c, file_write(path, buf_done(&all), 0644, &c.problems));
    } else {
        CHECK_TEXT("tables", ((struct str){ from + sizeof FROM - 1, (size_t)(to - from) - sizeof FROM + 1 }),
                   buf_done(&b));
    }
    check_run_end(&c);
}
