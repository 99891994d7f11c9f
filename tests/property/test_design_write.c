/* Houses changed in memory and written into their files: what is read back is what was in memory, member by member, and what was not
 * changed stays to the byte.  (test_design_write.py judges the same with another YAML reader.) */
#include "design_kit.h"

#include "check.h"
#include "design/fit.h"
#include "house/edit.h"

static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                      "houses/whin_farm.house.yaml" };

static struct str write_house(struct check_run *c, const struct house *before, const struct house *after)
{
    struct str bytes = { 0 };
    CHECK_OK(c, fit_write(&c->run, before, after, &bytes, &c->problems));
    return bytes;
}

static struct house *read_text(struct check_run *c, const char *path, struct str text)
{
    struct house *h = NULL;
    CHECK_OK(c, house_read_bytes(&c->run, path, text, &h, &c->problems));
    return h;
}

static bool has(struct str text, const char *part) { return text.n && memmem(text.p, text.n, part, strlen(part)); }

TEST(an_unchanged_house_is_the_same_file)
{
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++) {
        struct check_run c = check_run_begin();
        struct house *h = NULL;
        CHECK_OK(&c, house_read(&c.run, check_path(&c, HOUSES[i]), &h, &c.problems));
        struct house copy = *h;
        CHECK_TEXT(HOUSES[i], write_house(&c, h, &copy), h->bytes);
        check_run_end(&c);
    }
}

/* ---- read back ---- */

static bool near(double a, double b, double tol) { return fabs(a - b) <= tol || (isnan(a) && isnan(b)); }

static bool same_id(struct ref a, struct ref b, const struct str *of_a, const struct str *of_b)
{
    return (a.i == NO_REF) == (b.i == NO_REF) && (a.i == NO_REF || str_eq(*of_a, *of_b));
}
#define SAME_ID(a, b, section, member)                                                                 \
    same_id((a).member, (b).member, (a).member.i == NO_REF ? NULL : &want->section.v[(a).member.i].id, \
            (b).member.i == NO_REF ? NULL : &got->section.v[(b).member.i].id)

static void check_equipment(const struct house *want, const struct house *got)
{
    CHECK("as many things", want->equipment.n == got->equipment.n);
    for (uint32_t i = 0; i < want->equipment.n; i++) {
        const struct equipment *a = &want->equipment.v[i];
        const struct equipment *b = &got->equipment.v[house_find_equipment(got, a->id)];
        CHECK("part", SAME_ID(*a, *b, parts.list, part));
        CHECK("mount", SAME_ID(*a, *b, mounts, mount));
        CHECK("room", SAME_ID(*a, *b, rooms, room));
        CHECK("floor", SAME_ID(*a, *b, floors, floor));
        CHECK("segment", SAME_ID(*a, *b, segments, segment));
        CHECK("inside", SAME_ID(*a, *b, equipment, inside));
        CHECK("place",
              near(a->at_m.x, b->at_m.x, 6e-4) && near(a->at_m.y, b->at_m.y, 6e-4) && near(a->at_m.z, b->at_m.z, 6e-4));
        CHECK("way it looks", near(a->faces_deg, b->faces_deg, 0.06) && near(a->tilt_deg, b->tilt_deg, 0.06));
        CHECK("radios", a->radios.n == b->radios.n && a->movable == b->movable && a->owned == b->owned);
        for (uint32_t r = 0; r < a->radios.n; r++)
            CHECK("set so", a->radios.v[r].band == b->radios.v[r].band &&
                                near(a->radios.v[r].channel, b->radios.v[r].channel, 0) &&
                                near(a->radios.v[r].width_mhz, b->radios.v[r].width_mhz, 0) &&
                                near(a->radios.v[r].power_dbm, b->radios.v[r].power_dbm, 0.051) &&
                                a->radios.v[r].off == b->radios.v[r].off);
        CHECK_TEXT("says", b->says, a->says);
    }
}

static uint32_t find_cable(const struct house *h, struct str id)
{
    for (uint32_t k = 0; k < h->cables.n; k++)
        if (str_eq(h->cables.v[k].id, id))
            return k;
    return NO_REF;
}

static void check_cables(const struct house *want, const struct house *got)
{
    CHECK("as many cables", want->cables.n == got->cables.n);
    for (uint32_t i = 0; i < want->cables.n; i++) {
        const struct cable *a = &want->cables.v[i];
        CHECK("there", find_cable(got, a->id) != NO_REF);
        const struct cable *b = &got->cables.v[find_cable(got, a->id)];
        CHECK_TEXT("from", b->from.what, a->from.what);
        CHECK_TEXT("to", b->to.what, a->to.what);
        CHECK("ports", near(a->from.port, b->from.port, 0) && near(a->to.port, b->to.port, 0));
        CHECK("part", SAME_ID(*a, *b, parts.list, part));
        CHECK("lengths", near(a->length_m, b->length_m, 6e-4) && near(a->cord_from_m, b->cord_from_m, 6e-4) &&
                             near(a->cord_to_m, b->cord_to_m, 6e-4) && a->route.n == b->route.n);
    }
}

static void check_rest(const struct house *want, const struct house *got)
{
    CHECK("mounts", want->mounts.n == got->mounts.n);
    for (uint32_t i = 0; i < want->mounts.n; i++) {
        const struct mount *a = &want->mounts.v[i], *b = &got->mounts.v[i];
        CHECK_TEXT("mount", b->id, a->id);
        CHECK("hangs so", a->surface == b->surface && a->use == b->use && near(a->at_m.x, b->at_m.x, 6e-4) &&
                              near(a->at_m.z, b->at_m.z, 6e-4) && near(a->price, b->price, 6e-3));
    }
    CHECK("batteries", want->batteries.n == got->batteries.n);
    for (uint32_t i = 0; i < want->batteries.n; i++)
        CHECK("feeds", want->batteries.v[i].feeds.n == got->batteries.v[i].feeds.n &&
                           SAME_ID(want->batteries.v[i], got->batteries.v[i], parts.list, part));
    for (uint32_t i = 0; i < want->recordings.n; i++)
        CHECK("disk", near(want->recordings.v[i].disk_gb, got->recordings.v[i].disk_gb, 1e-6));
    CHECK("mesh", near(want->mesh.channel, got->mesh.channel, 0));
    CHECK("segments", want->segments.n == got->segments.n && want->statements.n == got->statements.n);
}

PROP(what_is_written_reads_back, 24)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    struct buf told;
    const char *path = check_path(&c, HOUSES[random_below(r, RT_COUNT(HOUSES))]);
    CHECK_OK(&c, house_read(&c.run, path, &h, &c.problems));
    const struct house *after = change_house(c.run.arena, r, h, &told);
    const struct str bytes = write_house(&c, h, after);
    const struct house *got = read_text(&c, path, bytes);
    check_equipment(after, got);
    check_cables(after, got);
    check_rest(after, got);
    CHECK_TEXT("written again, nothing changes", write_house(&c, got, after), bytes);
    check_run_end(&c);
}

/* ---- other manners of writing ---- */

#define HEAD                                                                                        \
    "rooftree: 1\nname: Test\ncountry: IE\ntime_zone: Europe/Dublin\ncurrency: GBP\n"               \
    "parts_file: ../parts/demo.parts.yaml\n"                                                        \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n" \
    "rooms:\n  den: {floor: ground, outline: [[0, 0], [10, 0], [10, 8], [0, 8]], use: living}\n"

struct made {
    struct check_run c;
    const char *path;
    struct house *before, after;
};

static struct made make(const char *text)
{
    struct made m = { .c = check_run_begin() };
    m.path = check_path(&m.c, "houses/test.house.yaml");
    m.before = read_text(&m.c, m.path, str_from(text));
    m.after = *m.before;
    return m;
}

/* Two access points share their settings by an alias; one of them gets others. */
TEST(what_is_repeated_by_an_alias_is_told_apart)
{
    struct made m = make(HEAD "equipment:\n"
                              "  a: {part: ceiling_two_band, room: den, at_m: [1, 1, 2.4], radios: &like\n"
                              "      [{band: 2.4, channel: 1, width_mhz: 20}, {band: 5, channel: 36}]} # first\n"
                              "  b: {part: ceiling_two_band, room: den, at_m: [9, 7, 2.4], radios: *like}\n"
                              "  d: {part: ceiling_two_band, room: den, at_m: [9, 1, 2.4], radios: *like}\n");
    struct change c = { .a = m.c.run.arena, .h = &m.after };
    CHANGE_GROW(&c, &m.after.equipment);
    for (uint32_t e = 0; e < 2; e++) {
        CHANGE_GROW(&c, &m.after.equipment.v[e].radios);
        m.after.equipment.v[e].radios.v[0].channel = e ? 11 : 6;
    }
    const struct str bytes = write_house(&m.c, m.before, &m.after);
    check_equipment(&m.after, read_text(&m.c, m.path, bytes));
    CHECK("the comment", has(bytes, "# first\n"));
    check_run_end(&m.c);
}

/* Sections that are not there, or are empty, are made. */
TEST(sections_are_made)
{
    struct made m = make(HEAD "equipment: # nothing yet\n");
    struct random r = { .seed = 7 };
    struct change c = { .a = m.c.run.arena, .r = &r, .h = &m.after, .told = { .arena = m.c.run.arena } };
    change_add_ap(&c, change_add_mount(&c));
    m.after.cables.n = 0; /* from itself to itself */
    m.after.mesh.channel = 20;
    const struct str bytes = write_house(&m.c, m.before, &m.after);
    const struct house *got = read_text(&m.c, m.path, bytes);
    check_equipment(&m.after, got);
    check_rest(&m.after, got);
    CHECK("the head stays", bytes.n > strlen(HEAD) && memcmp(bytes.p, HEAD, strlen(HEAD)) == 0);
    CHECK("the comment", has(bytes, "equipment: # nothing yet\n"));
    CHECK("what was not asked for", !has(bytes, "cables"));
    check_run_end(&m.c);
}

/* The same house as JSON text on one line. */
TEST(json_text_is_written_too)
{
    struct made m = make(
        "{\"rooftree\": 1, \"name\": \"Test\", \"country\": \"IE\", \"time_zone\": \"Europe/Dublin\", \"currency\": "
        "\"GBP\", \"parts_file\": \"../parts/demo.parts.yaml\", \"floors\": {\"ground\": {\"level_m\": 0, "
        "\"height_m\": 2.5, \"outline\": [[0, 0], [10, 0], [10, 8], [0, 8]]}}, \"rooms\": {\"den\": {\"floor\": "
        "\"ground\", \"outline\": [[0, 0], [10, 0], [10, 8], [0, 8]]}}, \"mounts\": {\"m\": {\"room\": \"den\", "
        "\"at_m\": [5, 4, 2.4], \"surface\": \"ceiling\", \"use\": [\"access_point\"]}}}");
    struct random r = { .seed = 3 };
    struct change c = { .a = m.c.run.arena, .r = &r, .h = &m.after, .told = { .arena = m.c.run.arena } };
    change_add_ap(&c, 0);
    change_add_ap(&c, change_add_mount(&c));
    m.after.cables.v[0] = m.after.cables.v[1]; /* the first led from the box to itself */
    m.after.cables.n = 1;
    const struct house *got = read_text(&m.c, m.path, write_house(&m.c, m.before, &m.after));
    check_equipment(&m.after, got);
    check_cables(&m.after, got);
    check_rest(&m.after, got);
    check_run_end(&m.c);
}

/* A house that would not read back is not handed out. */
TEST(what_cannot_be_read_back_is_refused)
{
    struct made m = make(HEAD "equipment:\n  a: {part: ceiling_two_band, room: den, at_m: [1, 1, 2.4]}\n");
    struct change c = { .a = m.c.run.arena, .h = &m.after };
    struct str bytes = { 0 };
    CHANGE_GROW(&c, &m.after.equipment);
    m.after.equipment.v[0].at_m.x = 40; /* out of the room */
    CHECK("refused", fit_write(&m.c.run, m.before, &m.after, &bytes, &m.c.problems) == RT_CONFLICT && !bytes.p);
    check_run_end(&m.c);
}
