#include "data/device_kinds.h"

#define B2 (1u << BAND_2G4)
#define B25 (B2 | 1u << BAND_5G)

/* Common practice, no source: typical printed figures of each kind of thing, rounded to the cautious side.
 * Noise figure 7 dB for a good receiver, 8 dB for a small cheap one. */
/* clang-format off */
static const struct device_kind KINDS[] = {
    /*                                    carried pictures  phy     bands  streams MHz   dBm   dBi  body  NF     W   Mb/s */
    { "phone",       "a phone",             true,  false, PHY_AX, B25,   2,  80.0, 14.0, -2.0, 3.0, 7.0,    4.0,  100 },
    { "tablet",      "a tablet",            true,  false, PHY_AX, B25,   2,  80.0, 15.0, -1.0, 2.0, 7.0,    8.0,  100 },
    { "laptop",      "a laptop",            true,  false, PHY_AX, B25,   2,  80.0, 16.0,  0.0, 1.0, 7.0,   30.0, 1000 },
    { "work_laptop", "a work laptop",       true,  false, PHY_AX, B25,   2,  80.0, 16.0,  0.0, 1.0, 7.0,   30.0, 1000 },
    { "desktop",     "a desktop computer",  false, false, PHY_AX, B25,   2,  80.0, 17.0,  1.0, 1.0, 7.0,   90.0, 1000 },
    { "television",  "a television",        false, false, PHY_AC, B25,   2,  80.0, 15.0,  0.0, 2.0, 7.0,  100.0,  100 },
    { "stick",       "a player",            false, false, PHY_AC, B25,   2,  80.0, 14.0, -1.0, 3.0, 7.0,    4.0,  100 },
    { "speaker",     "a speaker",           false, false, PHY_AC, B25,   1,  20.0, 14.0,  0.0, 1.0, 8.0,    6.0,  100 },
    { "printer",     "a printer",           false, false, PHY_N,  B2,    1,  20.0, 15.0,  0.0, 1.0, 8.0,   12.0,  100 },
    { "console",     "a games console",     false, false, PHY_AC, B25,   2,  80.0, 16.0,  0.0, 2.0, 7.0,  120.0, 1000 },
    { "camera",      "a camera",            false, true,  PHY_N,  B2,    1,  20.0, 15.0,  0.0, 0.0, 8.0,    6.0,  100 },
    { "doorbell",    "a doorbell",          false, true,  PHY_N,  B2,    1,  20.0, 15.0, -1.0, 1.0, 8.0,    4.0,  100 },
    { "sensor",      "a sensor",            false, false, PHY_N,  B2,    1,  20.0, 12.0, -1.0, 1.0, 8.0,    0.5,   10 },
    { "thermostat",  "a thermostat",        false, false, PHY_N,  B2,    1,  20.0, 13.0, -1.0, 1.0, 8.0,    1.5,   10 },
    { "light",       "a light",             false, false, PHY_N,  B2,    1,  20.0, 14.0, -2.0, 2.0, 8.0,    8.0,   10 },
    { "plug",        "a switched plug",     false, false, PHY_N,  B2,    1,  20.0, 14.0, -2.0, 2.0, 8.0,    1.0,   10 },
    { "hub",         "a hub",               false, false, PHY_N,  B2,    1,  20.0, 15.0,  0.0, 1.0, 8.0,    3.0,  100 },
    { "lock",        "a door lock",         false, false, PHY_N,  B2,    1,  20.0, 12.0, -2.0, 2.0, 8.0,    0.5,   10 },
    { "meter",       "a meter",             false, false, PHY_N,  B2,    1,  20.0, 13.0, -2.0, 3.0, 8.0,    2.0,   10 },
    { "appliance",   "a household machine", false, false, PHY_N,  B2,    1,  20.0, 14.0, -2.0, 3.0, 8.0,    2.0,   10 },
    { "vacuum",      "a cleaning robot",    true,  false, PHY_N,  B2,    1,  20.0, 14.0, -1.0, 2.0, 8.0,   20.0,   10 },
    { "charger",     "a car charger",       false, false, PHY_N,  B2,    1,  20.0, 15.0,  0.0, 2.0, 8.0,    5.0,  100 },
    { "heat_pump",   "a heat pump",         false, false, PHY_N,  B2,    1,  20.0, 14.0,  0.0, 2.0, 8.0,    5.0,  100 },
    { "inverter",    "a solar inverter",    false, false, PHY_N,  B2,    1,  20.0, 14.0,  0.0, 2.0, 8.0,    8.0,  100 },
    { "server",      "a server",            false, false, PHY_AC, B25,   2,  80.0, 16.0,  0.0, 1.0, 7.0,   40.0, 1000 },
    { "recorder",    "a recorder",          false, false, PHY_AC, B25,   2,  80.0, 16.0,  0.0, 1.0, 7.0,   20.0, 1000 },
    { "watch",       "a watch",             true,  false, PHY_N,  B2,    1,  20.0, 10.0, -4.0, 3.0, 8.0,    0.3,   10 },
    { "desk_phone",  "a desk telephone",    false, false, PHY_AC, B25,   1,  20.0, 14.0,  0.0, 1.0, 8.0,    4.0,  100 },
    { "monitor",     "a baby monitor",      false, true,  PHY_N,  B2,    1,  20.0, 14.0,  0.0, 1.0, 8.0,    5.0,  100 },
    { "intercom",    "an intercom",         false, true,  PHY_N,  B2,    1,  20.0, 15.0, -1.0, 1.0, 8.0,    6.0,  100 },
    { "weather",     "a weather station",   false, false, PHY_N,  B2,    1,  20.0, 13.0,  0.0, 0.0, 8.0,    1.0,   10 },
    { "other",       "a device",            false, false, PHY_N,  B2,    1,  20.0, 13.0, -2.0, 2.0, 8.0,    5.0,  100 },
};
/* clang-format on */

const struct device_kind *device_kinds(uint32_t *n)
{
    *n = (uint32_t)RT_COUNT(KINDS);
    return KINDS;
}

const struct device_kind *device_kind_find(struct str name)
{
    for (size_t i = 0; i < RT_COUNT(KINDS); i++)
        if (str_is(name, KINDS[i].name))
            return &KINDS[i];
    return NULL;
}
