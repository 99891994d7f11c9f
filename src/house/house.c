/* Reading a house: bytes to tree, tree to model by the tables, then what follows from it, then whether it can stand. */
#include "house/house.h"

#include <string.h>

#include "base/file.h"
#include "base/units.h"
#include "data/constructs.h"
#include "data/device_kinds.h"
#include "data/materials.h"
#include "data/services.h"
#include "house/field_int.h"
#include "house/model_int.h"
#include "house/other_parts.h"

static const struct yaml_limits LIMITS = {
    .depth = HOUSE_MAX_DEPTH, .aliases = HOUSE_MAX_ALIASES, .items = HOUSE_MAX_ITEMS, .weight = HOUSE_MAX_VALUES
};

/* ---- names from the tables of data/ ---- */

static bool names_of_tables(struct reader *rd)
{
    uint32_t n_kinds, n_flows;
    const struct device_kind *kinds = device_kinds(&n_kinds);
    const struct service_flow *flows = service_flows(&n_flows);
    const uint32_t n_materials = material_count();
    const uint32_t most = n_kinds + n_flows + n_materials;
    struct str *names = ARENA_ARRAY(rd->arena, struct str, most);
    if (!names)
        return reader_no_memory(rd);
    for (uint32_t i = 0; i < n_kinds; i++)
        names[i] = str_from(kinds[i].name);
    bool ok = names_build(rd, SET_DEVICE_KIND, names, n_kinds, sizeof *names);
    for (uint32_t i = 0; i < n_materials; i++)
        names[i] = str_from(material_get(i)->name);
    ok = ok && names_build(rd, SET_MATERIAL, names, n_materials, sizeof *names);
    const struct str box = STR(LINE_BOX_NAME);
    ok = ok && names_build(rd, SET_LINE_BOX, &box, 1, sizeof box);
    uint32_t n = 0;
    for (uint32_t i = 0; i < n_flows; i++)
        if (i == 0 || strcmp(flows[i].name, flows[i - 1].name) != 0)
            names[n++] = str_from(flows[i].name);
    return ok && names_build(rd, SET_SERVICE, names, n, sizeof *names);
}

/* Fills one construct from the library. */
static bool add_built_in(struct reader *rd, const struct built_in_construct *from, struct construct *to)
{
    *to = (struct construct){
        .id = str_from(from->id), .says = str_from(from->says), .hole_price = RT_NOT_GIVEN, .is_built_in = true
    };
    to->layers.v = ARENA_ARRAY(rd->arena, struct layer, from->n_layers);
    to->measured.v = ARENA_ARRAY(rd->arena, struct measured_loss, from->n_measured);
    if (!to->layers.v || !to->measured.v)
        return reader_no_memory(rd);
    for (uint32_t i = 0; i < from->n_layers; i++)
        to->layers.v[to->layers.n++] = (struct layer){ .material = str_from(from->layers[i].material),
                                                       .thickness_m = from->layers[i].thickness_m };
    for (uint32_t i = 0; i < from->n_measured; i++)
        to->measured.v[to->measured.n++] = (struct measured_loss){ .band_ghz = from->measured[i].band_ghz,
                                                                   .loss_db = from->measured[i].loss_db,
                                                                   .low_db = from->measured[i].low_db,
                                                                   .high_db = from->measured[i].high_db,
                                                                   .source = str_from(from->measured[i].source) };
    return true;
}

/* The file's constructs, then those of the library that the file does not redefine. */
static bool append_library(struct reader *rd, struct house *h)
{
    const uint32_t n_library = built_in_construct_count();
    struct construct *all = ARENA_ARRAY(rd->arena, struct construct, h->constructs.n + n_library);
    if (!all)
        return reader_no_memory(rd);
    if (h->constructs.n)
        memcpy(all, h->constructs.v, h->constructs.n * sizeof *all);
    uint32_t n = h->constructs.n;
    for (uint32_t i = 0; i < n_library; i++) {
        const struct built_in_construct *c = built_in_construct_get(i);
        if (names_find(&rd->sets[SET_CONSTRUCT], str_from(c->id)) == NO_REF && !add_built_in(rd, c, &all[n++]))
            return false;
    }
    h->constructs.v = all;
    h->constructs.n = n;
    return names_build(rd, SET_CONSTRUCT, &all->id, n, sizeof *all);
}

/* ---- the tree of one file ---- */

/* The key by which a file of the other kind begins, in one that has not its own: it is told as that, not as full of mistakes. */
static const struct yaml_node *key_of_other(const struct reader *rd, const struct shape *shape)
{
    const struct shape *other = shape == &SHAPE_HOUSE ? &SHAPE_PARTS : &SHAPE_HOUSE;
    for (uint32_t i = 0; i < rd->root->pairs.n && !yaml_get(rd->root, shape->fields[0].key); i++)
        if (str_is(rd->root->pairs.v[i].key->text, other->fields[0].key))
            return rd->root->pairs.v[i].key;
    return NULL;
}

static enum rt_code read_tree(struct reader *rd, const struct shape *shape, struct str bytes)
{
    rt_problems_source(rd->p, rd->file, bytes);
    const enum rt_code code = yaml_read(rd->arena, rd->file, bytes, &LIMITS, &rd->root, rd->p);
    if (!rd->root)
        return code;
    rd->code = code;
    const struct field *version = &shape->fields[0];
    const bool is_map = rd->root->kind == YAML_MAP;
    const struct yaml_node *other = is_map ? key_of_other(rd, shape) : NULL;
    if (is_map && rd->root->pairs.n > 0 && !other)
        return RT_OK;
    if (other && shape == &SHAPE_HOUSE)
        reader_fail(rd, NULL, RT_SHAPE, other->at, "give the house file, which names this one by 'parts_file'",
                    "this is a parts file, not a house file");
    else if (other)
        reader_fail(rd, NULL, RT_SHAPE, other->at, "give the parts file, which a house names by 'parts_file'",
                    "this is a house file, not a parts file");
    else if (is_map)
        reader_fail(rd, NULL, RT_SHAPE, (struct rt_place){ .file = rd->file },
                    reader_text(rd, "begin it with '%s: 1'", version->key), "the file is empty");
    else
        reader_fail(rd, NULL, RT_SHAPE, rd->root->at, reader_text(rd, "begin it with '%s: 1'", version->key),
                    "%s is a mapping (key: value), not %s", shape->a_name, reader_describe(rd, rd->root));
    return rd->code;
}

/* Does x stand before y for a reader of the files?  This reading's own file comes first. */
static bool is_before(const struct reader *rd, const struct rt_problem *x, const struct rt_problem *y)
{
    const bool x_own = x->at.file == rd->file, y_own = y->at.file == rd->file;
    if (x_own != y_own)
        return x_own;
    return x_own && x->at.byte < y->at.byte;
}

/* Mistakes are found section by section and then in what follows from them; people read them down the file.  An
 * insertion sort: it keeps the order of those in one place, and there are RT_PROBLEMS_MAX at most. */
static void sort_problems(struct reader *rd, uint32_t from)
{
    for (uint32_t i = from; i < rd->p->list.n; i++) {
        const struct rt_problem moved = rd->p->list.v[i];
        uint32_t k = i;
        for (; k > from && is_before(rd, &moved, &rd->p->list.v[k - 1]); k--)
            rd->p->list.v[k] = rd->p->list.v[k - 1];
        rd->p->list.v[k] = moved;
    }
}

static enum rt_code reader_end(struct reader *rd, uint32_t from)
{
    if (rd->out_of_memory)
        return rt_fail_memory(rd->p);
    sort_problems(rd, from);
    for (uint32_t i = from; i < rd->p->list.n; i++)
        if (!rd->p->list.v[i].is_warning)
            return rd->p->list.v[i].code;
    return rd->code;
}

/* ---- parts ---- */

enum rt_code parts_read_bytes(const struct run *run, const char *path, struct str bytes, struct parts *out,
                              struct rt_problems *p)
{
    struct reader *rd = ARENA_NEW(run->arena, struct reader);
    if (!rd)
        return rt_fail_memory(p);
    *rd = (struct reader){ .arena = run->arena, .p = p, .file = path };
    const uint32_t from = p->list.n;
    *out = (struct parts){ .path = path };
    RT_TRY(read_tree(rd, &SHAPE_PARTS, bytes));
    reader_collect(rd, &SHAPE_PARTS, rd->root, out);
    if (!rd->out_of_memory)
        reader_object(rd, NULL, &SHAPE_PARTS, rd->root, out);
    if (!rd->out_of_memory)
        parts_check(rd, out);
    return reader_end(rd, from);
}

enum rt_code parts_read(const struct run *run, const char *path, struct parts *out, struct rt_problems *p)
{
    struct str bytes;
    RT_TRY(file_read(run->arena, path, HOUSE_MAX_BYTES, &bytes, p));
    return parts_read_bytes(run, path, bytes, out, p);
}

/* The parts file stands beside the house file unless its path is absolute. */
static const char *path_beside(struct arena *a, const char *house_path, struct str name)
{
    const char *slash = strrchr(house_path, '/');
    if (name.p[0] == '/' || !slash)
        return arena_printf(a, "%.*s", STR_ARG(name));
    return arena_printf(a, "%.*s/%.*s", (int)(slash - house_path), house_path, STR_ARG(name));
}

static void read_parts_of(struct reader *rd, const struct run *run, struct str bytes, struct house *h)
{
    const struct yaml_node *name = yaml_get(rd->root, "parts_file");
    rd->has_no_parts_file = !name;
    rd->is_parts_told = name != NULL;
    if (!name || name->kind != YAML_WORD || name->text.n == 0)
        return;
    const char *path = path_beside(rd->arena, h->path, name->text);
    if (!path) {
        reader_no_memory(rd);
        return;
    }
    const uint32_t before = rd->p->n_errors;
    const enum rt_code code =
        bytes.p ? parts_read_bytes(run, path, bytes, &h->parts, rd->p) : parts_read(run, path, &h->parts, rd->p);
    if (code == RT_IO && rd->p->n_errors == before + 1)
        reader_fail(rd, NULL, RT_IO, name->at, "the path is relative to the house file's folder",
                    "the parts file cannot be read");
    if (code && !rd->code)
        rd->code = code;
    if (code == RT_NOMEM)
        rd->out_of_memory = true;
    rd->is_parts_told = code && h->parts.list.n == 0;
    if (h->parts.list.n)
        names_build(rd, SET_PART, &h->parts.list.v->id, h->parts.list.n, sizeof(struct part));
}

/* ---- the house ---- */

enum rt_code house_read_bytes(const struct run *run, const char *path, struct str bytes, struct house **out,
                              struct rt_problems *p)
{
    return house_read_bytes_with(run, path, bytes, (struct str){ 0 }, out, p);
}

enum rt_code house_read_bytes_with(const struct run *run, const char *path, struct str bytes, struct str parts_bytes,
                                   struct house **out, struct rt_problems *p)
{
    struct reader *rd = ARENA_NEW(run->arena, struct reader);
    struct house *h = ARENA_NEW(run->arena, struct house);
    if (!rd || !h)
        return rt_fail_memory(p);
    *rd = (struct reader){ .arena = run->arena, .p = p, .file = path };
    if (bytes.n > HOUSE_MAX_BYTES)
        return rt_fail(p, RT_LIMIT, (struct rt_place){ .file = path }, NULL,
                       "the file is larger than %d MiB, the most this program reads", HOUSE_MAX_BYTES >> 20);
    const uint32_t from = p->list.n;
    h->path = path;
    h->bytes = bytes;
    RT_TRY(read_tree(rd, &SHAPE_HOUSE, bytes));
    reader_collect(rd, &SHAPE_HOUSE, rd->root, h);
    if (!rd->out_of_memory && names_of_tables(rd) && append_library(rd, h))
        read_parts_of(rd, run, parts_bytes, h);
    if (!rd->out_of_memory)
        reader_object(rd, NULL, &SHAPE_HOUSE, rd->root, h);
    if (!rd->out_of_memory)
        house_complete(rd, h);
    if (!rd->out_of_memory)
        house_check_geometry(rd, h);
    if (!rd->out_of_memory && !rd->code)
        house_stack_storeys(rd, h);
    if (!rd->out_of_memory && !rd->code)
        house_warn(rd, h);
    RT_TRY(reader_end(rd, from));
    *out = h;
    return RT_OK;
}

enum rt_code house_read(const struct run *run, const char *path, struct house **out, struct rt_problems *p)
{
    struct str bytes;
    RT_TRY(file_read(run->arena, path, HOUSE_MAX_BYTES, &bytes, p));
    return house_read_bytes(run, path, bytes, out, p);
}

/* ---- look-ups ---- */

#define FIND(list, id)                             \
    do {                                           \
        for (uint32_t i_ = 0; i_ < (list).n; i_++) \
            if (str_eq((list).v[i_].id, (id)))     \
                return i_;                         \
        return NO_REF;                             \
    } while (0)

uint32_t house_find_floor(const struct house *h, struct str id) { FIND(h->floors, id); }
uint32_t house_find_room(const struct house *h, struct str id) { FIND(h->rooms, id); }
uint32_t house_find_device(const struct house *h, struct str id) { FIND(h->devices, id); }
uint32_t house_find_equipment(const struct house *h, struct str id) { FIND(h->equipment, id); }

bool house_ssid_is_on(const struct house *h, uint32_t ssid, uint32_t equipment, enum band band)
{
    const struct ssid *s = &h->ssids.v[ssid];
    bool is_meant = s->equipment.n == 0;
    for (uint32_t i = 0; i < s->equipment.n; i++)
        is_meant |= s->equipment.v[i].i == equipment;
    return is_meant && (s->bands >> band & 1);
}
uint32_t parts_find(const struct parts *parts, struct str id) { FIND(parts->list, id); }

struct rt_place house_text_place(const struct house *h, struct str text, struct rt_place otherwise)
{
    const struct str all = h->bytes;
    if (text.n == 0 || !all.p || text.p < all.p || text.p > all.p + all.n || text.n > all.n - (size_t)(text.p - all.p))
        return otherwise;
    const size_t byte = (size_t)(text.p - all.p);
    uint32_t line = 1;
    size_t line_start = 0;
    for (size_t i = 0; i < byte; i++)
        if (all.p[i] == '\n') {
            line++;
            line_start = i + 1;
        }
    const size_t col = str_columns((struct str){ all.p + line_start, byte - line_start });
    return (struct rt_place){ .file = h->path, .line = line, .col = (uint32_t)col + 1, .byte = byte, .n = text.n };
}

double house_z_m(const struct house *h, uint32_t floor, double above_floor_m)
{
    return floor < h->floors.n ? h->floors.v[floor].level_m + above_floor_m : above_floor_m;
}

struct str house_room_name(const struct house *h, uint32_t room)
{
    const struct room *r = &h->rooms.v[room];
    return r->says.n ? r->says : r->id;
}

uint32_t house_room_at(const struct house *h, uint32_t floor, struct vec2 at_m)
{
    for (uint32_t i = 0; i < h->rooms.n; i++)
        if (h->rooms.v[i].floor.i == floor && polygon_contains(h->rooms.v[i].outline, at_m))
            return i;
    return NO_REF;
}

static const char *word(const struct words *words, unsigned i) { return i < words->n ? words->v[i] : "?"; }

const char *promise_kind_name(enum promise_kind kind) { return word(&WORDS_PROMISE_KIND, kind); }
const char *band_name(enum band band) { return word(&WORDS_BAND, band); }
const char *estimate_name(enum estimate e) { return word(&WORDS_ESTIMATE, e); }
const char *part_kind_name(enum part_kind kind) { return word(&WORDS_PART_KIND, kind); }

const char *promise_heading(enum promise_kind kind)
{
    static const char *const HEADINGS[PROMISE_KIND_COUNT] = {
#define X(upper, lower, heading) [PROMISE_##upper] = heading,
        PROMISE_KINDS(X)
#undef X
    };
    return kind < PROMISE_KIND_COUNT ? HEADINGS[kind] : "?";
}
