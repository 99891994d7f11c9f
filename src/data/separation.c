#include "data/separation.h"

/* EN 50174-2:2000: by screen of the mains cable, screen of the data cable, divider. */
static const double SEPARATION_M[2][2][DIVIDER_COUNT] = {
    { { 0.200, 0.100, 0.050 }, { 0.050, 0.020, 0.005 } },
    { { 0.030, 0.010, 0.002 }, { 0.0, 0.0, 0.0 } },
};

double separation_min_m(bool mains_screened, bool data_screened, enum divider divider)
{
    return SEPARATION_M[mains_screened][data_screened][divider];
}

double fill_share_max(uint32_t n_cables) { return n_cables <= 1 ? 0.53 : n_cables == 2 ? 0.31 : 0.40; }
