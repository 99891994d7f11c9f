/* What is plugged in where. */
#include "promise/damage.h"

/* Phones and other things that are carried, and small ones that run for months on theirs (common practice, no source). */
bool device_has_own_cells(const struct house *h, uint32_t device)
{
    static const char *const KINDS[] = { "sensor", "lock", "watch", "laptop", "work_laptop", "phone", "tablet" };
    const struct device *d = &h->devices.v[device];
    for (size_t i = 0; i < RT_COUNT(KINDS); i++)
        if (str_is(d->kind, KINDS[i]))
            return true;
    return d->carried;
}

bool thing_needs_power(const struct house *h, uint32_t thing)
{
    if (thing >= h->equipment.n)
        return !device_has_own_cells(h, thing - h->equipment.n);
    const uint32_t i = h->equipment.v[thing].part.i;
    if (i == NO_REF)
        return true;
    switch (h->parts.list.v[i].kind) {
    case PART_OUTLET:
    case PART_CABINET:
    case PART_CABLE:
    case PART_CORD:
    case PART_BATTERY:
    case PART_DISK: /* it is fed by what it is built into */
        return false;
    default:
        return true;
    }
}

bool line_box_needs_power(const struct house *h)
{
    return h->line.at.line && h->line.box.mode != BOX_NONE && h->line.box.power_w != 0.0;
}

static void add_once(str_list *list, struct str circuit)
{
    for (uint32_t i = 0; i < list->n; i++)
        if (str_eq(list->v[i], circuit))
            return;
    if (circuit.n)
        list->v[list->n++] = circuit;
}

str_list circuits_of_house(struct arena *a, const struct house *h)
{
    str_list list = { .v = ARENA_ARRAY(a, struct str, (size_t)h->equipment.n + h->devices.n + 1) };
    if (!list.v)
        return list;
    for (uint32_t e = 0; e < h->equipment.n; e++)
        add_once(&list, h->equipment.v[e].circuit);
    for (uint32_t d = 0; d < h->devices.n; d++)
        add_once(&list, h->devices.v[d].circuit);
    add_once(&list, h->line.box.circuit);
    return list;
}
