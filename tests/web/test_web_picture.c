/* Pictures of plans: what kind they are and how large, what is refused, and the answers about them.
 *
 * From outside: PNG and PDF written by Cairo, JPEG by libjpeg (through Pillow, the bytes below), pages of a PDF drawn by poppler. */
#include <cairo-pdf.h>
#include <cairo.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "web/picture.h"
#include "web_json.h"
#include "web_kit.h"

#define CHECK_INT(what, got, want) CHECK_NEAR((what), (double)(got), (double)(want), 0.0, "")

/* ---- made by others ---- */

static cairo_status_t keep(void *user, const unsigned char *bytes, unsigned n)
{
    buf_add(user, (const char *)bytes, n);
    return CAIRO_STATUS_SUCCESS;
}

static struct str png_of(struct arena *a, int width, int height)
{
    struct buf out = { .arena = a };
    cairo_surface_t *s = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    CHECK("Cairo writes", cairo_surface_write_to_png_stream(s, keep, &out) == CAIRO_STATUS_SUCCESS);
    cairo_surface_destroy(s);
    return buf_done(&out);
}

/* Pages in points; each has a line across. */
static struct str pdf_of(struct arena *a, double width, double height, int pages)
{
    struct buf out = { .arena = a };
    cairo_surface_t *s = cairo_pdf_surface_create_for_stream(keep, &out, width, height);
    cairo_t *pen = cairo_create(s);
    for (int i = 0; i < pages; i++) {
        cairo_move_to(pen, 0, 0);
        cairo_line_to(pen, width, height);
        cairo_stroke(pen);
        cairo_show_page(pen);
    }
    cairo_destroy(pen);
    cairo_surface_destroy(s);
    return buf_done(&out);
}

/* 24 by 16 pixels, one grey; then the same with Exif: orientation 6, a photograph that lies on its side. */
static const unsigned char JPEG[] = {
    0xff, 0xd8, 0xff, 0xe0, 0x00, 0x10, 0x4a, 0x46, 0x49, 0x46, 0x00, 0x01, 0x01, 0x00, 0x00, 0x01, 0x00, 0x01,
    0x00, 0x00, 0xff, 0xdb, 0x00, 0x43, 0x00, 0x10, 0x0b, 0x0c, 0x0e, 0x0c, 0x0a, 0x10, 0x0e, 0x0d, 0x0e, 0x12,
    0x11, 0x10, 0x13, 0x18, 0x28, 0x1a, 0x18, 0x16, 0x16, 0x18, 0x31, 0x23, 0x25, 0x1d, 0x28, 0x3a, 0x33, 0x3d,
    0x3c, 0x39, 0x33, 0x38, 0x37, 0x40, 0x48, 0x5c, 0x4e, 0x40, 0x44, 0x57, 0x45, 0x37, 0x38, 0x50, 0x6d, 0x51,
    0x57, 0x5f, 0x62, 0x67, 0x68, 0x67, 0x3e, 0x4d, 0x71, 0x79, 0x70, 0x64, 0x78, 0x5c, 0x65, 0x67, 0x63, 0xff,
    0xc0, 0x00, 0x0b, 0x08, 0x00, 0x10, 0x00, 0x18, 0x01, 0x01, 0x11, 0x00, 0xff, 0xc4, 0x00, 0x14, 0x00, 0x01,
    0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0xff, 0xc4,
    0x00, 0x14, 0x10, 0x01, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00,
    0x00, 0x00, 0xff, 0xda, 0x00, 0x08, 0x01, 0x01, 0x00, 0x00, 0x3f, 0x00, 0x00, 0x0f, 0xff, 0xd9
};
static const unsigned char JPEG_ON_ITS_SIDE[] = {
    0xff, 0xd8, 0xff, 0xe0, 0x00, 0x10, 0x4a, 0x46, 0x49, 0x46, 0x00, 0x01, 0x01, 0x00, 0x00, 0x01, 0x00, 0x01,
    0x00, 0x00, 0xff, 0xe1, 0x00, 0x22, 0x45, 0x78, 0x69, 0x66, 0x00, 0x00, 0x4d, 0x4d, 0x00, 0x2a, 0x00, 0x00,
    0x00, 0x08, 0x00, 0x01, 0x01, 0x12, 0x00, 0x03, 0x00, 0x00, 0x00, 0x01, 0x00, 0x06, 0x00, 0x00, 0x00, 0x00,
    0x00, 0x00, 0xff, 0xdb, 0x00, 0x43, 0x00, 0x10, 0x0b, 0x0c, 0x0e, 0x0c, 0x0a, 0x10, 0x0e, 0x0d, 0x0e, 0x12,
    0x11, 0x10, 0x13, 0x18, 0x28, 0x1a, 0x18, 0x16, 0x16, 0x18, 0x31, 0x23, 0x25, 0x1d, 0x28, 0x3a, 0x33, 0x3d,
    0x3c, 0x39, 0x33, 0x38, 0x37, 0x40, 0x48, 0x5c, 0x4e, 0x40, 0x44, 0x57, 0x45, 0x37, 0x38, 0x50, 0x6d, 0x51,
    0x57, 0x5f, 0x62, 0x67, 0x68, 0x67, 0x3e, 0x4d, 0x71, 0x79, 0x70, 0x64, 0x78, 0x5c, 0x65, 0x67, 0x63, 0xff,
    0xc0, 0x00, 0x0b, 0x08, 0x00, 0x10, 0x00, 0x18, 0x01, 0x01, 0x11, 0x00, 0xff, 0xc4, 0x00, 0x14, 0x00, 0x01,
    0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0xff, 0xc4,
    0x00, 0x14, 0x10, 0x01, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00,
    0x00, 0x00, 0xff, 0xda, 0x00, 0x08, 0x01, 0x01, 0x00, 0x00, 0x3f, 0x00, 0x00, 0x0f, 0xff, 0xd9
};

#define BYTES(array) ((struct str){ (const char *)(array), sizeof(array) })

static enum rt_code look(struct check_run *c, struct str bytes, struct picture *out)
{
    rt_problems_init(&c->problems, c->run.arena);
    return picture_look(bytes, out, &c->problems);
}

/* ---- what they are ---- */

TEST(kind_and_size_are_read_from_the_bytes)
{
    struct check_run c = check_run_begin();
    struct picture is;
    CHECK("PNG", look(&c, png_of(c.run.arena, 120, 70), &is) == RT_OK && is.kind == PICTURE_PNG);
    CHECK("its size", is.width_px == 120 && is.height_px == 70);
    CHECK("JPEG", look(&c, BYTES(JPEG), &is) == RT_OK && is.kind == PICTURE_JPEG);
    CHECK("its size", is.width_px == 24 && is.height_px == 16);
    CHECK("on its side", look(&c, BYTES(JPEG_ON_ITS_SIDE), &is) == RT_OK && is.width_px == 16 && is.height_px == 24);
    CHECK("PDF", look(&c, pdf_of(c.run.arena, 100, 100, 1), &is) == RT_OK && is.kind == PICTURE_PDF);
    check_run_end(&c);
}

TEST(what_is_cut_short_is_refused_at_every_length)
{
    struct check_run c = check_run_begin();
    const struct str all[] = { png_of(c.run.arena, 9, 9), BYTES(JPEG), BYTES(JPEG_ON_ITS_SIDE) };
    for (size_t i = 0; i < RT_COUNT(all); i++)
        for (size_t n = 0; n < all[i].n; n++) {
            struct picture is;
            /* in memory of just that size, so that reading on is seen */
            const struct str cut = str_dup(c.run.arena, (struct str){ all[i].p, n });
            CHECK("cut short", look(&c, (struct str){ n ? cut.p : NULL, n }, &is) != RT_OK);
            CHECK("and it is said", c.problems.n_errors == 1);
        }
    check_run_end(&c);
}

TEST(no_byte_changed_does_harm)
{
    struct check_run c = check_run_begin();
    const struct str all[] = { png_of(c.run.arena, 9, 9), BYTES(JPEG), BYTES(JPEG_ON_ITS_SIDE) };
    const unsigned char tried[] = { 0x00, 0x01, 0x7f, 0x80, 0xff };
    for (size_t i = 0; i < RT_COUNT(all); i++)
        for (size_t at = 0; at < all[i].n; at++)
            for (size_t k = 0; k < sizeof tried; k++) {
                struct picture is;
                const struct arena_mark mark = arena_mark(c.run.arena);
                char *other = ARENA_ARRAY(c.run.arena, char, all[i].n);
                memcpy(other, all[i].p, all[i].n);
                other[at] = (char)tried[k];
                if (look(&c, (struct str){ other, all[i].n }, &is) == RT_OK && is.kind != PICTURE_PDF)
                    CHECK("a size that can be shown",
                          is.width_px && is.height_px && (uint64_t)is.width_px * is.height_px <= PICTURE_MOST_PX);
                arena_reset(c.run.arena, mark);
            }
    check_run_end(&c);
}

/* A PNG whose head says another size: 16 bytes in, width and height, four bytes each (W3C PNG, 11.2.1). */
static struct str png_that_says(struct arena *a, uint32_t width, uint32_t height)
{
    const struct str png = png_of(a, 4, 4);
    char *bytes = ARENA_ARRAY(a, char, png.n);
    memcpy(bytes, png.p, png.n);
    for (int i = 0; i < 4; i++) {
        bytes[16 + i] = (char)(width >> (24 - 8 * i));
        bytes[20 + i] = (char)(height >> (24 - 8 * i));
    }
    return (struct str){ bytes, png.n };
}

TEST(bad_pictures_are_told_apart)
{
    struct check_run c = check_run_begin();
    struct arena *a = c.run.arena;
    const struct {
        struct str bytes;
        enum rt_code code;
        const char *says;
    } ROWS[] = {
        { { 0 }, RT_SHAPE, "nothing was sent" },
        { STR("hello"), RT_SHAPE, "no picture" },
        { STR("GIF89a......"), RT_SHAPE, "a GIF" },
        { STR("BM8......."), RT_SHAPE, "a BMP" },
        { { "II*\0........", 12 }, RT_SHAPE, "a TIFF" },
        { STR("RIFF....WEBPVP8 "), RT_SHAPE, "a WebP" },
        { { "\0\0\0\x18"
            "ftypheic....",
            16 },
          RT_SHAPE,
          "a HEIC" },
        { STR("<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>"), RT_SHAPE, "an SVG" },
        { STR("<?xml version='1.0'?><svg/>"), RT_SHAPE, "an SVG" },
        { STR("<!doctype html><script>alert(1)</script>"), RT_SHAPE, "no picture" },
        { STR("PK\x03\x04........"), RT_SHAPE, "a packed folder" },
        { STR("\x89PNG\r\n\x1a\n"), RT_SHAPE, "cut short" },
        { { "\xff\xd8\xff\xd9", 4 }, RT_SHAPE, "cut short" },
        { png_that_says(a, 0, 5), RT_RANGE, "no size" },
        { png_that_says(a, 5, 0), RT_RANGE, "no size" },
        { png_that_says(a, 0xffffffff, 1), RT_LIMIT, "at most 64 million" },
        { png_that_says(a, 20001, 1), RT_LIMIT, "at most 64 million" },
        { png_that_says(a, 10000, 10000), RT_LIMIT, "10000 by 10000 pixels" },
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        struct picture is;
        CHECK_INT(ROWS[i].says, look(&c, ROWS[i].bytes, &is), ROWS[i].code);
        CHECK(ROWS[i].says, c.problems.list.n == 1 && strstr(c.problems.list.v[0].msg, ROWS[i].says) != NULL);
    }
    check_run_end(&c);
}

/* ---- the answers ---- */

static struct reply ask(struct web_kit *k, const char *method, const char *target, const char *body)
{
    return web_ask(k, (struct asked_web){ .method = method, .target = target, .body = body });
}

static struct reply send(struct web_kit *k, const char *target, struct str bytes)
{
    return web_ask(k, (struct asked_web){ .method = "POST", .target = target, .bytes = bytes });
}

static bool has(struct reply r, const char *text) { return r.body.n && memmem(r.body.p, r.body.n, text, strlen(text)); }

#define HOUSE "/api/houses/quay_flat/pictures"

TEST(a_picture_is_sent_laid_and_taken_away)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", "larch_end", NULL });
    const struct str png = png_of(k.c.run.arena, 120, 70);
    struct reply r = send(&k, HOUSE "?floor=third", png);
    CHECK_INT("made", r.status, 201);
    CHECK("where", r.location && strcmp(r.location, HOUSE "/1") == 0);
    CHECK("its size", has(r, "\"width_px\":120") && has(r, "\"height_px\":70") && has(r, "\"m_per_px\":null"));
    r = web_get(&k, HOUSE "/1");
    CHECK_TEXT("the same bytes", r.body, png);
    CHECK("its type", r.type && strcmp(r.type, "image/png") == 0);
    CHECK("of this house alone", web_get(&k, "/api/houses/larch_end/pictures/1").status == 422);
    CHECK("none of the other", has(web_get(&k, "/api/houses/larch_end/pictures"), "\"pictures\":[]"));
    r = ask(&k, "PUT", HOUSE "/1", "{\"m_per_px\":0.02,\"turn_deg\":-3.5,\"x_m\":1.25,\"y_m\":7,\"opacity\":0.4}");
    CHECK_INT("laid", r.status, 200);
    CHECK("on another floor", ask(&k, "PUT", HOUSE "/1", "{\"floor\":\"balcony\"}").status == 200);
    r = web_get(&k, HOUSE);
    CHECK("and it stays", has(r, "\"floor\":\"balcony\"") && has(r, "\"m_per_px\":0.02") &&
                              has(r, "\"turn_deg\":-3.5") && has(r, "\"x_m\":1.25") && has(r, "\"y_m\":7") &&
                              has(r, "\"opacity\":0.4"));
    CHECK("the house is as it was", has(web_get(&k, "/api/houses/quay_flat/revisions"), "\"at\":1"));
    CHECK_INT("away", ask(&k, "DELETE", HOUSE "/1", NULL).status, 204);
    CHECK_INT("once", ask(&k, "DELETE", HOUSE "/1", NULL).status, 422);
    CHECK_INT("a number is not given twice", send(&k, HOUSE "?floor=third", png).status, 201);
    CHECK("so", has(web_get(&k, HOUSE), "\"picture\":2"));
    web_kit_end(&k);
}

TEST(what_cannot_be_is_refused)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    const struct str png = png_of(k.c.run.arena, 12, 7);
    CHECK_INT("no such floor", send(&k, HOUSE "?floor=cellar", png).status, 422);
    CHECK_INT("no floor", send(&k, HOUSE, png).status, 422);
    CHECK_INT("no picture", send(&k, HOUSE "?floor=third", STR("hello")).status, 422);
    CHECK_INT("no house", send(&k, "/api/houses/other/pictures?floor=third", png).status, 422);
    CHECK("nothing was kept", has(web_get(&k, HOUSE), "\"pictures\":[]"));
    CHECK_INT("one", send(&k, HOUSE "?floor=third", png).status, 201);
    static const char *const NAMES[] = { "0",        "2",      "-1",     "01x", "1.png",
                                         "..",       "%2e%2e", "..%2f1", "1;2", "99999999999999999999",
                                         "1 OR 1=1", "'",      "\xff" };
    for (size_t i = 0; i < RT_COUNT(NAMES); i++) {
        const char *at = arena_printf(k.c.run.arena, HOUSE "/%s", NAMES[i]);
        CHECK_INT(NAMES[i], web_get(&k, at).status, 422);
        CHECK_INT(NAMES[i], ask(&k, "DELETE", at, NULL).status, 422);
        CHECK_INT(NAMES[i], ask(&k, "PUT", at, "{\"opacity\":1}").status, 422);
    }
    static const char *const PLACINGS[] = {
        "{\"m_per_px\":0.01}",
        "{\"m_per_px\":0,\"turn_deg\":0,\"x_m\":0,\"y_m\":0}",
        "{\"m_per_px\":-1,\"turn_deg\":0,\"x_m\":0,\"y_m\":0}",
        "{\"m_per_px\":1e99,\"turn_deg\":0,\"x_m\":0,\"y_m\":0}",
        "{\"m_per_px\":0.01,\"turn_deg\":999,\"x_m\":0,\"y_m\":0}",
        "{\"m_per_px\":0.01,\"turn_deg\":0,\"x_m\":\"here\",\"y_m\":0}",
        "{\"m_per_px\":0.01,\"turn_deg\":0,\"x_m\":null,\"y_m\":0}",
        "{\"opacity\":1.5}",
        "{\"opacity\":\"dark\"}",
        "{\"floor\":\"cellar\"}",
        "{\"page\":2}",
        "{\"page\":0}",
        "[1]",
        "{",
    };
    for (size_t i = 0; i < RT_COUNT(PLACINGS); i++)
        CHECK(PLACINGS[i], ask(&k, "PUT", HOUSE "/1", PLACINGS[i]).status >= 400);
    CHECK("it lies as it did",
          has(web_get(&k, HOUSE), "\"m_per_px\":null") && has(web_get(&k, HOUSE), "\"opacity\":0.6"));
    for (int i = 1; i < 40; i++)
        CHECK_INT("up to forty", send(&k, HOUSE "?floor=third", png).status, 201);
    CHECK_INT("and no more", send(&k, HOUSE "?floor=third", png).status, 413);
    web_kit_end(&k);
}

/* ---- pages of a PDF ---- */

static bool is_there(const char *program) { return access(program, X_OK) == 0; }

TEST(a_page_of_a_pdf_becomes_a_picture)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    /* A4 across, 297 by 210 mm, in points of 1/72 inch */
    const struct str pdf = pdf_of(k.c.run.arena, 841.89, 595.28, 3);
    struct reply r = send(&k, HOUSE "?floor=third&page=2", pdf);
    if (!is_there("/usr/bin/pdftoppm")) {
        CHECK_INT("missing", r.status, 503);
        CHECK("what to install", has(r, "poppler-utils"));
        web_kit_end(&k);
        return;
    }
    CHECK_INT("made", r.status, 201);
    CHECK("page 2 of 3", has(r, "\"page\":2") && has(r, "\"pages\":3"));
    /* 4000 pixels along 297 mm: 2828 along 210 mm (ISO 216: 1 to the root of 2) */
    CHECK("4000 along", has(r, "\"width_px\":4000"));
    CHECK("2828 across", has(r, "\"height_px\":2828") || has(r, "\"height_px\":2829"));
    CHECK("a PNG", strcmp(web_get(&k, HOUSE "/1").type, "image/png") == 0);
    r = ask(&k, "PUT", HOUSE "/1", "{\"page\":3}");
    CHECK("another page", r.status == 200 && has(r, "\"page\":3"));
    CHECK_INT("no such page", ask(&k, "PUT", HOUSE "/1", "{\"page\":4}").status, 422);
    static const char *const PAGES[] = { "0", "4", "-1", "1.5", "one", "99999999999", "1;touch", "%2d" };
    for (size_t i = 0; i < RT_COUNT(PAGES); i++) {
        r = send(&k, arena_printf(k.c.run.arena, HOUSE "?floor=third&page=%s", PAGES[i]), pdf);
        CHECK_INT(PAGES[i], r.status, 422);
    }
    CHECK_INT("cut short", send(&k, HOUSE "?floor=third", (struct str){ pdf.p, 40 }).status, 422);
    CHECK_INT("no PDF at all", send(&k, HOUSE "?floor=third", STR("%PDF-1.7\nhello\n%%EOF\n")).status, 422);
    CHECK_INT("no page",
              send(&k, HOUSE "?floor=third",
                   STR("%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj\n2 0 obj<</Type/Pages/Kids[]/Count "
                       "0>>endobj\ntrailer<</Root 1 0 R>>\n%%EOF\n"))
                  .status,
              422);
    web_kit_end(&k);
}

TEST(a_locked_pdf_says_so)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    if (is_there("/usr/bin/pdftoppm") && is_there("/usr/bin/qpdf")) {
        struct arena *a = k.c.run.arena;
        web_write(&k, "houses/open.pdf", pdf_of(a, 200, 200, 1));
        CHECK_INT("qpdf locks it",
                  system(arena_printf(a, "qpdf --encrypt user owner 256 -- %s/houses/open.pdf %s/houses/locked.pdf",
                                      k.folder, k.folder)),
                  0);
        const struct reply r = send(&k, HOUSE "?floor=third", web_file(&k, "houses/locked.pdf"));
        CHECK("refused", r.status == 422 && has(r, "password"));
    }
    web_kit_end(&k);
}
