/* beam_tables.c - what the walls do to the waves of the radios of one place, and what amplitudes change by over an edge: all that
 * does not depend on where the place is. */
#include "radio/beam_int.h"

static bool make_tables(struct arena *a, const struct beam_scene *bs, struct beam_tables *t)
{
    const size_t n = (size_t)bs->n_rows * WALL_TABLE_NODES;
    beam_f4 **all[] = { &t->pass, &t->mirror, &t->pass_re, &t->pass_im, &t->mirror_re, &t->mirror_im };
    for (size_t i = 0; i < RT_COUNT(all); i++) {
        *all[i] = ARENA_ARRAY(a, beam_f4, n);
        if (!*all[i])
            return false;
    }
    return true;
}

static void set_phase(beam_f4 *re, beam_f4 *im, uint32_t radio, float complex amplitude)
{
    const float x = crealf(amplitude), y = cimagf(amplitude), size = sqrtf(x * x + y * y);
    (*re)[radio] = size > 1e-12f ? x / size : 1.0f;
    (*im)[radio] = size > 1e-12f ? y / size : 0.0f;
}

static void fill_tables(const struct beam_scene *bs, const struct wall_table *walls, uint32_t radio,
                        struct beam_tables *t)
{
    for (uint32_t row = 0; row < bs->n_rows; row++) {
        const struct beam_row what = bs->rows[row];
        for (uint32_t k = 0; k < WALL_TABLE_NODES; k++) {
            const size_t i = (size_t)row * WALL_TABLE_NODES + k;
            const bool is_last = k == WALL_TABLE_NODES - 1;
            const float root = (float)k / (float)(WALL_TABLE_NODES - 1);
            const struct wall_angle angle = { is_last ? k - 1 : k, is_last ? 1.0f : 0.0f };
            const struct wall_effect e = wall_effect_at(walls, what.construct, angle, 0.5f);
            const struct wall_amplitudes amplitudes = wall_amplitudes_at(walls, what.construct, root * root);
            const float complex through = amplitudes.t[0] + amplitudes.t[1];
            t->pass[i][radio] = what.is_half ? sqrtf(e.pass) : e.pass;
            t->mirror[i][radio] = e.mirror;
            const struct wall_half *half = &walls->half[walls->first_node[what.construct] + k];
            set_phase(&t->pass_re[i], &t->pass_im[i], radio, what.is_half ? CMPLXF(half->re, half->im) : through);
            set_phase(&t->mirror_re[i], &t->mirror_im[i], radio, amplitudes.r[0] - amplitudes.r[1]);
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
    const struct beam_c4 phase = is_mirror ? (struct beam_c4){ t->mirror_re[i], t->mirror_im[i] }
                                           : (struct beam_c4){ t->pass_re[i], t->pass_im[i] };
    return (struct beam_c4){ size * phase.re, size * phase.im };
}

static bool fill_jump(struct arena *a, const struct beam_tables *t, bool is_mirror, struct beam_jump *out)
{
    beam_f4 *re = ARENA_ARRAY(a, beam_f4, WALL_TABLE_NODES + 1), *im = ARENA_ARRAY(a, beam_f4, WALL_TABLE_NODES + 1);
    if (!re || !im)
        return false;
    const float air = is_mirror ? 0.0f : 1.0f; /* without a screen */
    beam_f4 most2 = beam_f4_all(0.0f);
    for (uint32_t i = 0; i < WALL_TABLE_NODES; i++) {
        struct beam_c4 here = { beam_f4_all(air), beam_f4_all(0.0f) }, there = here;
        if (out->row >= 0)
            here = amplitude_at(t, out->row, is_mirror, i);
        if (out->other >= 0)
            there = amplitude_at(t, out->other, is_mirror, i);
        re[i] = there.re - here.re;
        im[i] = there.im - here.im;
        const beam_f4 size2 = re[i] * re[i] + im[i] * im[i];
        for (int r = 0; r < BEAM_RADIOS; r++)
            most2[r] = size2[r] > most2[r] ? size2[r] : most2[r];
    }
    re[WALL_TABLE_NODES] = re[WALL_TABLE_NODES - 1];
    im[WALL_TABLE_NODES] = im[WALL_TABLE_NODES - 1];
    out->re = re;
    out->im = im;
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
        fill_tables(bs, &walls, r, out);
        arena_reset(run->arena, mark);
        out->f_hz[r] = radios[r].centre_hz;
    }
    return options.diffraction && !find_jumps(run->arena, bs, out) ? rt_fail_memory(p) : RT_OK;
}
