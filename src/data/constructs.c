#include "data/constructs.h"

#include "base/compiler.h"

#define LAYERS(...)                                           \
    .layers = (const struct built_in_layer[]){ __VA_ARGS__ }, \
    .n_layers = sizeof((const struct built_in_layer[]){ __VA_ARGS__ }) / sizeof(struct built_in_layer)
#define MEASURED(...)                                              \
    .measured = (const struct built_in_measured[]){ __VA_ARGS__ }, \
    .n_measured = sizeof((const struct built_in_measured[]){ __VA_ARGS__ }) / sizeof(struct built_in_measured)
#define NOT_MEASURED .measured = NULL, .n_measured = 0

/* Who measured, and how it was seen.  tests/reference/wall_loss_measured.csv holds the values themselves. */
#define WILSON "Wilson 2002 at 2.3 and 5.25 GHz (from memory)"
#define TR38901 "3GPP TR 38.901 Table 7.4.3-1 (read in a public implementation)"
#define NIST "NISTIR 6055, 1997 (read in a public implementation; fresh, so it may run high)"
#define COST231 "COST 231 multi-wall at 1.8 GHz (read in public implementations)"
#define P1238 "ITU-R P.1238, one floor of a house: 5 dB at 2.4, 7 dB at 5.2 GHz (from memory)"
#define SLAB "the layers by P.2040-3"
#define CARRIED_ON "no measurement at 6 GHz: judged from the 5 GHz values and the layers"
#define NO_SOURCE "common practice, no source: "

static const struct built_in_construct CONSTRUCTS[] = {
    /* ---- walls of brick, block, concrete ---- */
    { "brick_single", "one brick's width, plastered on both sides: an inner wall of an older house",
      LAYERS({ "plaster", 0.013 }, { "brick", 0.1025 }, { "plaster", 0.013 }),
      MEASURED(
          { 2.4, 5.0, 3.3, 7.0, "low " SLAB "; high " COST231 ", heavy wall; between them " WILSON ", 4.4 dB bare" },
          { 5, 9.0, 4.8, 14.6, "low " SLAB "; high " WILSON "; middle half way" },
          { 6, 10.0, 4.8, 16.0, CARRIED_ON }) },
    { "brick_solid", "two bricks' width, plastered inside: the outer wall of an old house",
      LAYERS({ "plaster", 0.013 }, { "brick", 0.215 }),
      MEASURED(
          { 2.4, 8.5, 6.0, 12.0, "low " SLAB "; middle and high twice the single brick of " WILSON ", and moisture" },
          { 5, 16.0, 7.1, 27.0, "low " SLAB "; high nearly twice the single brick of " WILSON "; middle half way" },
          { 6, 18.0, 7.3, 29.0, CARRIED_ON }) },
    { "brick_cavity", "two leaves of brick with a gap, plastered inside",
      LAYERS({ "plaster", 0.013 }, { "brick", 0.1025 }, { "air", 0.05 }, { "brick", 0.1025 }),
      MEASURED(
          { 2.4, 9.0, 6.6, 12.0, "low " SLAB "; middle and high twice the single brick of " WILSON ", and moisture" },
          { 5, 17.0, 7.5, 28.0, "low " SLAB "; high nearly twice the single brick of " WILSON "; middle half way" },
          { 6, 19.0, 7.5, 30.0, CARRIED_ON }) },
    { "block_100", "one concrete block, plastered on both sides: an inner wall that carries",
      LAYERS({ "plaster", 0.013 }, { "concrete", 0.1 }, { "plaster", 0.013 }),
      MEASURED({ 2.4, 7.5, 4.5, 15.0,
                 "middle " SLAB "; high towards " TR38901 "; low hollow block, 194 mm of it 6.7 dB in " WILSON },
               { 5, 14.0, 7.0, 24.0,
                 "middle " SLAB "; high towards " TR38901 "; low hollow block, 194 mm of it 10.3 dB in " WILSON },
               { 6, 16.0, 8.0, 27.0, CARRIED_ON }) },
    { "block_insulated", "aerated block, insulation without foil and brick: the outer wall of a newer house",
      LAYERS({ "plasterboard", 0.0125 }, { "aerated_block", 0.1 }, { "mineral_wool", 0.1 }, { "brick", 0.1025 }),
      MEASURED(
          { 2.4, 7.5, 5.2, 11.0, "low " SLAB "; middle and high with the brick as in " WILSON " and damp block" },
          { 5, 14.0, 8.2, 22.0, "low " SLAB "; high with the brick as in " WILSON " and damp block; middle half way" },
          { 6, 15.5, 8.8, 24.0, CARRIED_ON }) },
    { "concrete_150", "150 mm of reinforced concrete: a flat's walls, a cellar", LAYERS({ "concrete", 0.15 }),
      MEASURED({ 2.4, 14.7, 9.0, 25.0, "middle " TR38901 "; high towards " NIST ", 31 dB; low dry, under " SLAB },
               { 5, 26.0, 15.0, 36.0, "middle " TR38901 "; high towards " NIST ", 40 dB; low dry, under " SLAB },
               { 6, 29.0, 17.0, 40.0, "middle " TR38901 "; low and high: " CARRIED_ON }) },

    /* ---- light walls ---- */
    { "stud_wall", "plasterboard on timber or steel studs",
      LAYERS({ "plasterboard", 0.0125 }, { "air", 0.075 }, { "plasterboard", 0.0125 }),
      MEASURED(
          { 2.4, 2.5, 1.0, 4.0, "low board as in " WILSON ", 0.5 dB each; high above " COST231 ", light wall 3.4 dB" },
          { 5, 3.0, 1.0, 5.5, "low board as in " WILSON "; high TGax scenarios, 5 dB a wall (read), and studs" },
          { 6, 3.5, 1.5, 6.0, CARRIED_ON }) },
    { "stud_foil", "studs with foil-backed board: looks like any stud wall, stops radio like a door of metal",
      LAYERS({ "plasterboard", 0.0125 }, { "metal_film", 1e-7 }, { "mineral_wool", 0.075 }, { "plasterboard", 0.0125 }),
      MEASURED({ 2.4, 25.0, 12.0, 40.0, NO_SOURCE "whole foil passes 44 dB less, joints and sockets leak" },
               { 5, 25.0, 12.0, 40.0, NO_SOURCE "whole foil passes 44 dB less, joints and sockets leak" },
               { 6, 25.0, 12.0, 40.0, NO_SOURCE "whole foil passes 44 dB less, joints and sockets leak" }) },
    { "stud_tiled", "a stud wall tiled on one side: bathrooms, kitchens",
      LAYERS({ "ceramic_tile", 0.008 }, { "plasterboard", 0.0125 }, { "air", 0.075 }, { "plasterboard", 0.0125 }),
      MEASURED({ 2.4, 5.0, 3.3, 9.0,
                 "low " WILSON ", tile 2.2 and board 1 dB; " NO_SOURCE "damp, adhesive and pipes above that" },
               { 5, 6.0, 2.5, 11.0,
                 "low " WILSON ", tile 1.4 and board 1 dB; " NO_SOURCE "damp, adhesive and pipes above that" },
               { 6, 6.5, 3.0, 12.0, CARRIED_ON }) },
    { "lath_plaster", "plaster on wooden laths, on both sides of studs: an inner wall of an old house",
      LAYERS({ "plaster", 0.02 }, { "wood", 0.006 }, { "air", 0.09 }, { "wood", 0.006 }, { "plaster", 0.02 }),
      MEASURED({ 2.4, 5.0, 3.1, 8.0, "low " SLAB "; high above " COST231 ", heavy wall 6.9 dB" },
               { 5, 7.0, 4.0, 12.0, "low " SLAB "; " NO_SOURCE "timber and old plaster lose more at 5 GHz" },
               { 6, 8.0, 4.0, 13.0, CARRIED_ON }) },
    /* One sheet of lath in the layers: two would ring at some frequency, which no real wall is even enough to do. */
    { "wire_lath_plaster", "plaster on metal lath on both sides: patches, fire walls, the 1930s",
      LAYERS({ "plaster", 0.02 }, { "wire_lath", 0.001 }, { "air", 0.09 }, { "plaster", 0.02 }),
      MEASURED({ 2.4, 21.0, 14.6, 32.0,
                 "low one face as stucco in " WILSON "; middle its bare mesh; " NO_SOURCE "high two faces" },
               { 5, 18.0, 13.2, 28.0, "low bare mesh in " WILSON "; " NO_SOURCE "middle and high two faces" },
               { 6, 17.0, 12.0, 26.0, CARRIED_ON }) },
    { "timber_cladding", "a timber frame wall, boarded outside, insulated without foil",
      LAYERS({ "wood", 0.02 }, { "air", 0.025 }, { "chipboard", 0.012 }, { "mineral_wool", 0.14 },
             { "plasterboard", 0.0125 }),
      MEASURED({ 2.4, 5.1, 3.0, 9.0,
                 "middle " TR38901 ", wood; low under " SLAB ", 3.9 dB; high with studs as fir in " WILSON },
               { 5, 7.0, 3.0, 14.0,
                 "low " SLAB "; middle above " TR38901 ", wood 5.5 dB; high with studs as fir in " WILSON },
               { 6, 7.5, 3.0, 16.0, CARRIED_ON }) },

    /* ---- thick old walls ---- */
    { "stone_500", "half a metre of squared stone, plastered inside", LAYERS({ "stone", 0.5 }, { "plaster", 0.02 }),
      MEASURED({ 2.4, 14.0, 10.0, 22.0,
                 "middle above COST 231, stone blocks 12 dB at 0.9 to 1.8 GHz (read); low the layers; " NO_SOURCE
                 "high damp" },
               { 5, 25.0, 16.0, 38.0, NO_SOURCE "the layers, dry and damp" }, { 6, 29.0, 18.0, 43.0, CARRIED_ON }) },
    { "stone_rubble_600", "rubble and earth between two stone faces, 600 mm",
      LAYERS({ "stone", 0.25 }, { "cob", 0.1 }, { "stone", 0.25 }),
      MEASURED({ 2.4, 18.0, 11.0, 28.0,
                 "low as COST 231, stone blocks 12 dB at 0.9 to 1.8 GHz (read); " NO_SOURCE "damp rubble above that" },
               { 5, 30.0, 20.0, 45.0, NO_SOURCE "the layers, dry and damp" }, { 6, 34.0, 23.0, 50.0, CARRIED_ON }) },
    { "cob_600", "cob, adobe or rammed earth, 600 mm, plastered on both sides",
      LAYERS({ "plaster", 0.02 }, { "cob", 0.6 }, { "plaster", 0.02 }),
      MEASURED({ 2.4, 18.0, 10.0, 30.0, NO_SOURCE "the layers, dry and damp" },
               { 5, 33.0, 20.0, 50.0, NO_SOURCE "the layers, dry and damp" }, { 6, 38.0, 23.0, 55.0, CARRIED_ON }) },

    /* ---- floors and ceilings, from above to below ---- */
    { "timber_floor", "boards on joists over a plasterboard ceiling",
      LAYERS({ "wood", 0.02 }, { "air", 0.2 }, { "plasterboard", 0.0125 }),
      MEASURED({ 2.4, 5.0, 2.5, 8.0,
                 "middle " P1238 "; low boards as fir in " WILSON "; " NO_SOURCE "high along the joists" },
               { 5, 7.0, 3.5, 12.0,
                 "middle " P1238 "; low boards as fir in " WILSON "; " NO_SOURCE "high along the joists" },
               { 6, 7.5, 4.0, 13.0, CARRIED_ON }) },
    { "timber_floor_tiled", "tiles on chipboard on joists over a plasterboard ceiling: a bathroom upstairs",
      LAYERS({ "ceramic_tile", 0.01 }, { "chipboard", 0.022 }, { "air", 0.2 }, { "plasterboard", 0.0125 }),
      MEASURED({ 2.4, 7.2, 4.0, 11.0, "middle " P1238 " and a tile as in " WILSON "; " NO_SOURCE "low and high" },
               { 5, 9.0, 5.0, 16.0, "middle " P1238 " and a tile as in " WILSON "; " NO_SOURCE "low and high" },
               { 6, 10.0, 5.5, 18.0, CARRIED_ON }) },
    { "heating_mat_floor", "a floor with heating foil or metal spreader plates in it: nearly a sheet of metal",
      LAYERS({ "ceramic_tile", 0.01 }, { "metal_film", 1e-7 }, { "insulation_foam", 0.01 }, { "chipboard", 0.022 },
             { "air", 0.2 }, { "plasterboard", 0.0125 }),
      MEASURED({ 2.4, 20.0, 8.0, 38.0, NO_SOURCE "low bare heating cable, high foil under the whole room" },
               { 5, 22.0, 10.0, 38.0, NO_SOURCE "low bare heating cable, high foil under the whole room" },
               { 6, 22.0, 10.0, 38.0, NO_SOURCE "low bare heating cable, high foil under the whole room" }) },
    { "concrete_floor", "200 mm of reinforced concrete with screed, plastered below",
      LAYERS({ "concrete", 0.25 }, { "plaster", 0.01 }),
      MEASURED(
          { 2.4, 19.0, 12.9, 30.0,
            "middle " COST231
            ", floor 18.3 dB; low one floor at 914 MHz, Seidel and Rappaport 1992 (abstract); high towards " NIST },
          { 5, 31.0, 20.0, 48.0, "middle about " SLAB ", 33 dB; low dry; high towards " NIST },
          { 6, 35.0, 23.0, 53.0, CARRIED_ON }) },
    { "plasterboard_ceiling", "one sheet of plasterboard under an empty loft", LAYERS({ "plasterboard", 0.0125 }),
      MEASURED({ 2.4, 0.8, 0.5, 1.5,
                 "low " WILSON ", 0.5 dB; middle towards " SLAB ", 1.1 dB; " NO_SOURCE "high with battens" },
               { 5, 0.8, 0.5, 2.0,
                 "low " WILSON ", 0.5 dB; middle towards " SLAB ", 1.0 dB; " NO_SOURCE "high with battens" },
               { 6, 0.9, 0.5, 2.2, CARRIED_ON }) },

    /* ---- doors and windows ---- */
    { "timber_door", "a solid timber door, 44 mm", LAYERS({ "wood", 0.044 }),
      MEASURED(
          { 2.4, 3.2, 1.0, 5.1, "middle " WILSON ", fir 38 mm 2.8 dB; low towards " SLAB "; high " TR38901 ", wood" },
          { 5, 6.5, 2.5, 8.0,
            "middle " WILSON ", fir 38 mm 6.1 dB; low towards " SLAB "; " NO_SOURCE "high damp or painted" },
          { 6, 7.2, 3.0, 9.0, CARRIED_ON }) },
    { "hollow_door", "a hollow inner door, two thin boards",
      LAYERS({ "chipboard", 0.004 }, { "air", 0.032 }, { "chipboard", 0.004 }),
      MEASURED({ 2.4, 1.5, 0.7, 3.5,
                 "low " SLAB "; middle as 18 mm particle board in " WILSON "; " NO_SOURCE "high with its frame" },
               { 5, 2.0, 0.9, 5.0,
                 "low " SLAB "; middle as 18 mm particle board in " WILSON "; " NO_SOURCE "high with its frame" },
               { 6, 2.5, 1.2, 5.5, CARRIED_ON }) },
    { "metal_door", "a steel-faced door or garage door: what passes, passes through its gaps",
      LAYERS({ "metal", 0.0008 }, { "insulation_foam", 0.04 }, { "metal", 0.0008 }),
      MEASURED({ 2.4, 25.0, 15.0, 40.0, NO_SOURCE "the sheet lets nothing through, frame and gaps do" },
               { 5, 25.0, 15.0, 40.0, NO_SOURCE "the sheet lets nothing through, frame and gaps do" },
               { 6, 25.0, 15.0, 40.0, NO_SOURCE "the sheet lets nothing through, frame and gaps do" }) },
    /* Single glass is what the layers say it is: 0.5 and 1.7 dB for 2.5 mm in Wilson 2002. */
    { "glass_single", "one pane of plain glass, 4 mm", LAYERS({ "glass", 0.004 }), NOT_MEASURED },
    { "glass_double", "two panes of plain glass", LAYERS({ "glass", 0.004 }, { "air", 0.016 }, { "glass", 0.004 }),
      MEASURED(
          { 2.4, 2.5, 0.5, 5.0,
            "middle " TR38901 ", multi-pane glass; low towards " SLAB "; " NO_SOURCE "high with its frame" },
          { 5, 3.1, 1.5, 9.2, "middle " TR38901 ", multi-pane glass; high " SLAB ", whose echoes fall together here" },
          { 6, 3.3, 1.5, 9.2,
            "middle " TR38901 ", multi-pane glass; high " SLAB ", whose echoes fall together here" }) },
    { "glass_low_e", "modern insulating glass with its invisible metal coating: nearly a mirror to radio",
      LAYERS({ "glass", 0.004 }, { "air", 0.016 }, { "low_e_coating", 1e-7 }, { "glass", 0.004 }),
      MEASURED(
          { 2.4, 23.7, 18.0, 33.0,
            "middle " TR38901 ", infrared-reflecting glass; " NO_SOURCE
            "low a thin coating and the frame, high two coatings; up to 50 dB is published (AWPL 17, 2018, abstract)" },
          { 5, 24.7, 18.0, 34.0, "middle " TR38901 ", infrared-reflecting glass; " NO_SOURCE "low and high as at 2.4" },
          { 6, 25.0, 18.0, 34.0,
            "middle " TR38901 ", infrared-reflecting glass; " NO_SOURCE "low and high as at 2.4" }) },

    /* ---- roofs, from outside to inside ---- */
    { "roof_tiles", "clay or concrete tiles on battens, board inside, insulated without foil",
      LAYERS({ "brick", 0.015 }, { "air", 0.05 }, { "mineral_wool", 0.1 }, { "plasterboard", 0.0125 }),
      MEASURED({ 2.4, 5.0, 3.0, 8.0, "middle " SLAB ", 4.8 dB; " NO_SOURCE "high rafters, battens and wet tiles" },
               { 5, 5.5, 2.5, 10.0, "low above " SLAB ", 1.8 dB; " NO_SOURCE "rafters, battens and wet tiles" },
               { 6, 6.0, 2.5, 11.0, CARRIED_ON }) },
    { "roof_slate", "slates on boards, uninsulated", LAYERS({ "slate", 0.008 }, { "wood", 0.02 }),
      MEASURED({ 2.4, 4.0, 1.9, 7.0,
                 "low " SLAB "; middle boards as fir in " WILSON "; " NO_SOURCE "high wet, with rafters" },
               { 5, 6.0, 2.4, 10.0,
                 "low " SLAB "; middle boards as fir in " WILSON "; " NO_SOURCE "high wet, with rafters" },
               { 6, 6.5, 2.4, 11.0, CARRIED_ON }) },
    { "roof_foil", "a roof with foil-faced insulation or a foil membrane: a lid of metal",
      LAYERS({ "brick", 0.015 }, { "air", 0.05 }, { "metal_film", 1e-7 }, { "insulation_foam", 0.1 },
             { "plasterboard", 0.0125 }),
      MEASURED({ 2.4, 28.0, 14.0, 42.0, NO_SOURCE "whole foil passes 45 dB less, rafters and joints leak" },
               { 5, 28.0, 14.0, 42.0, NO_SOURCE "whole foil passes 45 dB less, rafters and joints leak" },
               { 6, 28.0, 14.0, 42.0, NO_SOURCE "whole foil passes 45 dB less, rafters and joints leak" }) },
    { "steel_sheet", "profiled steel: barns, sheds, garages; what passes, passes at laps and fixings",
      LAYERS({ "metal", 0.0007 }),
      MEASURED({ 2.4, 30.0, 20.0, 45.0, NO_SOURCE "the sheet lets nothing through, laps and eaves do" },
               { 5, 30.0, 20.0, 45.0, NO_SOURCE "the sheet lets nothing through, laps and eaves do" },
               { 6, 30.0, 20.0, 45.0, NO_SOURCE "the sheet lets nothing through, laps and eaves do" }) },

    /* ---- things in rooms; those with an outline are crossed twice, once at each face ---- */
    { "mirror", "a silvered mirror", LAYERS({ "glass", 0.004 }, { "metal", 2e-7 }), NOT_MEASURED },
    { "chimney_breast", "one face of a chimney breast (a wave crosses two)",
      LAYERS({ "plaster", 0.013 }, { "brick", 0.1025 }),
      MEASURED({ 2.4, 6.0, 3.3, 9.0, "as brick_single, with rubble and soot behind: " NO_SOURCE "the excess" },
               { 5, 11.0, 4.4, 17.0, "as brick_single, with rubble and soot behind: " NO_SOURCE "the excess" },
               { 6, 12.0, 4.4, 18.5, CARRIED_ON }) },
    { "metal_appliance", "one face of a fridge, oven or steel cabinet (a wave crosses two): opaque, it goes round",
      LAYERS({ "metal", 0.0007 }), NOT_MEASURED },
    { "water_tank", "one face of a tank full of water (a wave crosses two): opaque, it goes round",
      LAYERS({ "water", 0.2 }), NOT_MEASURED },
    { "furniture_full", "one face of a full bookcase or wardrobe (a wave crosses two)",
      LAYERS({ "wood", 0.018 }, { "paper", 0.12 }),
      MEASURED({ 2.4, 2.0, 1.0, 4.0, NO_SOURCE "from half empty to packed with paper, " SLAB ", 3 dB" },
               { 5, 4.0, 2.0, 8.0, NO_SOURCE "from half empty to packed with paper, " SLAB ", 6.5 dB" },
               { 6, 5.0, 2.5, 9.0, NO_SOURCE "from half empty to packed with paper, " SLAB ", 8 dB" }) },
    { "earth", "a bank of earth, a cellar wall against the ground: opaque", LAYERS({ "medium_dry_ground", 1.0 }),
      NOT_MEASURED },
};

uint32_t built_in_construct_count(void) { return RT_COUNT(CONSTRUCTS); }

const struct built_in_construct *built_in_construct_get(uint32_t i) { return &CONSTRUCTS[i]; }

const struct built_in_construct *built_in_construct_find(struct str id)
{
    for (size_t i = 0; i < RT_COUNT(CONSTRUCTS); i++)
        if (str_is(id, CONSTRUCTS[i].id))
            return &CONSTRUCTS[i];
    return NULL;
}
