#include "promise/spot_words.h"

#include <math.h>

#include "base/units.h"
#include "house/polygon.h"

/* Distances at which a person would still say 'in the corner' or 'by the window'. */
static const double NEAR_CORNER_M = 1.0, NEAR_WALL_M = 0.8, NEAR_THING_M = 1.3;

enum { CROSSINGS_NAMED_MAX = 5 };

struct str id_words(struct arena *a, struct str id)
{
    char *p = arena_alloc(a, id.n + 1, 1);
    if (!p)
        return STR("");
    for (size_t i = 0; i < id.n; i++)
        p[i] = id.p[i] == '_' ? ' ' : id.p[i];
    return (struct str){ p, id.n };
}

/* A point along a wall's line, at_m from its start. */
static struct vec2 along_line(vec2_list line, double at_m)
{
    for (uint32_t i = 0; i + 1 < line.n; i++) {
        const struct vec2 d = vec2_sub(line.v[i + 1], line.v[i]);
        const double len = vec2_len(d);
        if (at_m <= len || i + 2 == line.n)
            return vec2_add(line.v[i], vec2_scale(d, len > 0.0 ? at_m / len : 0.0));
        at_m -= len;
    }
    return line.v[0];
}

/* The nearest window, door or obstacle that a person would name, if one is near. */
static struct str nearest_thing(struct arena *a, const struct house *h, uint32_t floor, uint32_t room, struct vec2 at)
{
    double best_m = NEAR_THING_M;
    struct str name = STR("");
    for (uint32_t i = 0; i < h->walls.n; i++) {
        const struct wall *w = &h->walls.v[i];
        if (w->floor.i != floor)
            continue;
        for (uint32_t k = 0; k < w->openings.n; k++) {
            const struct opening *o = &w->openings.v[k];
            const double d =
                segment_distance_m(along_line(w->line, o->at_m), along_line(w->line, o->at_m + o->width_m), at);
            if (d < best_m && o->kind != OPENING_GAP) {
                best_m = d;
                name = o->kind == OPENING_DOOR ? STR("door") : STR("window");
            }
        }
    }
    for (uint32_t i = 0; i < h->obstacles.n; i++) {
        const struct obstacle *o = &h->obstacles.v[i];
        const vec2_list line = o->outline.n ? o->outline : o->line;
        /* What stands in the next room is no landmark of this one. */
        if (line.n == 0 || (o->outline.n && house_room_at(h, floor, polygon_middle(o->outline, a)) != room))
            continue;
        for (uint32_t k = 0; o->floor.i == floor && k < line.n; k++) {
            const double d = segment_distance_m(line.v[k], line.v[(k + 1) % line.n], at);
            if (d < best_m) {
                best_m = d;
                name = id_words(a, o->id);
            }
        }
    }
    return name;
}

/* "north-east", from the drawing's north if known, else from up the page. */
static const char *compass(const struct house *h, struct vec2 from, struct vec2 to)
{
    static const char *const WORDS[8] = { "north", "north-east", "east", "south-east",
                                          "south", "south-west", "west", "north-west" };
    const struct vec2 d = vec2_sub(to, from);
    const double bearing_deg = units_deg_from_rad(atan2(d.x, d.y)) - given_or(h->north_deg, 0.0);
    const int eighth = (int)floor((bearing_deg + 720.0 + 22.5) / 45.0);
    return WORDS[eighth % 8];
}

struct str spot_place_words(struct arena *a, const struct house *h, uint32_t floor, struct vec2 at_m)
{
    const uint32_t room = house_room_at(h, floor, at_m);
    double corner_m = INFINITY, wall_m = INFINITY;
    struct vec2 corner = at_m;
    if (room != NO_REF) {
        const vec2_list outline = h->rooms.v[room].outline;
        wall_m = polygon_edge_distance_m(outline, at_m);
        for (uint32_t i = 0; i < outline.n; i++) {
            const double d = vec2_len(vec2_sub(at_m, outline.v[i]));
            if (d < corner_m) {
                corner_m = d;
                corner = outline.v[i];
            }
        }
    }
    const struct str thing = nearest_thing(a, h, floor, room, at_m);
    const bool in_corner = corner_m < NEAR_CORNER_M;
    const char *text;
    if (thing.n)
        text = arena_printf(a, "%sby the %.*s", in_corner ? "corner " : "", STR_ARG(thing));
    else if (in_corner)
        text = arena_printf(a, "%s corner", compass(h, polygon_centre(h->rooms.v[room].outline), corner));
    else if (room != NO_REF && wall_m < NEAR_WALL_M)
        text = arena_printf(a, "%s side", compass(h, polygon_centre(h->rooms.v[room].outline), at_m));
    else
        text = room != NO_REF && h->rooms.v[room].use != USE_OUTDOOR ? "middle of the room" : "in the open";
    return str_from(text ? text : "");
}

struct str spot_words(struct arena *a, const struct house *h, uint32_t floor, struct vec2 at_m)
{
    const uint32_t room = house_room_at(h, floor, at_m);
    const struct str place = spot_place_words(a, h, floor, at_m);
    const struct str name = room != NO_REF ? house_room_name(h, room) : id_words(a, h->floors.v[floor].id);
    const char *text = arena_printf(a, "%.*s, %.*s", STR_ARG(name), STR_ARG(place));
    return str_from(text ? text : "");
}

/* ---- by the tape ---- */

struct side {
    double away_m;
    struct vec2 along; /* unit */
    struct vec2 foot_m;
};

/* The side of the outline nearest to the point that it stands square to, and that does not run along `other` (NULL: any will do). */
static bool nearest_side(vec2_list outline, struct vec2 at, const struct vec2 *other, struct side *out)
{
    static const double PARALLEL = 0.7; /* cosine */
    bool found = false;
    for (uint32_t i = 0; i < outline.n; i++) {
        const struct vec2 a = outline.v[i], ab = vec2_sub(outline.v[(i + 1) % outline.n], a);
        const double len = vec2_len(ab);
        if (len <= 0.0)
            continue;
        const struct vec2 u = vec2_scale(ab, 1.0 / len);
        const double k = vec2_dot(vec2_sub(at, a), u);
        if (k < 0.0 || k > len || (other && fabs(vec2_dot(u, *other)) > PARALLEL))
            continue;
        const struct vec2 foot = vec2_add(a, vec2_scale(u, k));
        const double away = vec2_len(vec2_sub(at, foot));
        if (found && away >= out->away_m)
            continue;
        found = true;
        *out = (struct side){ away, u, foot };
    }
    return found;
}

struct str spot_dims_words(struct arena *a, const struct house *h, uint32_t floor, struct vec2 at_m)
{
    const uint32_t room = house_room_at(h, floor, at_m);
    struct side first, second;
    if (room == NO_REF || !nearest_side(h->rooms.v[room].outline, at_m, NULL, &first))
        return STR("");
    const char *what = h->rooms.v[room].use == USE_OUTDOOR ? "edge" : "wall";
    struct buf b = { .arena = a };
    buf_printf(&b, "%s %s %.2f m", compass(h, at_m, first.foot_m), what, first.away_m);
    if (nearest_side(h->rooms.v[room].outline, at_m, &first.along, &second))
        buf_printf(&b, ", %s %s %.2f m", compass(h, at_m, second.foot_m), what, second.away_m);
    return buf_done(&b);
}

static const struct path *direct_of(path_list paths)
{
    for (uint32_t i = 0; i < paths.n; i++)
        if (paths.v[i].kind == PATH_DIRECT)
            return &paths.v[i];
    return NULL;
}

/* "through brick (-9), stud (-4)", the heaviest first; light crossings are left to the path list. */
static void crossings_words(struct buf *out, struct arena *a, const struct house *h, const struct path *path)
{
    uint32_t named[CROSSINGS_NAMED_MAX], n = 0;
    for (uint32_t k = 0; k < CROSSINGS_NAMED_MAX; k++) {
        uint32_t heaviest = NO_REF;
        for (uint32_t i = 0; i < path->crossings.n; i++) {
            const struct crossing *c = &path->crossings.v[i];
            bool is_named = c->is_reflection || c->loss_db < 0.5;
            for (uint32_t q = 0; q < n; q++)
                is_named = is_named || named[q] == i;
            if (!is_named && (heaviest == NO_REF || c->loss_db > path->crossings.v[heaviest].loss_db))
                heaviest = i;
        }
        if (heaviest == NO_REF)
            break;
        named[n++] = heaviest;
        const struct crossing *c = &path->crossings.v[heaviest];
        const struct str words = id_words(a, h->constructs.v[c->construct].id);
        buf_printf(out, "%s%.*s (%.0f)", k ? ", " : " through ", STR_ARG(words), -c->loss_db);
    }
    if (n == 0)
        buf_text(out, " in plain sight");
}

struct str path_words(struct arena *a, const struct house *h, const struct ap_radio *radio, path_list paths)
{
    struct buf out = { .arena = a };
    const struct path *direct = direct_of(paths);
    const struct str id = h->equipment.v[radio->equipment].id;
    if (paths.n == 0)
        return STR("nothing arrives here");
    if (direct) {
        buf_printf(&out, "%.*s at %.1f m", STR_ARG(id), direct->length_m);
        crossings_words(&out, a, h, direct);
    }
    const struct path *strongest = &paths.v[0];
    if (!direct || (strongest != direct && strongest->gain_db > direct->gain_db + 3.0)) {
        const char *how = strongest->kind == PATH_REFLECTED ? "reflected" : "bent round an edge";
        if (direct)
            buf_printf(&out, "; most arrives %s, %.1f m", how, strongest->length_m);
        else
            buf_printf(&out, "%.*s: all arrives %s, %.1f m", STR_ARG(id), how, strongest->length_m);
    }
    return out.failed ? STR("") : buf_done(&out);
}
