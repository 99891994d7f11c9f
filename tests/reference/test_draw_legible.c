/* Are the drawings legible: to who sees little contrast, to who sees colours otherwise, and printed in black and white?  Every
 * formula is written here from its standard; nothing is asked of src/draw/colour.h but its colours. */
#include <math.h>

#include "check.h"
#include "draw/colour.h"

struct rgb {
    double v[3];
};

static struct rgb of(struct colour c) { return (struct rgb){ { c.r, c.g, c.b } }; }

/* Source: IEC 61966-2-1, as quoted by WCAG 2.2 in 'relative luminance': c / 12.92 up to 0.04045, ((c + 0.055) / 1.055)^2.4 above. */
static double decoded(double c) { return c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4); }

static struct rgb linear(struct rgb c) { return (struct rgb){ { decoded(c.v[0]), decoded(c.v[1]), decoded(c.v[2]) } }; }

/* Source: WCAG 2.2, 'relative luminance': 0.2126 R + 0.7152 G + 0.0722 B. */
static double luminance(struct rgb lin) { return 0.2126 * lin.v[0] + 0.7152 * lin.v[1] + 0.0722 * lin.v[2]; }

/* Source: WCAG 2.2, 'contrast ratio': (L1 + 0.05) / (L2 + 0.05), L1 the lighter. */
static double contrast(struct rgb a, struct rgb b)
{
    const double la = luminance(linear(a)) + 0.05, lb = luminance(linear(b)) + 0.05;
    return fmax(la, lb) / fmin(la, lb);
}

/* Source: ISO/CIE 11664-4: L* = 116 f(Y/Yn) - 16, f(t) = t^(1/3) above (6/29)^3, else t / (3 (6/29)^2) + 4/29. */
static double lightness(double y)
{
    const double d = 6.0 / 29.0;
    return 116.0 * (y > d * d * d ? cbrt(y) : y / (3.0 * d * d) + 4.0 / 29.0) - 16.0;
}

static const struct rgb WHITE = { { 1.0, 1.0, 1.0 } };

/* Source: WCAG 2.2, 1.4.3 (AA): text 4.5 : 1.  Sheets lie on their own paper, or in a book on white. */
TEST(every_ink_of_text_is_legible)
{
    static const enum ink TEXT[] = { INK_LINE, INK_SOFT, INK_ACCENT };
    for (size_t i = 0; i < RT_COUNT(TEXT); i++) {
        const struct rgb ink = of(colour_ink(TEXT[i]));
        CHECK("on the sheet", contrast(ink, of(colour_ink(INK_SHEET))) >= 4.5);
        CHECK("on white paper", contrast(ink, WHITE) >= 4.5);
    }
}

/* The same for figures that stand on the map's colours, in the cells of the week. */
TEST(figures_on_the_map_are_legible_on_all_its_colours)
{
    for (int i = 0; i <= 1000; i++) {
        const struct colour ground = colour_map(i / 1000.0);
        CHECK("4.5 : 1", contrast(of(colour_ink(colour_ink_on(ground))), of(ground)) >= 4.5);
    }
}

/* Source: WCAG 2.2, 1.4.11 (AA): 3 : 1 for what must be seen to understand a picture: walls, routes, marks, contour lines. */
TEST(lines_and_marks_stand_out)
{
    static const enum ink LINES[] = { INK_LINE, INK_ACCENT, INK_SOFT };
    for (size_t i = 0; i < RT_COUNT(LINES); i++)
        CHECK("line on paper", contrast(of(colour_ink(LINES[i])), WHITE) >= 3.0);
    for (int i = 0; i <= 1000; i++) {
        const struct colour ground = colour_map(i / 1000.0);
        CHECK("contour line", contrast(of(colour_ink(colour_ink_on(ground))), of(ground)) >= 3.0);
    }
}

/* The map as dichromats see it.  Source: Machado, Oliveira, Fernandes, 'A physiologically-based model for simulation of color
 * vision deficiency', IEEE TVCG 15(6), 2009, matrices of severity 1.0 for linear RGB (from memory; each row sums to 1, as white
 * must stay white, which is checked). */
static const struct {
    const char *name;
    double m[3][3];
} SEEN[] = {
    { "as it is", { { 1, 0, 0 }, { 0, 1, 0 }, { 0, 0, 1 } } },
    { "protanopia",
      { { 0.152286, 1.052583, -0.204868 }, { 0.114503, 0.786281, 0.099216 }, { -0.003882, -0.048116, 1.051998 } } },
    { "deuteranopia",
      { { 0.367322, 0.860646, -0.227968 }, { 0.280085, 0.672501, 0.047413 }, { -0.011820, 0.042940, 0.968881 } } },
    { "tritanopia",
      { { 1.255528, -0.076749, -0.178779 }, { -0.078411, 0.930809, 0.147602 }, { 0.004733, 0.691367, 0.303900 } } },
};

static double seen_lightness(size_t who, double share)
{
    const struct rgb lin = linear(of(colour_map(share)));
    struct rgb out;
    for (int r = 0; r < 3; r++) {
        double sum = 0.0;
        for (int c = 0; c < 3; c++)
            sum += SEEN[who].m[r][c] * lin.v[c];
        out.v[r] = fmin(1.0, fmax(0.0, sum));
    }
    return lightness(luminance(out));
}

/* More is lighter, whoever looks; and the bands between contour lines (a ninth of the map apart) differ by more than L* 5, about
 * what two greys beside one another need to be told apart (common practice, no source).  The map's colours are stored in 8 bits,
 * which can hold a single step back by a fraction of a unit. */
TEST(the_map_grows_lighter_for_everybody)
{
    for (size_t who = 0; who < RT_COUNT(SEEN); who++) {
        for (int r = 0; r < 3; r++)
            CHECK_NEAR(SEEN[who].name, SEEN[who].m[r][0] + SEEN[who].m[r][1] + SEEN[who].m[r][2], 1.0, 2e-6, "");
        for (int i = 4; i <= 255; i++)
            CHECK(SEEN[who].name, seen_lightness(who, i / 255.0) > seen_lightness(who, (i - 4) / 255.0));
        for (int i = 0; i < 9; i++)
            CHECK(SEEN[who].name, seen_lightness(who, (i + 1) / 9.0) - seen_lightness(who, i / 9.0) > 5.0);
    }
}

/* Printed grey: the luma of ITU-R BT.601 (0.299, 0.587, 0.114 of the coded values), which printers' drivers commonly use (common
 * practice, no source). */
TEST(the_map_grows_lighter_in_grey)
{
    double before = -1.0;
    for (int i = 0; i <= 64; i++) {
        const struct colour c = colour_map(i / 64.0);
        const double grey = 0.299 * c.r + 0.587 * c.g + 0.114 * c.b;
        CHECK("lighter", grey > before);
        before = grey;
    }
}
