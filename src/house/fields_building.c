/* The rows of building.h: constructs, floors, walls, planes, obstacles, rooms, runs, mounts. */
#include "house/field_int.h"

WORDS(WORDS_OPENING, [OPENING_DOOR] = "door", [OPENING_WINDOW] = "window", [OPENING_GAP] = "gap");
WORDS(WORDS_PLANE, [PLANE_ROOF] = "roof", [PLANE_STAIR] = "stair", [PLANE_OTHER] = "other");
WORDS(WORDS_SURFACE, [SURFACE_CEILING] = "ceiling", [SURFACE_WALL] = "wall", [SURFACE_SHELF] = "shelf",
      [SURFACE_EAVES] = "eaves", [SURFACE_POLE] = "pole", [SURFACE_CABINET] = "cabinet");
WORDS(WORDS_ROOM_USE, [USE_LIVING] = "living", [USE_KITCHEN] = "kitchen", [USE_DINING] = "dining",
      [USE_BEDROOM] = "bedroom", [USE_OFFICE] = "office", [USE_BATH] = "bath", [USE_HALL] = "hall",
      [USE_STAIRS] = "stairs", [USE_STORE] = "store", [USE_UTILITY] = "utility", [USE_GARAGE] = "garage",
      [USE_WORKSHOP] = "workshop", [USE_BARN] = "barn", [USE_PLANT] = "plant", [USE_OUTDOOR] = "outdoor",
      [USE_OTHER] = "other");
WORDS(WORDS_RUN, [RUN_RISER] = "riser", [RUN_CEILING_VOID] = "ceiling_void", [RUN_UNDER_FLOOR] = "under_floor",
      [RUN_SKIRTING] = "skirting", [RUN_DUCT] = "duct", [RUN_SURFACE] = "surface", [RUN_TRENCH] = "trench",
      [RUN_ATTIC] = "attic");
WORDS(WORDS_DIVIDER, [DIVIDER_NONE] = "none", [DIVIDER_ALUMINIUM] = "aluminium", [DIVIDER_STEEL] = "steel");
STATIC_WORDS(WORDS_KEEP_FREE, "equipment", "outlets", "cable");
STATIC_WORDS(WORDS_MOUNT_USE, "access_point", "camera", "outlet", "cabinet");
STATIC_NUMBER_WORDS(WORDS_BAND_GHZ, "2.4", "5", "6");

static const struct field LAYER[] = {
    NAME(layer, material, REQUIRED, IN(MATERIAL), "what it is made of: a name of the table of materials"),
    NUM(layer, thickness_m, REQUIRED, 1e-9, 5, "how thick the layer is"),
};
static SHAPE(SHAPE_LAYER, layer, LAYER, "a layer", .doc = "One material of a construct, from one face to the other.");

static const struct field MEASURED[] = {
    NUM_OF(measured_loss, band_ghz, REQUIRED, WORDS_BAND_GHZ, "band in which it was measured"),
    NUM(measured_loss, loss_db, REQUIRED, 0, 120, "loss straight through"),
    NUM(measured_loss, low_db, OPTIONAL, 0, 120, "the least it may be; left out: as loss_db"),
    NUM(measured_loss, high_db, OPTIONAL, 0, 120, "the most it may be; left out: as loss_db"),
    TEXT(measured_loss, source, OPTIONAL, TEXT_ANY, "who measured it"),
};
static SHAPE(SHAPE_MEASURED, measured_loss, MEASURED, "a measured loss",
             .doc = "A loss that was measured through the construct; it scales the computed loss at every angle.");

static const struct field CONSTRUCT[] = {
    TEXT(construct, says, OPTIONAL, TEXT_ANY, "what it is, for people"),
    LIST_OF(construct, layers, REQUIRED, SHAPE_LAYER, 1, "its materials, from one face to the other"),
    LIST_OF(construct, measured, OPTIONAL, SHAPE_MEASURED, 0, "losses that were measured, one for each band"),
    NUM(construct, hole_price, OPTIONAL, 0, 1e6, "price of drilling one cable hole through it"),
};
SHAPE(SHAPE_CONSTRUCT, construct, CONSTRUCT, "a construct", .has_id = true,
      .doc =
          "What a wall, door, window or slab is made of. The built-in constructs may be used without declaring them; "
          "one of the same name here takes their place.");

static const struct field HOLE[] = {
    TEXT(floor_hole, what, OPTIONAL, TEXT_ANY, "stairs, void, hatch ..."),
    POINTS2(floor_hole, outline, REQUIRED, 3, "its corners"),
};
static SHAPE(SHAPE_HOLE, floor_hole, HOLE, "a hole", .doc = "An opening in the slab under the floor.");

static const struct field FLOOR[] = {
    TEXT(floor, says, OPTIONAL, TEXT_ANY, "what the household calls it"),
    NUM(floor, level_m, REQUIRED, -100, 300, "its walking surface above the house's datum"),
    NUM(floor, height_m, REQUIRED, 0.3, 30, "from the walking surface to the ceiling"),
    POINTS2(floor, outline, REQUIRED, 3, "its corners, in order; the last joins the first by itself"),
    REF(floor, slab, OPTIONAL, CONSTRUCT, "construct under this floor; left out: open ground"),
    REF(floor, ceiling, OPTIONAL, CONSTRUCT, "construct above it where no other floor's slab is; left out: none"),
    LIST_OF(floor, holes, OPTIONAL, SHAPE_HOLE, 0, "openings in its slab: stairs, hatches"),
    BOOL(floor, open_air, DEFAULT(false), "a garden, yard or terrace"),
};
SHAPE(SHAPE_FLOOR, floor, FLOOR, "a floor", .has_id = true,
      .doc = "A storey of the house or of an outbuilding, or open ground.");

static const struct field OPENING[] = {
    ENUM(opening, kind, REQUIRED, WORDS_OPENING, "what it is; a gap is a hole with nothing in it"),
    NUM(opening, at_m, REQUIRED, 0, 1000, "from the wall's first point to the near side, along the wall"),
    NUM(opening, width_m, REQUIRED, 0.05, 100, "its width"),
    NUM(opening, sill_m, DEFAULT(0), 0, 30, "its lower edge above the floor"),
    NUM(opening, head_m, REQUIRED, 0.05, 30, "its upper edge above the floor"),
    REF(opening, construct, OPTIONAL, CONSTRUCT, "leaf or pane; doors and windows must say it"),
    BOOL(opening, stands_open, DEFAULT(false), "a door that is usually left open counts as a gap"),
};
static const struct variant OPENING_KINDS[] = {
    [OPENING_DOOR] = { "door", "construct", NULL },
    [OPENING_WINDOW] = { "window", "construct", NULL },
    [OPENING_GAP] = { "gap", "", NULL },
};
static SHAPE(SHAPE_OPENING, opening, OPENING, "an opening", .has_id = true, .id_is_key = true,
             .variants = OPENING_KINDS, .n_variants = RT_COUNT(OPENING_KINDS),
             .doc = "A door, window or gap in a wall.");

static const struct field WALL[] = {
    REF(wall, floor, REQUIRED, FLOOR, "the floor it stands on"),
    REF(wall, construct, REQUIRED, CONSTRUCT, "what it is made of"),
    POINTS2(wall, line, REQUIRED, 2, "the middle of the wall, from corner to corner"),
    NUM(wall, base_m, DEFAULT(0), -10, 30, "its lower edge above the floor"),
    NUM(wall, height_m, OPTIONAL, 0.05, 50, "its upper edge above the floor; left out: up to the ceiling"),
    LIST_OF(wall, openings, OPTIONAL, SHAPE_OPENING, 0, "its doors, windows and gaps"),
};
SHAPE(SHAPE_WALL, wall, WALL, "a wall", .has_id = true, .doc = "A wall of one construct along a line.");

static const struct field PLANE[] = {
    REF(plane, floor, REQUIRED, FLOOR, "the floor above which it is measured"),
    REF(plane, construct, REQUIRED, CONSTRUCT, "what it is made of"),
    ENUM(plane, kind, DEFAULT(PLANE_ROOF), WORDS_PLANE, "what it is"),
    POINTS3(plane, outline, REQUIRED, 3, "its corners [x, y, z], z above the floor; flat within 1 cm"),
};
SHAPE(SHAPE_PLANE, plane, PLANE, "a plane", .has_id = true,
      .doc = "A flat, often sloping sheet: the slope of a roof, the underside of a stair.");

static const struct field OBSTACLE[] = {
    REF(obstacle, floor, REQUIRED, FLOOR, "the floor it stands on"),
    REF(obstacle, construct, REQUIRED, CONSTRUCT, "what it is made of"),
    POINTS2(obstacle, outline, OPTIONAL, 3, "the corners of something solid"),
    POINTS2(obstacle, line, OPTIONAL, 2, "the line of something flat, such as a mirror"),
    NUM(obstacle, from_m, DEFAULT(0), -10, 50, "its lower edge above the floor"),
    NUM(obstacle, to_m, REQUIRED, -10, 50, "its upper edge above the floor"),
};
SHAPE(SHAPE_OBSTACLE, obstacle, OBSTACLE, "an obstacle", .has_id = true, .one_of = "outline line",
      .doc = "Something in a room that stops radio: a chimney breast, a tank, a fridge, a mirror. "
             "Either outline or line is given.");

static const struct field ROOM[] = {
    TEXT(room, says, OPTIONAL, TEXT_ANY, "what the household calls it; left out: its id"),
    REF(room, floor, REQUIRED, FLOOR, "the floor it is on"),
    POINTS2(room, outline, REQUIRED, 3, "its corners, in order; the last joins the first by itself"),
    ENUM(room, use, DEFAULT(USE_OTHER), WORDS_ROOM_USE, "what it is used for"),
    BITS(room, keep_free, DEFAULT(0), WORDS_KEEP_FREE, "what the household does not want to see in it"),
};
SHAPE(SHAPE_ROOM, room, ROOM, "a room", .has_id = true, .doc = "A room, or a part of the garden that is used as one.");

static const struct field RUN[] = {
    TEXT(cable_run, says, OPTIONAL, TEXT_ANY, "what it is, for people"),
    ENUM(cable_run, kind, REQUIRED, WORDS_RUN, "what kind of space it is"),
    REFS(cable_run, floors, REQUIRED, FLOOR, 1, "the floors it serves; a riser names two or more"),
    POINTS3(cable_run, line, OPTIONAL, 1, "the way it takes [x, y, z], z above the datum; a riser gives one point"),
    POINTS2(cable_run, outline, OPTIONAL, 3, "or the area it covers, such as a ceiling void"),
    NUM(cable_run, mains_m, OPTIONAL, 0, 10, "distance kept to mains cables in it; left out: not known"),
    ENUM(cable_run, mains_divider, DEFAULT(DIVIDER_NONE), WORDS_DIVIDER,
         "metal between mains and data; plastic counts as none"),
    BOOL(cable_run, mains_screened, DEFAULT(false), "the mains cables in it have a screen or an armour"),
    NUM(cable_run, price_per_m, DEFAULT(0), 0, 1e5, "extra cost of laying cable here"),
    NUM(cable_run, area_mm2, OPTIONAL, 1, 1e7, "room for cable; left out: enough"),
    BOOL(cable_run, outdoors, DEFAULT(false), "cable in it is out of doors"),
};
SHAPE(SHAPE_RUN, cable_run, RUN, "a run", .has_id = true, .one_of = "outline line",
      .doc = "A space in which cable may be laid. Either line or outline is given.");

static const struct field MOUNT[] = {
    REF(mount, floor, OPTIONAL, FLOOR, "the floor, where there is no room"),
    REF(mount, room, OPTIONAL, ROOM, "the room it is in"),
    POINT3(mount, at_m, REQUIRED, "its place [x, y, z], z above the floor"),
    ENUM(mount, surface, REQUIRED, WORDS_SURFACE, "what it is fixed to"),
    NUM(mount, faces_deg, OPTIONAL, -360, 360, "where its front looks: 0 along +y, 90 along +x"),
    NUM(mount, tilt_deg, DEFAULT(0), -90, 90, "0 hangs level or stands square on a wall; more looks down"),
    BITS(mount, use, REQUIRED, WORDS_MOUNT_USE, "what may be fixed there"),
    NUM(mount, price, OPTIONAL, 0, 1e6, "price of fixing something there"),
    BOOL(mount, outdoors, DEFAULT(false), "out in the weather"),
};
SHAPE(SHAPE_MOUNT, mount, MOUNT, "a mount", .has_id = true, .any_of = "room floor",
      .doc = "A place where an access point, camera, outlet or cabinet may be fixed. Either room or floor is given.");
