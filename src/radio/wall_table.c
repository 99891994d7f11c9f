/* The amplitude that passes is kept as size and direction: its size changes slowly with the angle, while real and imaginary
 * part turn many times through a thick wall.  Reflection is kept as real and imaginary part at the front face, since its
 * size has sharp zeros (Brewster's angle, thin layers) through which those two go straight. */
#include "radio/wall_table.h"

#include "base/units.h"
#include "data/materials.h"
#include "radio/slab.h"

/* Channels lie within these (IEEE 802.11 bands, from memory; data/channels has them one by one). */
static const struct {
    double band_ghz, from_hz, to_hz;
} BANDS[] = {
    { 2.4, 2.400e9, 2.4835e9 },
    { 5.0, 5.150e9, 5.895e9 },
    { 6.0, 5.925e9, 7.125e9 },
};

static const double T_ABS_MIN = 1e-10; /* 200 dB: what is opaque still has a finite loss */
static const double SCALE_MOST = 2.0;  /* of the slab by a measured loss; why: wall_table.h */

/* Every so many nodes, and half way between, the exact value is always computed. */
enum { BLOCK = 8 };
_Static_assert((WALL_TABLE_NODES - 1) % BLOCK == 0, "whole blocks");

static double estimate_db(const struct measured_loss *m, enum estimate estimate)
{
    return estimate == ESTIMATE_CAREFUL   ? given_or(m->high_db, m->loss_db)
           : estimate == ESTIMATE_HOPEFUL ? given_or(m->low_db, m->loss_db)
                                          : m->loss_db;
}

double wall_measured_db(const struct construct *c, double f_hz, enum estimate estimate)
{
    double below_hz = 0.0, below_db = RT_NOT_GIVEN, above_hz = (double)INFINITY, above_db = RT_NOT_GIVEN;
    for (uint32_t i = 0; i < c->measured.n; i++) {
        const double loss_db = estimate_db(&c->measured.v[i], estimate);
        for (size_t b = 0; b < RT_COUNT(BANDS); b++) {
            if (fabs(BANDS[b].band_ghz - c->measured.v[i].band_ghz) > 0.05)
                continue;
            if (f_hz >= BANDS[b].from_hz && f_hz <= BANDS[b].to_hz)
                return loss_db;
            if (BANDS[b].to_hz < f_hz && BANDS[b].to_hz > below_hz) {
                below_hz = BANDS[b].to_hz;
                below_db = loss_db;
            }
            if (BANDS[b].from_hz > f_hz && BANDS[b].from_hz < above_hz) {
                above_hz = BANDS[b].from_hz;
                above_db = loss_db;
            }
        }
    }
    if (!is_given(below_db) || !is_given(above_db))
        return given_or(below_db, above_db);
    return below_db + (above_db - below_db) * log(f_hz / below_hz) / log(above_hz / below_hz);
}

/* How the slab's loss becomes the construct's: loss = scale * slab + add_db. */
struct correction {
    double scale, add_db;
};

static struct correction correction_of(double slab_db, double measured_db)
{
    if (!is_given(measured_db))
        return (struct correction){ 1.0, 0.0 };
    const double scale = measured_db < SCALE_MOST * slab_db ? measured_db / slab_db : SCALE_MOST;
    return (struct correction){ scale, measured_db - scale * slab_db };
}

/* The rows of one construct. */
struct rows {
    struct wall_pass *pass;
    struct wall_mirror *mirror;
    struct wall_phase *phase;
};

/* What a construct is made of, for one frequency. */
struct stack {
    const struct slab_layer *layers;
    size_t n;
    double f_hz, thickness_rad; /* thickness times 2 pi / wavelength */
    struct correction fix;
};

static double size_of(double complex a) { return sqrt(creal(a) * creal(a) + cimag(a) * cimag(a)); }

/* The amplitude left by a construct whose slab leaves t. */
static double corrected(double t, struct correction fix)
{
    if (fix.scale != 1.0 || fix.add_db != 0.0)
        t = exp(fix.scale * log(fmax(t, T_ABS_MIN)) - fix.add_db * (log(10.0) / 20.0));
    return fmin(fmax(t, T_ABS_MIN), 1.0);
}

static void set_wave(const struct rows *rows, int node, int wave, struct slab_wave w, double complex air,
                     struct correction fix)
{
    const double size = size_of(w.t), t_abs = corrected(size, fix);
    const double complex direction = size > 0.0 ? w.t * air / size : 1.0;
    rows->pass[node].t_abs[wave] = (float)t_abs;
    rows->phase[node].t_re[wave] = (float)creal(direction);
    rows->phase[node].t_im[wave] = (float)cimag(direction);
    rows->mirror[node].r_re[wave] = (float)creal(w.r);
    rows->mirror[node].r_im[wave] = (float)cimag(w.r);
}

static void set_node(const struct rows *rows, int node, const struct stack *stack)
{
    const double u = (double)node / (WALL_TABLE_NODES - 1), c = u * u;
    const struct slab_waves w = slab_at(stack->layers, stack->n, stack->f_hz, c);
    /* The same way in air takes its phase off. */
    const double complex air = CMPLX(cos(stack->thickness_rad * c), sin(stack->thickness_rad * c));
    set_wave(rows, node, 0, w.te, air, stack->fix);
    set_wave(rows, node, 1, w.tm, air, stack->fix);
}

/* How far the middle of three numbers lies off the straight line between the outer two. */
static double bend(float a, float b, float c) { return fabs((double)b - 0.5 * ((double)a + (double)c)); }

/* True if all curves bend so little over lo, mid, hi that a parabola through the three is as good as the exact values:
 * on a sine that bends by 1 % a parabola is 0.02 % off. */
static bool is_smooth(const struct rows *rows, int lo, int mid, int hi)
{
    bool smooth = true;
    for (int w = 0; w < 2; w++) {
        const float t = rows->pass[mid].t_abs[w];
        const struct wall_mirror *m = rows->mirror;
        const struct wall_phase *f = rows->phase;
        smooth = smooth && bend(rows->pass[lo].t_abs[w], t, rows->pass[hi].t_abs[w]) <= 0.005 * (double)t &&
                 bend(m[lo].r_re[w], m[mid].r_re[w], m[hi].r_re[w]) <= 0.003 &&
                 bend(m[lo].r_im[w], m[mid].r_im[w], m[hi].r_im[w]) <= 0.003 &&
                 bend(f[lo].t_re[w], f[mid].t_re[w], f[hi].t_re[w]) <= 0.1 &&
                 bend(f[lo].t_im[w], f[mid].t_im[w], f[hi].t_im[w]) <= 0.1;
    }
    return smooth;
}

/* Fills a node between lo and hi by the parabolas through lo, mid and hi. */
static void bridge(const struct rows *rows, int node, int lo, int mid, int hi)
{
    const float x = (float)(node - mid) / (float)(hi - mid), a = 0.5f * x * (x - 1.0f), b = 1.0f - x * x,
                c = 0.5f * x * (x + 1.0f);
    for (int w = 0; w < 2; w++) {
        struct wall_pass *p = rows->pass;
        struct wall_mirror *m = rows->mirror;
        struct wall_phase *f = rows->phase;
        p[node].t_abs[w] = a * p[lo].t_abs[w] + b * p[mid].t_abs[w] + c * p[hi].t_abs[w];
        m[node].r_re[w] = a * m[lo].r_re[w] + b * m[mid].r_re[w] + c * m[hi].r_re[w];
        m[node].r_im[w] = a * m[lo].r_im[w] + b * m[mid].r_im[w] + c * m[hi].r_im[w];
        f[node].t_re[w] = a * f[lo].t_re[w] + b * f[mid].t_re[w] + c * f[hi].t_re[w];
        f[node].t_im[w] = a * f[lo].t_im[w] + b * f[mid].t_im[w] + c * f[hi].t_im[w];
    }
}

/* Fills what lies between two exact nodes, exactly where the curves bend, by parabolas where they do not. */
static void fill_between(const struct rows *rows, const struct stack *stack, int lo, int hi)
{
    if (hi - lo < 2)
        return;
    const int mid = (lo + hi) / 2;
    set_node(rows, mid, stack);
    if (is_smooth(rows, lo, mid, hi)) {
        for (int i = lo + 1; i < hi; i++)
            if (i != mid)
                bridge(rows, i, lo, mid, hi);
    } else {
        fill_between(rows, stack, lo, mid);
        fill_between(rows, stack, mid, hi);
    }
}

/* A measured loss below the slab's lets more through than the layers' reflection leaves: what is too much is taken off the
 * reflection.  Last of all, since it puts a corner into the curves. */
static void keep_energy(const struct rows *rows)
{
    for (int i = 0; i < WALL_TABLE_NODES; i++)
        for (int w = 0; w < 2; w++) {
            const float t = fminf(rows->pass[i].t_abs[w], 1.0f), re = rows->mirror[i].r_re[w],
                        im = rows->mirror[i].r_im[w];
            rows->pass[i].t_abs[w] = t;
            const float left = 1.0f - t * t, mirrored = re * re + im * im;
            if (mirrored > left) {
                const float weaken = sqrtf(left / mirrored);
                rows->mirror[i].r_re[w] = re * weaken;
                rows->mirror[i].r_im[w] = im * weaken;
            }
        }
}

static void fill(const struct rows *rows, const struct stack *stack)
{
    set_node(rows, 0, stack);
    for (int i = 0; i + BLOCK < WALL_TABLE_NODES; i += BLOCK) {
        set_node(rows, i + BLOCK, stack);
        fill_between(rows, stack, i, i + BLOCK);
    }
    /* What grazes a good conductor is mirrored one way at the very limit and the other way at the next node: nobody's wall is flat
     * enough for the limit, and a rounding would choose. */
    rows->mirror[0] = rows->mirror[1];
    keep_energy(rows);
}

/* Follows the root of the mean amplitude from square on to grazing. */
static void fill_half(const struct rows *rows, struct wall_half *half)
{
    float last_re = 1.0f, last_im = 0.0f;
    for (int i = WALL_TABLE_NODES - 1; i >= 0; i--) {
        const float *size = rows->pass[i].t_abs;
        const struct wall_phase *f = &rows->phase[i];
        const float re = size[0] * f->t_re[0] + size[1] * f->t_re[1], im = size[0] * f->t_im[0] + size[1] * f->t_im[1];
        const float complex root = csqrtf(CMPLXF(re, im));
        const float length = fmaxf(sqrtf(crealf(root) * crealf(root) + cimagf(root) * cimagf(root)), 1e-20f);
        const float along = crealf(root) * last_re + cimagf(root) * last_im;
        half[i].re = last_re = (along < 0.0f ? -crealf(root) : crealf(root)) / length;
        half[i].im = last_im = (along < 0.0f ? -cimagf(root) : cimagf(root)) / length;
    }
}

/* Gives a construct that is met for the first time the next row. */
static void use(uint32_t *first_node, uint32_t n, struct ref construct, uint32_t *n_nodes)
{
    if (construct.i >= n || first_node[construct.i])
        return;
    first_node[construct.i] = *n_nodes;
    *n_nodes += WALL_TABLE_NODES;
}

/* A house brings the whole library along and is built of a few of its constructs: only these get rows, behind the empty
 * row of all others.  Returns the number of nodes. */
static uint32_t lay_out(const struct house *h, uint32_t *first_node)
{
    const uint32_t n = h->constructs.n;
    uint32_t n_nodes = WALL_TABLE_NODES;
    for (uint32_t i = 0; i < h->floors.n; i++) {
        use(first_node, n, h->floors.v[i].slab, &n_nodes);
        use(first_node, n, h->floors.v[i].ceiling, &n_nodes);
    }
    for (uint32_t i = 0; i < h->walls.n; i++) {
        use(first_node, n, h->walls.v[i].construct, &n_nodes);
        for (uint32_t k = 0; k < h->walls.v[i].openings.n; k++)
            use(first_node, n, h->walls.v[i].openings.v[k].construct, &n_nodes);
    }
    for (uint32_t i = 0; i < h->planes.n; i++)
        use(first_node, n, h->planes.v[i].construct, &n_nodes);
    for (uint32_t i = 0; i < h->obstacles.n; i++)
        use(first_node, n, h->obstacles.v[i].construct, &n_nodes);
    return n_nodes;
}

static bool is_of_solid(const struct house *h, uint32_t construct)
{
    for (uint32_t i = 0; i < h->obstacles.n; i++)
        if (h->obstacles.v[i].construct.i == construct && h->obstacles.v[i].outline.n >= 3)
            return true;
    return false;
}

/* The layers of all constructs, one after the other; first[i] is where those of construct i start. */
struct all_layers {
    struct slab_layer *layers;
    uint32_t *first; /* n_constructs + 1 */
};

static enum rt_code resolve(struct arena *a, const struct house *h, double f_hz, struct all_layers *out,
                            struct rt_problems *p)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->constructs.n; i++)
        n += h->constructs.v[i].layers.n;
    out->layers = ARENA_ARRAY(a, struct slab_layer, n);
    out->first = ARENA_ARRAY(a, uint32_t, (size_t)h->constructs.n + 1);
    if (!out->layers || !out->first)
        return rt_fail_memory(p);
    n = 0;
    for (uint32_t i = 0; i < h->constructs.n; i++) {
        const struct construct *c = &h->constructs.v[i];
        out->first[i] = n;
        for (uint32_t k = 0; k < c->layers.n; k++) {
            const struct layer *layer = &c->layers.v[k];
            const struct material *m = material_find(layer->material);
            if (!m)
                return rt_fail(p, RT_UNKNOWN_REF, layer->at, NULL, "there is no material called '%.*s'",
                               STR_ARG(layer->material));
            out->layers[n++] = (struct slab_layer){ material_permittivity(m, f_hz), layer->thickness_m };
        }
    }
    out->first[h->constructs.n] = n;
    return RT_OK;
}

enum rt_code wall_table_build(const struct run *run, const struct house *h, double f_hz, enum estimate estimate,
                              struct wall_table *out, struct rt_problems *p)
{
    const uint32_t n = h->constructs.n;
    uint32_t *first_node = ARENA_ARRAY(run->arena, uint32_t, n);
    float *half_rad = ARENA_ARRAY(run->arena, float, n);
    if (!first_node || !half_rad)
        return rt_fail_memory(p);
    const uint32_t n_nodes = lay_out(h, first_node);
    const struct rows all_rows = { ARENA_ARRAY(run->arena, struct wall_pass, n_nodes),
                                   ARENA_ARRAY(run->arena, struct wall_mirror, n_nodes),
                                   ARENA_ARRAY(run->arena, struct wall_phase, n_nodes) };
    struct wall_half *half = ARENA_ARRAY(run->arena, struct wall_half, n_nodes);
    if (!all_rows.pass || !all_rows.mirror || !all_rows.phase || !half)
        return rt_fail_memory(p);
    const struct arena_mark mark = arena_mark(run->arena);
    struct all_layers all;
    RT_TRY(resolve(run->arena, h, f_hz, &all, p));
#pragma omp parallel for schedule(static, 1) num_threads(run->n_threads)
    for (uint32_t i = 0; i < n; i++) {
        if (!first_node[i])
            continue;
        struct stack stack = { .layers = &all.layers[all.first[i]],
                               .n = all.first[i + 1] - all.first[i],
                               .f_hz = f_hz };
        for (size_t k = 0; k < stack.n; k++)
            stack.thickness_rad += stack.layers[k].thickness_m * (2.0 * RT_PI * f_hz / RT_C0_M_S);
        half_rad[i] = (float)(0.5 * stack.thickness_rad);
        const double slab_db = slab_loss_db(slab_at(stack.layers, stack.n, f_hz, 1.0).te.t);
        stack.fix = correction_of(slab_db, wall_measured_db(&h->constructs.v[i], f_hz, estimate));
        const struct rows rows = { all_rows.pass + first_node[i], all_rows.mirror + first_node[i],
                                   all_rows.phase + first_node[i] };
        fill(&rows, &stack);
        if (is_of_solid(h, i))
            fill_half(&rows, half + first_node[i]);
    }
    arena_reset(run->arena, mark);
    *out = (struct wall_table){ .f_hz = f_hz,
                                .estimate = estimate,
                                .n_constructs = n,
                                .first_node = first_node,
                                .pass = all_rows.pass,
                                .mirror = all_rows.mirror,
                                .phase = all_rows.phase,
                                .half = half,
                                .half_thickness_rad = half_rad };
    return RT_OK;
}

/* ---- tables that are kept ---- */

struct kept_wall_table {
    struct wall_table table;
    const struct house *h;
    struct kept_wall_table *next;
};

enum rt_code wall_tables_get(struct wall_tables *tables, const struct house *h, double f_hz, enum estimate estimate,
                             const struct wall_table **out, struct rt_problems *p)
{
    struct kept_wall_table *k = tables->first;
    while (k && !(k->h == h && fabs(k->table.f_hz - f_hz) <= 0.0 && k->table.estimate == estimate))
        k = k->next;
    if (!k) {
        k = ARENA_NEW(tables->run->arena, struct kept_wall_table);
        if (!k)
            return rt_fail_memory(p);
        RT_TRY(wall_table_build(tables->run, h, f_hz, estimate, &k->table, p));
        k->h = h;
        k->next = tables->first;
        tables->first = k;
    }
    *out = &k->table;
    return RT_OK;
}

struct wall_amplitudes wall_amplitudes_at(const struct wall_table *t, uint32_t construct, float cos_incidence)
{
    const struct wall_angle angle = wall_angle_of(cos_incidence);
    const size_t i = t->first_node[construct] + angle.node;
    const struct wall_pass *p = &t->pass[i];
    const struct wall_mirror *m = &t->mirror[i];
    const struct wall_phase *f = &t->phase[i];
    /* Mirrored at the middle plane a wave goes further by the way to the front face and back: undone here. */
    const float back_rad = 2.0f * t->half_thickness_rad[construct] * cos_incidence;
    const float back_re = cosf(back_rad), back_im = sinf(back_rad);
    struct wall_amplitudes out;
    for (int w = 0; w < 2; w++) {
        const float t_abs = p[0].t_abs[w] + angle.share * (p[1].t_abs[w] - p[0].t_abs[w]);
        const float t_re = f[0].t_re[w] + angle.share * (f[1].t_re[w] - f[0].t_re[w]);
        const float t_im = f[0].t_im[w] + angle.share * (f[1].t_im[w] - f[0].t_im[w]);
        const float t_scale = t_abs / fmaxf(sqrtf(t_re * t_re + t_im * t_im), 1e-6f);
        const float re = m[0].r_re[w] + angle.share * (m[1].r_re[w] - m[0].r_re[w]);
        const float im = m[0].r_im[w] + angle.share * (m[1].r_im[w] - m[0].r_im[w]);
        out.t[w] = CMPLXF(t_scale * t_re, t_scale * t_im);
        out.r[w] = CMPLXF(re * back_re - im * back_im, re * back_im + im * back_re);
    }
    return out;
}
