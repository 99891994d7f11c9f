/* What stands and hangs in the house: equipment, devices that are still to be bought, batteries, and fixing them. */
#include "wire/bill_int.h"

static enum work_task set_up_task(enum part_kind kind)
{
    static const enum work_task TASKS[PART_KIND_COUNT] = {
        [PART_ACCESS_POINT] = TASK_SET_UP_ACCESS_POINT,
        [PART_SWITCH] = TASK_SET_UP_SWITCH,
        [PART_GATEWAY] = TASK_SET_UP_GATEWAY,
        [PART_CABLE] = TASK_SET_UP_OTHER,
        [PART_CORD] = TASK_SET_UP_OTHER,
        [PART_OUTLET] = TASK_SET_UP_OTHER,
        [PART_CAMERA] = TASK_SET_UP_CAMERA,
        [PART_RECORDER] = TASK_SET_UP_RECORDER,
        [PART_BATTERY] = TASK_SET_UP_BATTERY,
        [PART_CABINET] = TASK_SET_UP_CABINET,
        [PART_INJECTOR] = TASK_SET_UP_OTHER,
        [PART_CONVERTER] = TASK_SET_UP_OTHER,
        [PART_BRIDGE] = TASK_SET_UP_BRIDGE,
        [PART_DISK] = TASK_SET_UP_OTHER,
        [PART_OPTIC] = TASK_SET_UP_OTHER,
        [PART_PROTECTOR] = TASK_SET_UP_OTHER,
        [PART_SUNDRY] = TASK_SET_UP_OTHER,
    };
    return TASKS[kind];
}

void bill_thing(struct bill_draft *d, uint32_t part, uint32_t phase, bool owned, struct str who)
{
    bill_part(d, BILL_PART, part, phase, owned, who);
    if (!owned)
        bill_labour(d, set_up_task(d->h->parts.list.v[part].kind), phase, 1.0, who);
}

/* Fixing has its price at the mount; without one it is hours, and where nobody is paid by the hour, a gap. */
void bill_fixing(struct bill_draft *d, uint32_t mount, uint32_t phase, struct str who)
{
    const struct mount *m = &d->h->mounts.v[mount];
    if (!is_given(m->price) && bill_pays_labour(d)) {
        bill_labour(d, TASK_FIX, phase, 1.0, who);
        return;
    }
    if (m->price == 0.0)
        return;
    const char *what = arena_printf(d->a, "fixing at %.*s", STR_ARG(m->id));
    d->failed |= !what;
    bill_add(d, (struct bill_item){ .kind = BILL_FIXING,
                                    .phase = phase,
                                    .part = NO_REF,
                                    .what = str_from(what ? what : ""),
                                    .count = 1.0,
                                    .price = m->price,
                                    .who = who });
}

static void add_devices(struct bill_draft *d)
{
    const struct house *h = d->h;
    for (uint32_t i = 0; i < h->devices.n; i++) {
        const struct device *q = &h->devices.v[i];
        const uint32_t part = q->part.n ? parts_find(&h->parts, q->part) : NO_REF;
        if (part != NO_REF)
            bill_thing(d, part, q->owned ? NO_REF : d->device_phase[i], q->owned, q->id);
        else if (!q->owned)
            bill_gap(d, d->device_phase[i], false, "say in devices.%.*s which part it is ('part'): it is to be bought",
                     STR_ARG(q->id));
    }
}

/* A battery of the file is the piece of equipment of that part, one for one; those beyond them are bought. */
static void add_batteries(struct bill_draft *d)
{
    const struct house *h = d->h;
    for (uint32_t i = 0; i < h->batteries.n; i++) {
        const struct battery *q = &h->batteries.v[i];
        uint32_t nth = 1, n_placed = 0;
        for (uint32_t k = 0; k < i; k++)
            nth += h->batteries.v[k].part.i == q->part.i;
        for (uint32_t k = 0; k < h->equipment.n; k++)
            n_placed += h->equipment.v[k].part.i == q->part.i;
        if (nth > n_placed && q->part.i != NO_REF)
            bill_thing(d, q->part.i, NO_REF, false, q->id);
    }
}

void bill_things(struct bill_draft *d)
{
    const struct house *h = d->h;
    for (uint32_t i = 0; i < h->equipment.n; i++) {
        const struct equipment *e = &h->equipment.v[i];
        if (e->part.i != NO_REF)
            bill_thing(d, e->part.i, e->owned ? NO_REF : e->phase.i, e->owned, e->id);
        if (!e->owned && e->mount.i != NO_REF)
            bill_fixing(d, e->mount.i, e->phase.i, e->id);
    }
    add_devices(d);
    add_batteries(d);
}
