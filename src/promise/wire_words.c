#include "promise/wire_words.h"

struct str equipment_words(const struct house *h, uint32_t equipment)
{
    const struct equipment *e = &h->equipment.v[equipment];
    return e->says.n ? e->says : e->id;
}

struct str device_words(const struct house *h, uint32_t device)
{
    const struct device *d = &h->devices.v[device];
    return d->says.n ? d->says : d->id;
}

struct str feed_words(const struct house *h, const struct power_feed *f)
{
    return f->equipment != NO_REF ? equipment_words(h, f->equipment) : device_words(h, f->device);
}

struct str feed_id(const struct house *h, const struct power_feed *f)
{
    return f->equipment != NO_REF ? h->equipment.v[f->equipment].id : h->devices.v[f->device].id;
}
