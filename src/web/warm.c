#include "web/warm.h"

#include "base/units.h"
#include "web/preview.h"

enum { WARM_MB = 64 };

static enum rt_code lay_cables(struct lane *lane, void *user, struct rt_problems *p)
{
    const struct cable_plan *cables;
    const struct wire_links *links;
    (void)user;
    return evaluation_cables(&lane->ev, &cables, &links, p);
}

/* The band that a page begins with: 5 GHz, else the higher of those there are. */
static enum band first_band(const ap_radio_list *radios)
{
    enum band most = BAND_2G4;
    for (uint32_t i = 0; i < radios->n; i++) {
        if (radios->v[i].band == BAND_5G)
            return BAND_5G;
        most = radios->v[i].band > most ? radios->v[i].band : most;
    }
    return most;
}

/* The quick field of one floor brings those of all. */
static enum rt_code sketch(struct lane *lane, void *user, struct rt_problems *p)
{
    const struct evaluation *ev = &lane->ev;
    const struct run *run = user;
    struct field_asked asked;
    struct field_nodes nodes;
    uint32_t floor = 0;
    while (floor < ev->h->floors.n && ev->h->floors.v[floor].outline.n == 0)
        floor++;
    if (floor == ev->h->floors.n || ev->radios.n == 0)
        return RT_OK;
    const struct field_words words = { .floor = ev->h->floors.v[floor].id,
                                       .band = str_from(band_name(first_band(&ev->radios))) };
    RT_TRY(field_asked_read(ev, &words, &asked, p));
    return preview_still(lane, run, &asked, &nodes, p);
}

static enum rt_code find_house(struct workspaces *all, struct arena *a, struct str *out, struct rt_problems *p)
{
    folder_names names;
    RT_TRY(folder_list(a, &all->folder, &names, p));
    *out = (struct str){ 0 };
    if (names.n != 1)
        return store_newest(all->store, a, out, p);
    *out = names.v[0];
    return RT_OK;
}

static enum rt_code compute(struct workspaces *all, struct arena *a, struct rt_problems *p)
{
    struct str name;
    struct workspace *w = NULL;
    struct run run = all->run;
    struct study_state of;
    run.arena = a;
    RT_TRY(find_house(all, a, &name, p));
    if (!name.n)
        return RT_OK;
    RT_TRY(workspace_find(all, name, &w, p));
    RT_TRY(workspace_compute(w, a, LANE_HOUSE, lay_cables, NULL, &of, p));
    return workspace_compute(w, a, LANE_PREVIEW, sketch, &run, &of, p);
}

void warm_up(struct workspaces *all)
{
    struct rt_problems unheard;
    struct arena *a = arena_new((size_t)WARM_MB << 20);
    if (!a)
        return;
    rt_problems_init(&unheard, a);
    const enum rt_code code RT_UNUSED = compute(all, a, &unheard); /* whoever asks hears of it */
    arena_free(a);
}
