/* From the program's columns to an answer, and back. */
#include <math.h>

#include "design/placing_int.h"

void place_read(const struct place_maker *m, const double *x, struct placing_answer *out)
{
    const struct placing *q = m->q;
    for (uint32_t o = 0; o < q->offers.n; o++)
        out->offers[o] = x[m->offers[o]] > 0.5;
    for (uint32_t t = 0; t < q->things.n; t++)
        out->links[t] = NO_REF;
    for (uint32_t w = 0; w < m->ways.n; w++)
        if (x[m->ways.v[w].column] > 0.5)
            out->links[place_link_of(m, w)->thing] = m->ways.v[w].link;
    for (uint32_t i = 0; i < q->hubs.n * q->switches.n; i++)
        out->switches[i] = m->switches[i] == NO_REF ? 0 : (uint32_t)lround(x[m->switches[i]]);
    for (uint32_t c = 0; c < q->cablings.n; c++) {
        int64_t sum_mm = 0, price;
        for (uint32_t t = 0; t < q->things.n; t++)
            if (out->links[t] != NO_REF && q->links.v[out->links[t]].cabling == c)
                sum_mm += place_mm(q->links.v[out->links[t]].length_m);
        out->cablings[c] = place_best_part(&q->cablings.v[c], sum_mm, &price);
    }
}

static uint32_t way_of(const struct place_maker *m, const struct placing_answer *a, uint32_t thing)
{
    const struct placing *q = m->q;
    const struct place_thing *t = &q->things.v[thing];
    const struct place_offer *offer = NULL;
    for (uint32_t o = 0; o < q->offers.n && t->site != NO_REF; o++)
        if (a->offers[o] && q->offers.v[o].site == t->site)
            offer = &q->offers.v[o];
    for (uint32_t w = m->first_way[thing]; w < m->first_way[thing + 1]; w++)
        if (m->ways.v[w].link == a->links[thing] && place_asks_same(m->ways.v[w].asks, place_asks_of(q, t, offer)))
            return w;
    return NO_REF;
}

static void write_way(const struct place_maker *m, uint32_t way, int64_t *sum_mm, double *x)
{
    const struct place_link *l = place_link_of(m, way);
    x[m->ways.v[way].column] = 1;
    x[m->hubs[l->hub]] = 1;
    for (uint32_t i = 0; i < l->works.n; i++)
        x[m->works[l->works.v[i]]] = 1;
    if (l->cabling != NO_REF)
        sum_mm[l->cabling] += place_mm(l->length_m);
}

/* As many times as there are hubs, each is put deeper than what it hangs on. */
static void write_depths(const struct place_maker *m, double *x)
{
    for (uint32_t i = 0; i < m->q->hubs.n; i++)
        for (uint32_t w = 0; w < m->ways.n; w++) {
            const uint32_t hub = m->q->things.v[place_link_of(m, w)->thing].hub;
            if (hub != NO_REF && m->depths[hub] != NO_REF && x[m->ways.v[w].column] > 0.5)
                x[m->depths[hub]] = x[m->depths[place_link_of(m, w)->hub]] + 1;
        }
}

static void write_cables(const struct place_maker *m, const struct placing_answer *a, const int64_t *sum_mm, double *x)
{
    for (uint32_t c = 0; c < m->q->cablings.n; c++) {
        const struct place_cabling *cabling = &m->q->cablings.v[c];
        if (!sum_mm[c] || a->cablings[c] >= cabling->n_parts)
            continue;
        const int64_t mm = place_mm(cabling->parts[a->cablings[c]].per_m), piece_mm = mm > 0 ? mm : 1;
        x[m->takes[m->first_part[c] + a->cablings[c]]] = 1;
        x[m->pieces[m->first_part[c] + a->cablings[c]]] = (double)((sum_mm[c] + piece_mm - 1) / piece_mm);
    }
}

bool place_write(const struct place_maker *m, const struct placing_answer *a, double *x)
{
    const struct placing *q = m->q;
    int64_t *sum_mm = ARENA_ARRAY(m->a, int64_t, q->cablings.n);
    uint64_t *chosen = ARENA_ARRAY(m->a, uint64_t, m->image->n_words);
    if (!sum_mm || !chosen)
        return false;
    for (uint32_t i = 0; i < m->program.columns.n; i++)
        x[i] = 0;
    for (uint32_t o = 0; o < q->offers.n; o++)
        if (a->offers[o]) {
            x[m->offers[o]] = 1;
            x[m->count]++;
            bits_set(chosen, o);
        }
    for (uint32_t h = 0; h < q->hubs.n; h++)
        x[m->hubs[h]] = q->hubs.v[h].is_core;
    for (uint32_t i = 0; i < q->hubs.n * q->switches.n; i++)
        if (m->switches[i] != NO_REF && a->switches[i]) {
            x[m->switches[i]] = a->switches[i];
            x[m->hubs[i / q->switches.n]] = 1;
        }
    for (uint32_t t = 0; t < q->things.n; t++) {
        const uint32_t way = a->links[t] == NO_REF ? NO_REF : way_of(m, a, t);
        if (way != NO_REF)
            write_way(m, way, sum_mm, x);
    }
    write_depths(m, x);
    write_cables(m, a, sum_mm, x);
    for (uint32_t c = 0; c < m->cells.n; c++)
        if (m->cells.v[c] != NO_REF)
            x[m->cells.v[c]] = image_serves(m->image, c, chosen);
    return true;
}
