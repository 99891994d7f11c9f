#include "draw/contour.h"

#include <math.h>

#include "base/units.h"
#include "check.h"

enum { NX = 41, NY = 31 };
#define STEP 0.25

typedef double field_fn(double x, double y);

static struct lattice lattice_of(struct arena *a, field_fn *f)
{
    float *v = ARENA_ARRAY(a, float, NX *NY);
    const struct lattice l = { .nx = NX, .ny = NY, .x0 = -5.0, .y0 = -3.75, .step = STEP, .v = v };
    for (uint32_t i = 0; i < NX * NY; i++)
        v[i] = (float)f(l.x0 + STEP * (double)(i % NX), l.y0 + STEP * (double)(i / NX));
    return l;
}

static bool on_border(const struct lattice *l, struct vec2 p)
{
    const double x1 = l->x0 + l->step * (l->nx - 1), y1 = l->y0 + l->step * (l->ny - 1), e = 1e-6;
    return fabs(p.x - l->x0) < e || fabs(p.x - x1) < e || fabs(p.y - l->y0) < e || fabs(p.y - y1) < e;
}

static double length_of(const struct contour_line *c)
{
    double sum = 0.0;
    for (uint32_t i = 0; i + 1 < c->points.n; i++)
        sum += vec2_len(vec2_sub(c->points.v[i + 1], c->points.v[i]));
    return sum;
}

/* Closed form: on a plane the contour is a straight line, and linear interpolation is exact. */
static double plane(double x, double y) { return 2.0 * x + 0.5 * y; }

TEST(contour_of_a_plane_is_a_straight_line)
{
    struct check_run c = check_run_begin();
    const struct lattice l = lattice_of(c.run.arena, plane);
    contour_list lines;
    CHECK("traced", contour_trace(c.run.arena, &l, 1.3, &lines));
    CHECK_NEAR("lines", lines.n, 1, 0, "");
    const struct contour_line *line = &lines.v[0];
    CHECK("open", !line->is_closed);
    for (uint32_t i = 0; i < line->points.n; i++)
        CHECK_NEAR("on the level", plane(line->points.v[i].x, line->points.v[i].y), 1.3, 2e-6, "");
    CHECK("from border", on_border(&l, line->points.v[0]));
    CHECK("to border", on_border(&l, line->points.v[line->points.n - 1]));
    /* between y = -3.75 and 3.75 the line x = (1.3 - y / 2) / 2 runs 7.5 up and 1.875 across */
    CHECK_NEAR("length", length_of(line), hypot(7.5, 1.875), 1e-5, "m");
    /* higher values lie to the left, which is west when going south: so from high y to low, x being higher east */
    CHECK("direction", line->points.v[0].y > line->points.v[line->points.n - 1].y);
    check_run_end(&c);
}

/* Closed form: a cone's contours are circles.  Along a lattice edge of length h the error of linear interpolation of the
 * distance r is at most h * h / 8 times its second derivative, at most 1 / r. */
static double cone(double x, double y) { return -hypot(x - 0.1, y + 0.05); }

TEST(contour_of_a_cone_is_a_circle)
{
    struct check_run c = check_run_begin();
    const struct lattice l = lattice_of(c.run.arena, cone);
    for (double r = 1.0; r < 3.5; r += 0.37) {
        contour_list lines;
        CHECK("traced", contour_trace(c.run.arena, &l, -r, &lines));
        CHECK_NEAR("lines", lines.n, 1, 0, "");
        const struct contour_line *line = &lines.v[0];
        CHECK("closed", line->is_closed);
        const double chords_err = RT_PI * STEP * STEP / 2.0;
        double area = 0.0;
        for (uint32_t i = 0; i < line->points.n; i++) {
            const struct vec2 p = line->points.v[i], q = line->points.v[(i + 1) % line->points.n];
            CHECK_NEAR("radius", -cone(p.x, p.y), r, STEP * STEP / 8.0 / (r - STEP) + 1e-6, "m");
            area += vec2_cross(p, q) / 2.0;
        }
        /* chords of at most a cell's diagonal leave slivers of 2/3 * sagitta beside them: pi h^2 / 3 in all, and the
         * points' own error is of that order.  Positive: the top of the cone lies on the left all the way round */
        CHECK_NEAR("area", area, RT_PI * r * r, chords_err, "m2");
    }
    check_run_end(&c);
}

/* A pass between two hills: values 1 0 / 0 1; the mean decides which corners hang together. */
TEST(contour_at_a_saddle_follows_the_mean)
{
    struct check_run c = check_run_begin();
    const float v[4] = { 1.0f, 0.0f, 0.0f, 1.0f };
    const struct lattice l = { .nx = 2, .ny = 2, .step = 1.0, .v = v };
    for (int high = 0; high < 2; high++) {
        const double level = high ? 0.7 : 0.3; /* mean 0.5: below it the hills hang together, above it they part */
        contour_list lines;
        CHECK("traced", contour_trace(c.run.arena, &l, level, &lines));
        CHECK_NEAR("lines", lines.n, 2, 0, "");
        for (uint32_t i = 0; i < 2; i++) {
            const struct vec2 mid = vec2_scale(vec2_add(lines.v[i].points.v[0], lines.v[i].points.v[1]), 0.5);
            const bool round_low_corner = (mid.x > 0.5) != (mid.y > 0.5);
            CHECK("cut corner", round_low_corner == !high);
        }
    }
    check_run_end(&c);
}

TEST(contour_of_nothing)
{
    struct check_run c = check_run_begin();
    const float one[1] = { 3.0f };
    const struct lattice point = { .nx = 1, .ny = 1, .step = 1.0, .v = one };
    contour_list lines;
    CHECK("a point", contour_trace(c.run.arena, &point, 3.0, &lines) && lines.n == 0);
    const struct lattice l = lattice_of(c.run.arena, plane);
    CHECK("beyond all values", contour_trace(c.run.arena, &l, 1e9, &lines) && lines.n == 0);
    check_run_end(&c);
}

static bool parts(float a, float b, double level)
{
    return !isnan(a) && !isnan(b) && ((double)a >= level) != ((double)b >= level);
}

/* On any ground, with holes: each parted edge of a whole cell carries exactly one point; neighbours on a line share a
 * cell; a line ends only at the border or beside a hole. */
PROP(contours_have_no_gaps, 200)
{
    struct check_run c = check_run_begin();
    enum { N = 12 };
    float v[N * N];
    const bool has_holes = random_below(r, 2);
    for (int i = 0; i < N * N; i++)
        v[i] = has_holes && random_below(r, 12) == 0 ? NAN : (float)random_between(r, -1.0, 1.0);
    const struct lattice l = { .nx = N, .ny = N, .step = 1.0, .v = v };
    const double level = random_between(r, -0.6, 0.6);
    contour_list lines;
    CHECK("traced", contour_trace(c.run.arena, &l, level, &lines));

    uint32_t n_points = 0, n_parted = 0;
    for (uint32_t i = 0; i < lines.n; i++) {
        const struct contour_line *line = &lines.v[i];
        n_points += line->points.n;
        for (uint32_t k = 0; k + 1 < line->points.n; k++) {
            const struct vec2 p = line->points.v[k], q = line->points.v[k + 1];
            CHECK("neighbours share a cell", fmax(p.x, q.x) - floor(fmin(p.x, q.x)) <= 1.0 + 1e-9 &&
                                                 fmax(p.y, q.y) - floor(fmin(p.y, q.y)) <= 1.0 + 1e-9);
        }
        if (!has_holes && !line->is_closed) {
            CHECK("begins at the border", on_border(&l, line->points.v[0]));
            CHECK("ends at the border", on_border(&l, line->points.v[line->points.n - 1]));
        }
    }
    for (int iy = 0; iy < N; iy++)
        for (int ix = 0; ix < N; ix++) {
            const float *at = &v[iy * N + ix];
            for (int up = 0; up < 2; up++) { /* the edge to the right, then the edge upwards */
                if ((up ? iy : ix) == N - 1 || !parts(at[0], up ? at[N] : at[1], level))
                    continue;
                bool beside_whole_cell = false; /* a cell on one side or the other has four values */
                for (int side = -1; side <= 0; side++) {
                    const int cx = up ? ix + side : ix, cy = up ? iy : iy + side;
                    if (cx < 0 || cy < 0 || cx > N - 2 || cy > N - 2)
                        continue;
                    const float *cell = &v[cy * N + cx];
                    beside_whole_cell = beside_whole_cell ||
                                        (!isnan(cell[0]) && !isnan(cell[1]) && !isnan(cell[N]) && !isnan(cell[N + 1]));
                }
                n_parted += beside_whole_cell;
            }
        }
    CHECK_NEAR("one point to a parted edge", n_points, n_parted, 0, "points");
    check_run_end(&c);
}
