#include "data/materials.h"

#include <math.h>

#include "base/units.h"

/* Electric constant, F/m (CODATA 2018). */
static const double EPS0_F_M = 8.8541878128e-12;

#define LAWS(...)                                         \
    .laws = (const struct material_law[]){ __VA_ARGS__ }, \
    .n_laws = sizeof((const struct material_law[]){ __VA_ARGS__ }) / sizeof(struct material_law)

#define P2040 "ITU-R P.2040-3 (08/2023), Table 3, read in a public implementation"

/* A law valid over all the bands of this program: f_min, f_max, a, b, c, d. */
#define WIFI 1, 10

/* Rows of P.2040-3 first, in the table's order.  tests/unit/test_materials.c compares them with
 * tests/reference/building_materials.csv and water with its Debye relaxation. */
static const struct material MATERIALS[] = {
    { "vacuum", "nothing at all", P2040, LAWS({ 0.001, 100, 1.0, 0, 0, 0 }) },
    { "concrete", "concrete", P2040, LAWS({ 1, 100, 5.24, 0, 0.0462, 0.7822 }, { 110, 330, 5.17, 0, 0.0145, 1.0900 }) },
    { "brick", "brick and its mortar", P2040,
      LAWS({ 1, 40, 3.91, 0, 0.0238, 0.16 }, { 110, 330, 4.15, 0, 0.0006, 1.5712 }) },
    { "plasterboard", "plasterboard", P2040,
      LAWS({ 1, 100, 2.73, 0, 0.0085, 0.9395 }, { 110, 330, 2.56, 0, 0.0001, 1.7799 },
           { 100, 400, 2.65, 0, 0.0002, 1.598 }) },
    { "wood", "solid timber", P2040,
      LAWS({ 0.001, 100, 1.99, 0, 0.0047, 1.0718 }, { 110, 330, 1.82, 0, 0.0040, 1.0761 },
           { 100, 400, 2.1183, 0, 0.0055, 1.1113 }) },
    { "glass", "plain glass", P2040,
      LAWS({ 0.1, 100, 6.31, 0, 0.0036, 1.3394 }, { 220, 450, 5.79, 0, 0.0004, 1.658 },
           { 100, 400, 6.5767, 0, 0.0012, 1.4697 }) },
    { "clear_acrylic", "acrylic sheet", P2040, LAWS({ 110, 330, 2.58, 0, 0.0001, 1.6524 }) },
    { "ceiling_board", "mineral fibre ceiling board", P2040,
      LAWS({ 1, 100, 1.48, 0, 0.0011, 1.0750 }, { 220, 450, 1.52, 0, 0.0029, 1.029 },
           { 100, 400, 1.2567, 0, 0.00013, 1.454 }) },
    { "chipboard", "chipboard", P2040,
      LAWS({ 1, 100, 2.58, 0, 0.0217, 0.7800 }, { 100, 200, 2.16, 0, 0.0023, 1.359 }) },
    /* Far lossier below 40 GHz than any measurement of plywood; the library's constructs avoid it or state a measured
     * loss beside it. */
    { "plywood", "plywood", P2040,
      LAWS({ 1, 40, 2.71, 0, 0.33, 0 }, { 110, 330, 1.94, 0, 0.0067, 0.9982 }, { 100, 400, 2.17, 0, 0.0063, 1.045 }) },
    { "marble", "marble and dense limestone", P2040,
      LAWS({ 1, 60, 7.074, 0, 0.0055, 0.9262 }, { 110, 330, 7.94, 0, 0.0001, 1.7330 },
           { 100, 400, 8.62, 0, 0.0027, 1.15 }) },
    { "floorboard", "floorboard (values known above 50 GHz only: take wood or chipboard)", P2040,
      LAWS({ 50, 100, 3.66, 0, 0.0044, 1.3515 }, { 220, 300, 5.27, 0, 2.22e-17, 7.3413 },
           { 300, 400, 5.27, 0, 0.0003, 2.0298 }, { 400, 450, 5.27, 0, 49.8726, 0 },
           { 100, 400, 3.1575, 0, 0.001675, 1.32775 }) },
    { "vinyl_tile", "vinyl tile", P2040, LAWS({ 1, 40, 3.62, 0, 0.0051, 0.8422 }) },
    { "carpet_tile", "carpet tile", P2040, LAWS({ 1, 40, 2.08, 0, 0.0009, 0.8200 }) },
    { "asphalt_concrete", "asphalt", P2040, LAWS({ 1, 40, 4.83, 0, 0.0108, 1.3969 }) },
    { "metal", "any metal: steel, aluminium, lead, foil", P2040, LAWS({ 1, 100, 1.0, 0, 1e7, 0 }) },
    { "very_dry_ground", "very dry ground", P2040, LAWS({ 1, 10, 3.0, 0, 0.00015, 2.52 }) },
    { "medium_dry_ground", "ground, neither dry nor wet", P2040, LAWS({ 1, 10, 15, -0.1, 0.035, 1.63 }) },
    { "wet_ground", "wet ground", P2040, LAWS({ 1, 10, 30, -0.4, 0.15, 1.30 }) },

    { "air", "air: a cavity or a void",
      "as vacuum; air differs by less than 0.001 in permittivity (ITU-R P.453, from memory)",
      LAWS({ 0.001, 100, 1.0, 0, 0, 0 }) },
    { "water", "water, as in a tank or a radiator",
      "fitted over 2 to 7.5 GHz to a Debye relaxation at 20 degrees C: static 80.1, high 5.2, 9.36 ps (from memory)",
      LAWS({ 2, 7.5, 88.4, -0.117, 0.2725, 1.874 }) },
    { "ceramic_tile", "glazed or porcelain tile",
      "usual values of ceramics, permittivity 6, loss tangent 0.02 (from memory)", LAWS({ WIFI, 6.0, 0, 0.0067, 1 }) },
    { "stone", "rubble, sandstone, granite with its mortar",
      "usual values of building stone, a little damp: permittivity 6.5, loss tangent 0.03 (from memory)",
      LAWS({ WIFI, 6.5, 0, 0.0108, 1 }) },
    { "slate", "roofing slate", "usual values of slate: permittivity 7, loss tangent 0.02 (from memory)",
      LAWS({ WIFI, 7.0, 0, 0.0078, 1 }) },
    { "cob", "cob, rammed earth, adobe",
      "usual values of dry loam with some clay: permittivity 4.5, loss tangent 0.05 (from memory)",
      LAWS({ WIFI, 4.5, 0, 0.0125, 1 }) },
    { "plaster", "gypsum or lime plaster, render", "permittivity 3.5, loss tangent 0.05 (from memory)",
      LAWS({ WIFI, 3.5, 0, 0.0097, 1 }) },
    { "aerated_block", "aerated concrete block", "permittivity 2.2, loss tangent 0.05 (from memory)",
      LAWS({ WIFI, 2.2, 0, 0.0061, 1 }) },
    { "mineral_wool", "mineral or glass wool", "permittivity 1.2, loss tangent 0.005 (from memory)",
      LAWS({ WIFI, 1.2, 0, 0.00033, 1 }) },
    { "insulation_foam", "rigid foam insulation", "permittivity 1.1, loss tangent 0.002 (from memory)",
      LAWS({ WIFI, 1.1, 0, 0.00012, 1 }) },
    { "paper", "books and paper, packed", "permittivity 2.5, loss tangent 0.06 (from memory)",
      LAWS({ WIFI, 2.5, 0, 0.0083, 1 }) },
    { "fabric", "upholstery, clothes, bedding", "permittivity 1.4, loss tangent 0.03 (from memory)",
      LAWS({ WIFI, 1.4, 0, 0.0023, 1 }) },
    { "low_e_coating", "the metal coating of low-e glass; write it 100 nm thick: 0.0000001",
      "10 ohms a square at 100 nm; coatings have 3 (silver) to 16 (tin oxide) ohms a square (from memory)",
      LAWS({ WIFI, 1.0, 0, 1e6, 0 }) },
    { "metal_film", "metallised plastic film on board or insulation; write it 100 nm thick: 0.0000001",
      "1 ohm a square at 100 nm, as of 30 to 50 nm of aluminium (from memory)", LAWS({ WIFI, 1.0, 0, 1e7, 0 }) },
    /* A grid much finer than the wavelength is an inductance in the sheet: its loss falls by 6 dB an octave.  A thin layer
     * does the same if its permittivity is negative and falls as 1/f^2; -2000 is fitted to the two measured losses. */
    { "wire_lath", "expanded metal lath or wire mesh under plaster; write it 1 mm thick: 0.001",
      "fitted to diamond mesh in Wilson 2002: 21.0 dB at 2.3 GHz, 13.2 dB at 5.25 GHz (from memory)",
      LAWS({ WIFI, -2000, -2, 0, 0 }) },
};

uint32_t material_count(void) { return RT_COUNT(MATERIALS); }

const struct material *material_get(uint32_t i) { return &MATERIALS[i]; }

const struct material *material_find(struct str name)
{
    for (size_t i = 0; i < RT_COUNT(MATERIALS); i++)
        if (str_is(name, MATERIALS[i].name))
            return &MATERIALS[i];
    return NULL;
}

/* How far f lies outside the law's range, as the logarithm of a ratio; 0 inside. */
static double outside(const struct material_law *law, double f_ghz)
{
    return fmax(0.0, fmax(log(law->f_min_ghz / f_ghz), log(f_ghz / law->f_max_ghz)));
}

static const struct material_law *nearest_law(const struct material *m, double f_ghz)
{
    const struct material_law *best = &m->laws[0];
    for (uint32_t i = 1; i < m->n_laws; i++)
        if (outside(&m->laws[i], f_ghz) < outside(best, f_ghz))
            best = &m->laws[i];
    return best;
}

bool material_covers(const struct material *m, double f_hz)
{
    const double f_ghz = f_hz / 1e9;
    return outside(nearest_law(m, f_ghz), f_ghz) <= 0.0;
}

double complex material_permittivity(const struct material *m, double f_hz)
{
    const double f_ghz = f_hz / 1e9;
    const struct material_law *law = nearest_law(m, f_ghz);
    const double sigma_s_per_m = law->c_s_per_m * pow(f_ghz, law->d);
    return CMPLX(law->a * pow(f_ghz, law->b), -sigma_s_per_m / (2.0 * RT_PI * f_hz * EPS0_F_M));
}
