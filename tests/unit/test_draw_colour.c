#include "draw/colour.h"

#include <math.h>

#include "check.h"

static struct colour grey(double code) { return (struct colour){ code / 255.0, code / 255.0, code / 255.0 }; }

/* Source: WCAG 2.2, 'contrast ratio': 21 : 1 is black on white.  #767676 is widely quoted as the lightest grey that passes
 * 4.5 : 1 on white, #777777 as the first that fails (4.54 and 4.48, from memory). */
TEST(contrast_by_wcag)
{
    CHECK_NEAR("black on white", colour_contrast(grey(0), grey(255)), 21.0, 1e-9, "");
    CHECK_NEAR("white on black", colour_contrast(grey(255), grey(0)), 21.0, 1e-9, "");
    CHECK_NEAR("#767676 on white", colour_contrast(grey(0x76), grey(255)), 4.54, 0.005, "");
    CHECK_NEAR("#777777 on white", colour_contrast(grey(0x77), grey(255)), 4.48, 0.005, "");
}

/* Source: WCAG 2.2, 1.4.3 Contrast (Minimum), level AA: 4.5 : 1 for text; 1.4.11: 3 : 1 for lines that carry meaning. */
TEST(text_is_legible_on_the_sheet)
{
    static const enum ink TEXT[] = { INK_LINE, INK_SOFT, INK_ACCENT };
    for (size_t i = 0; i < RT_COUNT(TEXT); i++)
        CHECK("text on the sheet", colour_contrast(colour_ink(TEXT[i]), colour_ink(INK_SHEET)) >= 4.5);
}

TEST(contour_lines_stand_out_from_the_map_everywhere)
{
    for (int i = 0; i <= 255; i++) {
        const struct colour ground = colour_map(i / 255.0);
        CHECK("3 : 1", colour_contrast(colour_ink(colour_ink_on(ground)), ground) >= 3.0);
    }
}

/* Source: ISO/CIE 11664-4: L* is 0 for black, 100 for white, and 116 (Y/Yn)^(1/3) - 16 above Y/Yn = (6/29)^3; so the
 * grey of a fifth of white's luminance has 116 * 0.2^(1/3) - 16 = 51.84.  Its sRGB code by IEC 61966-2-1 is
 * 1.055 * 0.2^(1/2.4) - 0.055 = 0.4845. */
TEST(lightness_by_cie)
{
    CHECK_NEAR("black", colour_lightness(grey(0)), 0.0, 1e-9, "L*");
    CHECK_NEAR("white", colour_lightness(grey(255)), 100.0, 1e-9, "L*");
    CHECK_NEAR("a fifth", colour_lightness(grey(255.0 * (1.055 * pow(0.2, 1.0 / 2.4) - 0.055))),
               116.0 * cbrt(0.2) - 16.0, 1e-3, "L*");
}

/* The map was made so that lightness rises evenly (Nunez et al. 2018, abstract); printed grey, more must stay lighter.
 * Colours are stored in 8 bits, which may hold a step back by a fraction of a unit. */
TEST(map_grows_lighter_evenly)
{
    const double first = colour_lightness(colour_map(0.0)), last = colour_lightness(colour_map(1.0));
    CHECK("dark to light", first < 20.0 && last > 85.0);
    double before = first;
    for (int i = 1; i <= 255; i++) {
        const double now = colour_lightness(colour_map(i / 255.0));
        CHECK("no step back", now > before - 0.05);
        CHECK_NEAR("even", now, first + (last - first) * i / 255.0, 2.5, "L*");
        before = now;
    }
    /* contour lines lie a ninth of the scale apart: grey tones that an eye tells apart */
    for (int i = 0; i < 9; i++)
        CHECK("neighbouring bands differ in grey",
              colour_lightness(colour_map((i + 1) / 9.0)) - colour_lightness(colour_map(i / 9.0)) > 5.0);
}

TEST(map_holds_beyond_its_ends)
{
    const struct colour below = colour_map(-3.0), above = colour_map(7.0), no_number = colour_map(NAN);
    CHECK_NEAR("below", colour_lightness(below), colour_lightness(colour_map(0.0)), 0.0, "L*");
    CHECK_NEAR("above", colour_lightness(above), colour_lightness(colour_map(1.0)), 0.0, "L*");
    CHECK("a number that is none", isfinite(no_number.r));
}
