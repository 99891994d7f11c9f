#include "web/route.h"

#include <string.h>

#include "house/house.h"
#include "web/picture.h"

enum { SMALL = 64 * 1024, EDITS = 1024 * 1024 };

static const struct route ROUTES[] = {
    { HTTP_GET, "/api/houses", api_houses_list, 0,
      "The houses of the folder, and the parts files that they may name; what comes with the program and the folder "
      "does not have.",
      NULL,
      "`{\"houses\": [{\"name\", \"title\", \"can_be_read\"}], \"parts_files\": [{\"path\", \"currency\"}], \"demos\": "
      "[{\"name\", \"title\"}], \"demo_parts\": [{\"path\", \"currency\"}]}`" },
    { HTTP_POST, "/api/houses", api_houses_make, SMALL,
      "A new house: one floor, a rectangle to be drawn over (10 by 8 metres and 2.4 high if not said), a copy of one "
      "that is there, or of a demo.",
      "`{\"name\", \"title\", \"country\", \"time_zone\", \"currency\", \"width_m\", \"depth_m\", \"height_m\", "
      "\"parts_file\" or \"demo_parts\"}`, or `{\"name\", \"from\"}`, or `{\"name\", \"demo\"}`: of what comes with "
      "the "
      "program a copy is made in the folder",
      "201, `Location`" },
    { HTTP_GET, "/api/houses/{house}/file", api_file_read, 0, "The house file as it is.", NULL,
      "YAML; `ETag: \"r12\"` is its revision" },
    { HTTP_PUT, "/api/houses/{house}/file", api_file_write, HOUSE_MAX_BYTES,
      "The whole file anew.  `If-Match` with the revision that was changed is a must.", "YAML",
      "`{\"revision\", \"problems\"}`; 409 if somebody changed it meanwhile" },
    { HTTP_GET, "/api/houses/{house}/model", api_model_read, 0,
      "The file's values as JSON, in its order; a value's place is its JSON pointer, as edits want it.", NULL,
      "`{\"revision\", \"state\": another whenever the house or its parts file is, \"can_be_read\", \"problems\", "
      "\"house\"}`; `ETag` is the state" },
    { HTTP_GET, "/api/houses/{house}/changes/events", api_change_events, 0,
      "Who changed the house, this page or another, an editor, as server-sent events (WHATWG HTML): `state` first, "
      "then "
      "`changed` a second or two after its file or its parts file was written; a comment every 10 seconds.",
      NULL, "`text/event-stream`; data `{\"revision\", \"state\"}`, 0 and empty where the file is gone" },
    { HTTP_POST, "/api/houses/{house}/edits", api_edit, EDITS,
      "Changes, all or none.  `If-Match` says on what revision they were made; if it has moved on they are made on "
      "what is there, "
      "unless what they touch was changed.",
      "`{\"what\", \"edits\": [{\"op\": \"set|add|remove|rename\", \"path\", \"value\"}]}`",
      "`{\"revision\", \"problems\"}`; 409 if what they touch was changed meanwhile" },
    { HTTP_POST, "/api/houses/{house}/try", api_try, EDITS,
      "What changes would lead to, for one that is being typed: nothing is saved.", "the body of `edits`",
      "`{\"revision\", \"can_be_read\", \"problems\"}`, of the file as it would be; and `file`, its text, where that "
      "is "
      "no house any more" },
    { HTTP_POST, "/api/houses/{house}/undo", api_undo, SMALL, "One step back.", NULL,
      "`{\"revision\", \"problems\"}`" },
    { HTTP_POST, "/api/houses/{house}/redo", api_redo, SMALL, "And forth again.", NULL,
      "`{\"revision\", \"problems\"}`" },
    { HTTP_GET, "/api/houses/{house}/revisions", api_history, 0, "What was changed, the newest first.", NULL,
      "`{\"at\", \"can_undo\", \"can_redo\", \"revisions\": [{\"number\", \"parent\", \"at_s\", \"what\", \"kept\", "
      "\"broken\", "
      "\"unknown\"}]}`" },
    { HTTP_GET, "/api/houses/{house}/revisions/{number}", api_revision_read, 0, "The file as it was.", NULL, "YAML" },
    { HTTP_POST, "/api/houses/{house}/revisions/{number}/restore", api_restore, SMALL,
      "The file becomes that again, as a new revision.", NULL, "`{\"revision\", \"problems\"}`" },
    { HTTP_GET, "/api/houses/{house}/promises", api_promises, 0, "Every promise judged.", NULL,
      "as `check --json`; `ETag` is the revision" },
    { HTTP_GET, "/api/houses/{house}/promises/events", api_promise_events, 0,
      "The same, each as soon as it is known, as server-sent events (WHATWG HTML): `promise`, those first that need no "
      "field; at the end `done`.  If the house is changed meanwhile they begin anew, with the new `revision` and "
      "`state`.  "
      "`problems`, which is then the last: why nothing can be judged.",
      NULL,
      "`text/event-stream`; data `{\"revision\", \"state\", \"of\": number of promises, \"promise\": as in `check "
      "--json`}`, "
      "`{\"revision\"}`, `{\"problems\"}`" },
    { HTTP_GET, "/api/houses/{house}/signal", api_signal, 0,
      "Every path of signal to a spot.  Query: `floor`, `at` (X,Y or X,Y,Z), `device`, `availability` (0.9), `paths` "
      "(at most so many of each; all).",
      NULL, "as `signal --json`" },
    { HTTP_GET, "/api/houses/{house}/ask", api_ask, 0, "May these two talk.  Query: `from`, `to`, `service`, `when`.",
      NULL, "as `ask --json`" },
    { HTTP_GET, "/api/houses/{house}/failures", api_failures, 0, "Every single failure against every promise.", NULL,
      "`failures` of `check --failures --json`" },
    { HTTP_GET, "/api/houses/{house}/drawing", api_drawing, 0,
      "Where everything is, resolved, to draw it.  Metres.  Points of three numbers are above the datum; heights alone "
      "(`base_m`, `top_m`, `sill_m`, `head_m`, `from_m` and `to_m` of an obstacle) are above the floor of the thing, "
      "as in "
      "the house file; `from_m` and `to_m` of an opening run along its wall.  `path` is where the thing stands in the "
      "file.  A device without a place (`has_place` false) is shown in its room.  Query: `cables=no` waits for no "
      "cable to be laid, and has no stretches and no work.",
      NULL,
      "`{\"problems\", \"name\", \"north_deg\", \"bounds\": [[x, y, z], [x, y, z]], "
      "\"floors\": [{\"id\", \"path\", \"name\", \"z_m\", \"height_m\", \"slab_m\", \"open_air\", \"outline\", "
      "\"holes\": [{\"what\", \"outline\"}]}], "
      "\"rooms\": [{\"id\", \"path\", \"name\", \"use\", \"floor\", \"area_m2\", \"outline\", \"centre\"}], "
      "\"walls\": [{\"id\", \"path\", \"floor\", \"construct\", \"thickness_m\", \"base_m\", \"top_m\", \"line\", "
      "\"openings\": [{\"id\", \"path\", \"kind\", \"construct\", \"stands_open\", \"from_m\", \"to_m\", "
      "\"width_m\", \"sill_m\", \"head_m\", \"line\"}]}], "
      "\"planes\": [{\"id\", \"path\", \"kind\", \"floor\", \"construct\", \"outline\"}], "
      "\"obstacles\": [{\"id\", \"path\", \"floor\", \"construct\", \"from_m\", \"to_m\", \"thickness_m\", "
      "\"outline\" or \"line\"}], "
      "\"runs\": [{\"id\", \"path\", \"name\", \"kind\", \"floors\", \"outdoors\", \"outline\" or \"line\"}], "
      "\"line\": {\"path\", \"floor\", \"at\"}, "
      "\"mounts\": [{\"id\", \"path\", \"floor\", \"room\", \"at\", \"surface\", \"faces_deg\", \"tilt_deg\", "
      "\"use\", \"outdoors\", \"holds\"}], "
      "\"equipment\": [{\"id\", \"path\", \"says\", \"part\", \"kind\", \"size_m\", \"floor\", \"room\", \"at\", "
      "\"faces_deg\", \"tilt_deg\", \"mount\", \"inside\", \"unit\", \"movable\", \"owned\", "
      "\"radios\": [{\"band\", \"channel\", \"width_mhz\", \"power_dbm\", \"eirp_dbm\", \"channel_was_chosen\"}]}], "
      "\"devices\": [{\"id\", \"path\", \"says\", \"kind\", \"link\", \"floor\", \"room\", \"at\", \"has_place\", "
      "\"carried\", \"segment\"}], "
      "\"neighbours\": [{\"id\", \"path\", \"floor\", \"at\", \"band\", \"channel\", \"width_mhz\", \"level_dbm\"}], "
      "\"cables\": [{\"id\", \"path\", \"from\": {\"what\", \"port\"}, \"to\", \"part\", \"rests\", \"is_routed\", "
      "\"why_not\", \"length_m\", \"stretches\": [{\"lies\", \"run\", \"floor\", \"says\", \"line\"}]}], "
      "\"work\": [{\"kind\", \"floor\", \"at\", \"says\", \"cables\"}]}`; a cabinet is a piece of equipment, what is "
      "in "
      "it names it in `inside`; `problems`: why cables or radios are missing" },
    { HTTP_GET, "/api/houses/{house}/enclosure", api_enclosure, 0,
      "The ground that the walls of a floor close in around a spot, along their middles: a room to be.  Query: "
      "`floor`, "
      "`at` (X,Y).  Where no wall stands the floor's outline closes it (`by_edge`).",
      NULL,
      "`{\"outline\": [[x, y]], \"area_m2\", \"by_edge\"}`; 422 where nothing closes, and which wall ends in the "
      "open" },
    { HTTP_GET, "/api/houses/{house}/constructs", api_constructs, 0,
      "What walls, floors, roofs, doors and windows can be made of: the house's own, then those that need not be "
      "declared.",
      NULL, "`{\"constructs\": [{\"id\", \"says\", \"thickness_m\", \"is_built_in\"}]}`" },
    { HTTP_GET, "/api/houses/{house}/field", api_field, 0,
      "A field to paint, as `draw` has it.  Query: `what` (`level` of the strongest access point, `rate`, `second`: "
      "level of "
      "the second), `floor`, `band` (2.4, 5, 6); `device` (phone), `availability` (0.9), `estimate` (the house's), "
      "`height` "
      "(1.2; the nearest that the floor has is taken); `quick` (no; yes: half a metre between nodes and one "
      "reflection, "
      "which is there much sooner), `failed` (`kind:id` as in `failures`: what is left after it), `only` (one access "
      "point alone).",
      NULL,
      "`application/octet-stream`, all little-endian: bytes 0 `RTFD`, 4 uint32 version (1), 8 uint32 bytes of this "
      "head (64), "
      "12 uint32 columns, 16 uint32 rows, 20 uint32 revision, 24 float64 step between nodes in m, 32 float64 x and 40 "
      "float64 "
      "y of the first node, 48 float64 z above the datum, 56 float32 least and 60 float32 largest value; from 64 a "
      "float32 for "
      "each node, row after row, y rising, NaN where nothing is known.  dBm or Mb/s" },
    { HTTP_GET, "/api/houses/{house}/field/contours", api_contours, 0,
      "Lines of equal value of that field.  Query: as for it, and `levels` (-70,-65 ...; those of the drawings if left "
      "out).  "
      "Higher values lie left of a line's direction; what a promise sets in a room is drawn there besides.",
      NULL,
      "`{\"unit\", \"height_m\", \"levels\", \"lines\": [{\"level\", \"is_promised\", \"is_closed\", \"room\", "
      "\"line\"}]}`" },
    { HTTP_POST, "/api/houses/{house}/preview", api_preview, SMALL,
      "The field of a floor while an access point is dragged: one reflection, cells of half a metre, the other access "
      "points "
      "where they are.  Nothing is changed.  The first picture of a drag takes longest.",
      "`{\"equipment\" (or, for a new one, \"part\"), \"floor\", \"at_m\": [x, y, z above the floor], \"faces_deg\", "
      "\"tilt_deg\", \"seen\": floor that is shown (its own if left out), \"band\": \"5\", \"what\", \"device\", "
      "\"availability\", \"estimate\"}`",
      "the bytes of `field`" },
    { HTTP_POST, "/api/houses/{house}/design", api_design, SMALL,
      "Begins a design of the house as it is now; two at most are under way at once.",
      "`{\"anew\", \"seconds\", \"radar\", \"own_mounts\"}`, as the options of `design`; all may be left out",
      "202, `Location`, `{\"job\", \"revision\"}`; 429 with `Retry-After` while too many are under way" },
    { HTTP_GET, "/api/jobs/{job}", api_job, 0, "How a design stands, and what it led to.", NULL,
      "`{\"job\", \"state\": \"running|done|failed\", \"house\", \"revision\", \"what\", \"share\", \"problems\"}`, "
      "and when "
      "done `\"design\"` (as `design --json`) and `\"file\"`, the designed house as YAML" },
    { HTTP_GET, "/api/jobs/{job}/events", api_job_events, 0,
      "The same as it goes, as server-sent events (WHATWG HTML): `progress`, and at the end `done`; a comment every 10 "
      "seconds.",
      NULL, "`text/event-stream`; data `{\"state\", \"what\", \"share\"}`" },
    { HTTP_DELETE, "/api/jobs/{job}", api_job_cancel, SMALL,
      "Stops it; the best it has found so far becomes its result.", NULL, "204" },
    { HTTP_POST, "/api/jobs/{job}/take", api_job_take, SMALL,
      "The design, or some sections of it, become a revision of its house.  Refused if the house that came of it could "
      "not "
      "be read, or if what is taken was changed since the design was begun.",
      "`{\"all\": true}` or `{\"sections\": [\"equipment\", \"cables\", ...]}`", "`{\"revision\", \"problems\"}`" },
    { HTTP_GET, "/api/houses/{house}/ports", api_ports, 0, "The port map.", NULL,
      "`{\"ports\": [{\"equipment\", \"port\", \"label\", \"plug\", \"port_mbps\", \"mode\", \"cable\", \"leads_to\", "
      "\"leads_to_words\", \"leads_to_room\", \"leads_to_port\", \"untagged\": {\"segment\", \"vlan\"}, \"tagged\": "
      "[as that], "
      "\"towards_gateway\", \"rests\", \"link_mbps\", \"port_class\", \"class_granted\", \"drawn_w\", "
      "\"number_chosen\", "
      "\"setting_given\"}]}`" },
    { HTTP_GET, "/api/houses/{house}/matrix", api_matrix, 0, "Who may reach whom, and what is odd about the rules.",
      NULL, "as `prove --json`" },
    { HTTP_GET, "/api/houses/{house}/week", api_week, 0,
      "The week by hours, Monday 0 h first: the line, the radios' channels, dark screens.", NULL,
      "`{\"line\": {\"probability\", \"is_promised\", \"down\": {\"capacity_mbps\", \"fullest_hour\", \"hours\": "
      "[168 of {\"mean_mbps\", \"needed_mbps\", \"short_share\"}]}, \"up\"}, "
      "\"radios\": [{\"equipment\", \"band\", and shares of the time, 168 each: \"own\", \"beacons\", \"own_radios\", "
      "\"neighbours\", \"mesh\"}], "
      "\"dark\": [{\"statement\", \"says\", \"hours\", \"spans\": [{\"day\", \"from_minute\", \"to_minute\"}]}]}`" },
    { HTTP_GET, "/api/houses/{house}/compare", api_compare, 0,
      "Two houses side by side.  Query: `with`, the other's name, or `revision`, a number of this house's: as it was "
      "then.",
      NULL, "as `design --compare --json`" },
    { HTTP_GET, "/api/houses/{house}/installation", api_installation, 0,
      "What is to be done when the house is built, in the book's words and order.  A `box` can be ticked; its id stays "
      "the same as long as that very thing is to be done.",
      NULL,
      "`{\"cautions\", \"order\": [{\"box\", \"says\", \"minds\"}], "
      "\"fix\": [{\"box\", \"id\", \"what\", \"floor\", \"at_m\", \"where\", \"how\", \"arrives\"}], "
      "\"work\": [{\"box\", \"mark\", \"kind\": \"hole|board\", \"floor\", \"at\", \"where\", \"through\", \"bit_mm\", "
      "\"caution\", \"cables\"}], "
      "\"cables\": [{\"id\", \"group\", \"lies_already\", \"is_cord\", \"from\": {\"what\", \"port\", \"room\", "
      "\"place\", "
      "\"label\", \"label_far\"}, \"to\", \"length_m\", \"kind\", \"carries\", \"feeds\", \"way\", \"floor\", "
      "\"boxes\": [{\"box\", \"says\": \"laid|ended|tested\"}]}], "
      "\"tests\": [{\"promise\", \"heading\", \"says\", \"state\", \"how\", \"note\", \"rows\": [{\"box\", \"number\", "
      "\"where\", \"device\", \"band\", \"passes\", \"computed\", \"at_least\", \"at_most\", \"unit\", "
      "\"is_further\"}]}]}`; "
      "`number` is that of the book and of `acceptance.csv`" },
    { HTTP_GET, "/api/houses/{house}/installation/done", api_installation_done, 0,
      "What was ticked, noted and read, by any browser.  `If-None-Match` makes it cheap to ask again.", NULL,
      "`{\"done\": [{\"box\", \"is_ticked\", \"note\", \"read\", \"passed\", \"at_s\", \"is_gone\", \"name\"}]}`; "
      "`passed`: "
      "does what was read keep the promise (null: nothing was, or there is no figure); `is_gone`: the house has that "
      "no "
      "more" },
    { HTTP_POST, "/api/houses/{house}/installation/done", api_installation_mark, SMALL,
      "Says what was done of one box; what is left out stays as it is.",
      "`{\"box\", \"name\", \"is_ticked\", \"note\", \"read\": figure or null}`", "204" },
    { HTTP_GET, "/api/houses/{house}/readings", api_readings, 0,
      "Levels that were read, against those expected of a phone at that spot, as `signal` has them.", NULL,
      "`{\"revision\", \"device\", \"estimate\", \"readings\": [{\"number\", \"floor\", \"at_m\", \"where\", "
      "\"access_point\", "
      "\"band\", \"level_dbm\", \"expected_dbm\", \"difference_db\" (read less expected), \"is_gone\", \"at_s\", "
      "\"note\", "
      "\"promises\": [{\"id\", \"says\", \"needed_dbm\", \"passed\"}]}], \"compared\", \"mean_db\", \"rms_db\", "
      "\"by_access_point\": [{\"access_point\", \"band\", \"compared\", \"mean_db\", \"rms_db\"}]}`" },
    { HTTP_POST, "/api/houses/{house}/readings", api_reading_add, SMALL, "A level that was read at a spot.",
      "`{\"floor\", \"at_m\": [x, y, z above the floor (1.2 if left out)], \"access_point\", \"band\", \"level_dbm\", "
      "\"note\", \"at_s\" (now if left out)}`",
      "201, `{\"number\"}`" },
    { HTTP_DELETE, "/api/houses/{house}/readings/{number}", api_reading_remove, SMALL, "Takes one of them out.", NULL,
      "204" },
    { HTTP_GET, "/api/houses/{house}/readings.csv", api_readings_csv, 0, "All of them as a table (docs/readings.md).",
      NULL, "`text/csv`" },
    { HTTP_GET, "/api/houses/{house}/pictures", api_pictures, 0,
      "Pictures of plans to trace, and how they lie.  The pixel u, v (from the upper left corner, v down) lies at x = "
      "`x_m` + `m_per_px` (u cos t + v sin t), y = `y_m` + `m_per_px` (u sin t - v cos t), t = `turn_deg` against the "
      "clock; the four are null until the picture is set to scale.  No picture is part of the house file.",
      NULL,
      "`{\"pictures\": [{\"picture\", \"floor\", \"kind\": \"png|jpeg\", \"width_px\", \"height_px\", \"page\", "
      "\"pages\", \"m_per_px\", \"turn_deg\", \"x_m\", \"y_m\", \"opacity\"}]}`" },
    { HTTP_POST, "/api/houses/{house}/pictures", api_picture_send, PICTURE_MOST_BYTES,
      "One more.  Query: `floor`, and `page` of a PDF (1).  Its kind is found in its first bytes.  A page of a PDF is "
      "drawn by pdftoppm, of the package poppler-utils: 503 where that is not installed.",
      "a PNG, a JPEG or a PDF of at most 20 megabytes", "201, `Location`, and it as in the list" },
    { HTTP_GET, "/api/houses/{house}/pictures/{picture}", api_picture_read, 0, "The picture itself.", NULL,
      "PNG or JPEG" },
    { HTTP_PUT, "/api/houses/{house}/pictures/{picture}", api_picture_place, SMALL,
      "Lays it on its floor, or on another, or shows another page of its PDF.",
      "`{\"floor\", \"m_per_px\", \"turn_deg\", \"x_m\", \"y_m\", \"opacity\", \"page\"}`; what is left out stays",
      "it as in the list" },
    { HTTP_DELETE, "/api/houses/{house}/pictures/{picture}", api_picture_remove, SMALL, "Takes it away.", NULL, "204" },
    { HTTP_GET, "/api/houses/{house}/book.pdf", api_book, 0,
      "The book.  Query: `what` (book, household), `paper` (a4, letter), `date`, `by`, `device`.", NULL, "PDF" },
    { HTTP_GET, "/api/houses/{house}/drawings", api_drawings, 0,
      "The names of the drawings.  Query: `what` (signal, rate, second, cable, cabinet, ports, week, load, spectrum, "
      "failures; "
      "all if left out, which takes longest), `device`.",
      NULL, "`{\"drawings\": [\"ground-signal-5ghz\", ...]}`" },
    { HTTP_GET, "/api/houses/{house}/drawings/{name}", api_drawing_sheet, 0,
      "One of them; `.svg` may stand behind its name.", NULL, "SVG" },
    { HTTP_GET, "/api/houses/{house}/export", api_export, 0,
      "The files of an export, without secrets.  Query: `to` (linux, acl, csv, sheet).", NULL,
      "`{\"files\": [{\"path\", \"text\"}]}`" },
    { HTTP_GET, "/api/houses/{house}/parts", api_parts, 0, "The parts that the house can be made of.", NULL,
      "as `parts --json`" },
    { HTTP_GET, "/api/houses/{house}/parts/model", api_parts_model, 0,
      "The values of the parts file that the house names, as JSON in its order, to be edited like those of the house "
      "file.  A parts file has revisions of its own; all houses that name it are computed anew after a change.",
      NULL,
      "`{\"revision\", \"file\": path as seen from the folder, \"can_be_read\", \"problems\", \"parts\"}`; 404 if the "
      "house names none" },
    { HTTP_GET, "/api/houses/{house}/parts/file", api_parts_file_read, 0, "The parts file as it is.", NULL,
      "YAML; `ETag: \"r12\"` is its revision" },
    { HTTP_PUT, "/api/houses/{house}/parts/file", api_parts_file_write, HOUSE_MAX_BYTES,
      "The whole parts file anew.  `If-Match` with the revision that was changed is a must.", "YAML",
      "`{\"revision\", \"problems\"}`; 409 if somebody changed it meanwhile" },
    { HTTP_GET, "/api/houses/{house}/parts/used", api_parts_used, 0,
      "Which parts the houses of the folder name that have the same parts file, and which this house's bill buys.",
      NULL,
      "`{\"houses\": [{\"house\", \"title\", \"can_be_read\", \"parts\": [{\"part\", \"count\"}]}], \"bought\": "
      "[{\"part\", \"count\", \"unit\"}] or null where there is no bill}`" },
    { HTTP_POST, "/api/houses/{house}/parts/edits", api_parts_edit, EDITS,
      "Changes of the parts file, all or none, as `edits` of the house.", "the body of `edits`",
      "`{\"revision\", \"problems\"}`; 409 if what they touch was changed meanwhile" },
    { HTTP_POST, "/api/houses/{house}/parts/try", api_parts_try, EDITS,
      "What changes of the parts file would lead to; nothing is saved.", "the body of `edits`",
      "`{\"revision\", \"can_be_read\", \"problems\", \"breaks\": [{\"house\", \"title\", \"problems\"}]}`: the houses "
      "that could not be read any more, and why" },
    { HTTP_POST, "/api/houses/{house}/parts/undo", api_parts_undo, SMALL, "The parts file one step back.", NULL,
      "`{\"revision\", \"problems\"}`" },
    { HTTP_POST, "/api/houses/{house}/parts/redo", api_parts_redo, SMALL, "And forth again.", NULL,
      "`{\"revision\", \"problems\"}`" },
    { HTTP_GET, "/api/houses/{house}/parts/revisions", api_parts_history, 0,
      "What was changed in the parts file, the newest first.", NULL, "as `revisions` of the house, without promises" },
    { HTTP_POST, "/api/houses/{house}/parts/revisions/{number}/restore", api_parts_restore, SMALL,
      "The parts file becomes that again, as a new revision.", NULL, "`{\"revision\", \"problems\"}`" },
    { HTTP_GET, "/api/words", api_words, 0, "Names that a house file may use without declaring them.", NULL,
      "`{\"constructs\": [{\"name\", \"says\"}], \"device_kinds\": [as that, with \"has_radio\"], \"services\": [as "
      "that]}`" },
    { HTTP_GET, "/api/schema", api_schema, 0, "JSON Schema of the house file.", NULL, "`application/schema+json`" },
    { HTTP_GET, "/api/schema/parts", api_schema_parts, 0, "JSON Schema of a parts file.", NULL,
      "`application/schema+json`" },
};

const struct route *routes(size_t *n)
{
    *n = RT_COUNT(ROUTES);
    return ROUTES;
}

/* The next step of a path, and the rest behind it; false: there is none. */
static bool next_step(struct str *path, struct str *step)
{
    if (!path->n || path->p[0] != '/')
        return false;
    size_t end = 1;
    while (end < path->n && path->p[end] != '/')
        end++;
    *step = (struct str){ path->p + 1, end - 1 };
    *path = (struct str){ path->p + end, path->n - end };
    return true;
}

static bool fits(const struct route *r, struct str path, struct str params[HTTP_PARAMS])
{
    struct str pattern = str_from(r->path), want, got;
    unsigned n = 0;
    while (next_step(&pattern, &want)) {
        if (!next_step(&path, &got) || !got.n)
            return false;
        if (want.p[0] == '{')
            params[n++] = got;
        else if (!str_eq(want, got))
            return false;
    }
    return path.n == 0;
}

const struct route *route_find(struct request *q, unsigned *allowed)
{
    const struct route *found = NULL;
    *allowed = 0;
    for (size_t i = 0; i < RT_COUNT(ROUTES); i++) {
        struct str params[HTTP_PARAMS] = { { 0 } };
        if (!fits(&ROUTES[i], q->path, params))
            continue;
        *allowed |= ROUTES[i].method;
        if (ROUTES[i].method == q->method) {
            found = &ROUTES[i];
            memcpy(q->params, params, sizeof params);
        }
    }
    return found;
}

static const char *method_name(enum http_method m)
{
    switch (m) {
    case HTTP_POST:
        return "POST";
    case HTTP_PUT:
        return "PUT";
    case HTTP_DELETE:
        return "DELETE";
    default:
        return "GET";
    }
}

void routes_write_markdown(struct buf *out)
{
    buf_text(
        out,
        "# The local server's questions and answers\n\n"
        "All of it is asked by the page that the server itself hands out; scripts on this machine may ask too.  A "
        "request\n"
        "needs the session's cookie, which the printed link sets, and, unless it only reads, an `Origin` field of the\n"
        "server's own.  Beyond this machine the cookie comes of the form at `/` and `/sign-in`, which sends `password` "
        "to "
        "`/sign-in`\n"
        "(403: wrong; 429 with `Retry-After`: wait).  What goes wrong is told as `{\"problems\": [{\"code\", "
        "\"is_warning\", \"says\", \"hint\", \"file\", "
        "\"line\",\n"
        "\"column\", \"byte\", \"bytes\", \"path\": of the value it lies in}]}` with a status of RFC 9110.  This page "
        "is made from the server's table of "
        "routes.\n");
    for (size_t i = 0; i < RT_COUNT(ROUTES); i++) {
        const struct route *r = &ROUTES[i];
        buf_printf(out, "\n## %s %s\n\n%s\n\n", method_name(r->method), r->path, r->says);
        if (r->takes)
            buf_printf(out, "- takes %s\n", r->takes);
        buf_printf(out, "- gives %s\n", r->gives);
    }
}
