#include "data/poe_classes.h"

#include <stddef.h>

#include "base/compiler.h"

/* Source: IEEE 802.3-2022, tables of clauses 33 and 145, the document itself not opened.  Watts of all classes read on a public
 * page of notes, source volts and currents on a distributor's page of electronic parts; loop resistances and device volts from
 * memory.  They agree: source_w less the loss in the loop gives device_w within 0.07 W (the standard's rounding), which the
 * test shows. */
/* clang-format off */
static const struct poe_class CLASSES[] = {
    /*          type sets  source W  device W  ohm   source V  device V  A of a pair set */
    { .number = 0, 1, 1,     15.4,    12.95,   20.0,     44.0,     37.0,   0.35 },
    { .number = 1, 1, 1,      4.0,     3.84,   20.0,     44.0,     37.0,   0.35 },
    { .number = 2, 1, 1,      7.0,     6.49,   20.0,     44.0,     37.0,   0.35 },
    { .number = 3, 1, 1,     15.4,    12.95,   20.0,     44.0,     37.0,   0.35 },
    { .number = 4, 2, 1,     30.0,    25.5,    12.5,     50.0,     42.5,   0.60 },
    { .number = 5, 3, 2,     45.0,    40.0,    12.5,     50.0,     42.5,   0.60 },
    { .number = 6, 3, 2,     60.0,    51.0,    12.5,     50.0,     42.5,   0.60 },
    { .number = 7, 4, 2,     75.0,    62.0,    12.5,     52.0,     41.1,   0.96 },
    { .number = 8, 4, 2,     90.0,    71.3,    12.5,     52.0,     41.1,   0.96 },
};
/* clang-format on */
_Static_assert(RT_COUNT(CLASSES) == POE_CLASS_TOP + 1, "one row for each class");

const struct poe_class *poe_class(int number)
{
    return number >= 0 && number <= POE_CLASS_TOP ? &CLASSES[number] : NULL;
}

/* Rounding of sums of watts must not refuse a class. */
#define ROUNDING_W 1e-6

static int can_give(int number, int port, double source_w)
{
    return CLASSES[number].source_w <= CLASSES[port].source_w && CLASSES[number].source_w <= source_w + ROUNDING_W;
}

int poe_class_granted(int asked, int port, double source_w)
{
    static const int STEPS[] = { 6, 4, 3 };
    if (!poe_class(asked) || !poe_class(port))
        return -1;
    if (can_give(asked, port, source_w))
        return asked;
    for (size_t i = 0; i < RT_COUNT(STEPS); i++)
        if (asked > STEPS[i] && can_give(STEPS[i], port, source_w))
            return STEPS[i];
    return -1;
}
