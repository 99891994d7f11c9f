/* beam_tables.c - what the walls do to the waves of the radios of one place, and what amplitudes change by over an edge: all that
 * does not depend on where the place is. */
#include "radio/beam_bent.h"
#include "radio/beam_int.h"

static bool make_tables(struct arena *a, const struct beam_scene *bs, struct beam_tables *t)
{
    const size_t n = (size_t)bs->n_rows * WALL_TABLE_NODES;
    t->pass = ARENA_ARRAY(a, beam_f4, n);
    t->mirror = ARENA_ARRAY(a, beam_f4, n);
    t->pass_phase = ARENA_ARRAY(a, struct beam_c4, n);
    t->mirror_phase = ARENA_ARRAY(a, struct beam_c4, n);
    return t->pass && t->mirror && t->pass_phase && t->mirror_phase;
}

enum { CHUNK = 128 };

/* Some nodes of a row: shares of power, and directions of amplitudes, of what passes and of what is mirrored. */
struct chunk {
    float pass[CHUNK], pass_re[CHUNK], pass_im[CHUNK], mirror[CHUNK], mirror_re[CHUNK], mirror_im[CHUNK];
};

/* To length 1; what has none points ahead. */
static RT_INLINE void set_direction(float re, float im, float *out_re, float *out_im)
{
    const float size2 = re * re + im * im, some = size2 > 1e-24f ? 1.0f : 0.0f;
    const float over = some / sqrtf(size2 > 1e-24f ? size2 : 1.0f);
    *out_re = re * over + (1.0f - some);
    *out_im = im * over;
}

/* The means of both polarisations, wall_effect_at() and wall_amplitudes_at() for waves of half TE and half TM, from node `first` on. */
RT_WIDE static void compute_chunk(const struct wall_table *walls, uint32_t construct, uint32_t first, uint32_t n,
                                  struct chunk *out)
{
    const size_t row = walls->first_node[construct];
    const struct wall_pass *p = walls->pass + row + first;
    const struct wall_mirror *m = walls->mirror + row + first;
    const struct wall_phase *f = walls->phase + row + first;
    const float back_rad = 2.0f * walls->half_thickness_rad[construct];
#pragma omp simd
    for (uint32_t i = 0; i < n; i++) {
        const float root = (float)(int32_t)(first + i) / (float)(WALL_TABLE_NODES - 1);
        float back_re, back_im;
        beam_cos_sin(back_rad * root * root, &back_re, &back_im);
        const float te = p[i].t_abs[0], tm = p[i].t_abs[1];
        const float te_re = m[i].r_re[0], te_im = m[i].r_im[0], tm_re = m[i].r_re[1], tm_im = m[i].r_im[1];
        const float ahead_re = te * f[i].t_re[0] + tm * f[i].t_re[1], ahead_im = te * f[i].t_im[0] + tm * f[i].t_im[1];
        const float re = te_re - tm_re, im = te_im - tm_im;
        out->pass[i] = 0.5f * (te * te + tm * tm);
        out->mirror[i] = 0.5f * ((te_re * te_re + te_im * te_im) + (tm_re * tm_re + tm_im * tm_im));
        set_direction(ahead_re, ahead_im, &out->pass_re[i], &out->pass_im[i]);
        set_direction(re * back_re - im * back_im, re * back_im + im * back_re, &out->mirror_re[i], &out->mirror_im[i]);
    }
}

static void fill_row(const struct wall_table *walls, struct beam_row what, size_t row, uint32_t radio,
                     struct beam_tables *t)
{
    const struct wall_half *half = &walls->half[walls->first_node[what.construct]];
    struct chunk c = { 0 };
    for (uint32_t first = 0; first < WALL_TABLE_NODES; first += CHUNK) {
        const uint32_t n = first + CHUNK < WALL_TABLE_NODES ? CHUNK : WALL_TABLE_NODES - first;
        compute_chunk(walls, what.construct, first, n, &c);
        for (uint32_t i = 0; i < n && what.is_half; i++) {
            c.pass[i] = sqrtf(c.pass[i]);
            set_direction(half[first + i].re, half[first + i].im, &c.pass_re[i], &c.pass_im[i]);
        }
        for (uint32_t i = 0; i < n; i++) {
            const size_t at = row * WALL_TABLE_NODES + first + i;
            t->pass[at][radio] = c.pass[i];
            t->pass_phase[at].re[radio] = c.pass_re[i];
            t->pass_phase[at].im[radio] = c.pass_im[i];
            t->mirror[at][radio] = c.mirror[i];
            t->mirror_phase[at].re[radio] = c.mirror_re[i];
            t->mirror_phase[at].im[radio] = c.mirror_im[i];
        }
    }
}

/* One screen, or two that go on straight behind the edge. */
bool beam_edge_is_flat(const struct beam_edge *e)
{
    return e->n_screens == 1 ||
           (e->n_screens == 2 && e->n_planes == 1 && beam_vec_dot(e->screens[0].along, e->screens[1].along) < -0.999f);
}

/* Amplitude that a screen passes or mirrors at a node of the tables. */
static struct beam_c4 amplitude_at(const struct beam_tables *t, int32_t row, bool is_mirror, uint32_t node)
{
    const size_t i = (size_t)row * WALL_TABLE_NODES + node;
    const beam_f4 size = beam_f4_sqrt(is_mirror ? t->mirror[i] : t->pass[i]);
    const struct beam_c4 phase = is_mirror ? t->mirror_phase[i] : t->pass_phase[i];
    return (struct beam_c4){ size * phase.re, size * phase.im };
}

static bool fill_jump(struct arena *a, const struct beam_tables *t, bool is_mirror, struct beam_jump *out)
{
    struct beam_c4 *at = ARENA_ARRAY(a, struct beam_c4, WALL_TABLE_NODES + 1);
    if (!at)
        return false;
    const float air = is_mirror ? 0.0f : 1.0f; /* without a screen */
    beam_f4 most2 = beam_f4_all(0.0f);
    for (uint32_t i = 0; i < WALL_TABLE_NODES; i++) {
        struct beam_c4 here = { beam_f4_all(air), beam_f4_all(0.0f) }, there = here;
        if (out->row >= 0)
            here = amplitude_at(t, out->row, is_mirror, i);
        if (out->other >= 0)
            there = amplitude_at(t, out->other, is_mirror, i);
        at[i] = (struct beam_c4){ there.re - here.re, there.im - here.im };
        most2 = beam_f4_most(most2, at[i].re * at[i].re + at[i].im * at[i].im);
    }
    at[WALL_TABLE_NODES] = at[WALL_TABLE_NODES - 1];
    out->at = at;
    out->most = beam_f4_sqrt(most2);
    return true;
}

static struct beam_jump empty_jump(const struct beam_edge *e)
{
    return (struct beam_jump){ .row = e->screens[0].row, .other = e->n_screens > 1 ? e->screens[1].row : -1 };
}

const struct beam_jump *beam_jump_of(const struct beam_tables *t, const struct beam_edge *e, bool is_mirror)
{
    const struct beam_jump like = empty_jump(e);
    for (uint32_t i = 0; i < t->jumps.n; i++) {
        const struct beam_jump_kind *k = &t->jumps.v[i];
        if (k->is_mirror == is_mirror && k->jump.row == like.row && k->jump.other == like.other)
            return &k->jump;
    }
    return NULL;
}

static bool find_jumps(struct arena *a, const struct beam_scene *bs, struct beam_tables *t)
{
    VEC(struct beam_jump_kind) jumps = { 0 };
    for (uint32_t i = 0; i < bs->scene->edges.n; i++)
        for (int mirror = 0; mirror < 2; mirror++) {
            const struct beam_edge *e = &bs->edges[i];
            if (!beam_edge_is_flat(e) || beam_jump_of(t, e, mirror))
                continue;
            struct beam_jump_kind kind = { mirror, empty_jump(e) };
            if (!fill_jump(a, t, mirror, &kind.jump) || !VEC_PUSH(a, &jumps, kind))
                return false;
            t->jumps.v = jumps.v;
            t->jumps.n = jumps.n;
        }
    return true;
}

enum rt_code beam_tables_build(const struct run *run, const struct beam_scene *bs, const struct ap_radio *radios,
                               uint32_t n_radios, struct trace_options options, struct beam_tables *out,
                               struct rt_problems *p)
{
    *out = (struct beam_tables){ .n_radios = n_radios, .options = options };
    if (!make_tables(run->arena, bs, out))
        return rt_fail_memory(p);
    for (uint32_t r = 0; r < n_radios; r++) {
        const struct arena_mark mark = arena_mark(run->arena);
        struct wall_table walls;
        RT_TRY(wall_table_build(run, bs->scene->house, radios[r].centre_hz, options.estimate, &walls, p));
        for (uint32_t row = 0; row < bs->n_rows; row++)
            fill_row(&walls, bs->rows[row], row, r, out);
        arena_reset(run->arena, mark);
        out->f_hz[r] = radios[r].centre_hz;
    }
    return options.diffraction && !find_jumps(run->arena, bs, out) ? rt_fail_memory(p) : RT_OK;
}
