#include "data/device_kinds.h"

#include <string.h>

#include "check.h"

/* Bounds from outside: the generation's streams and widths (IEEE 802.11n: 40 MHz, ac and ax: 160 MHz, from memory); 20 dBm
 * EIRP in 2.4 GHz (ETSI EN 300 328, the DE row of the regulatory database); IEEE 802.3 speeds. */
TEST(device_kinds_are_possible)
{
    uint32_t n;
    const struct device_kind *k = device_kinds(&n);
    for (uint32_t i = 0; i < n; i++) {
        CHECK(k[i].name, device_kind_find(str_from(k[i].name)) == &k[i]); /* once only */
        CHECK(k[i].name, strncmp(k[i].says, "a ", 2) == 0 || strncmp(k[i].says, "an ", 3) == 0);
        CHECK(k[i].name, k[i].bands != 0 && k[i].bands < 1u << BAND_COUNT);
        CHECK(k[i].name, k[i].bands & 1u << BAND_2G4);
        CHECK(k[i].name, !(k[i].bands & 1u << BAND_6G) || k[i].phy >= PHY_AX);
        CHECK(k[i].name, k[i].phy != PHY_AC || k[i].bands & 1u << BAND_5G); /* VHT is defined below 6 GHz, not in 2.4 */
        CHECK(k[i].name, k[i].width_mhz >= 20 && k[i].width_mhz <= (k[i].phy == PHY_N ? 40 : 160));
        CHECK(k[i].name, k[i].streams >= 1 && k[i].streams <= 2);
        CHECK(k[i].name, k[i].power_dbm + k[i].gain_dbi <= 20);
        CHECK(k[i].name, k[i].body_loss_db >= 0 && k[i].noise_figure_db > 0 && k[i].noise_figure_db <= 10);
        CHECK(k[i].name, k[i].power_w > 0);
        CHECK(k[i].name, k[i].speed_mbps == 10 || k[i].speed_mbps == 100 || k[i].speed_mbps == 1000);
    }
    CHECK("the usual kind", device_kind_find(STR(DEVICE_KIND_USUAL)) != NULL);
    CHECK("an unknown kind", device_kind_find(STR("phones")) == NULL);
}
