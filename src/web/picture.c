#include "web/picture.h"

#include <string.h>

const char *picture_word(enum picture_kind kind)
{
    return kind == PICTURE_PNG ? "png" : kind == PICTURE_JPEG ? "jpeg" : "pdf";
}

const char *picture_type(enum picture_kind kind)
{
    return kind == PICTURE_PNG ? "image/png" : kind == PICTURE_JPEG ? "image/jpeg" : "application/pdf";
}

/* ---- bytes ---- */

static const char SEND[] = "send a PNG, a JPEG or a PDF";

static uint32_t byte_at(struct str b, size_t at) { return (unsigned char)b.p[at]; }

/* The most significant byte first, as PNG and JPEG have it. */
static uint32_t number_at(struct str b, size_t at, size_t n)
{
    uint32_t value = 0;
    for (size_t i = 0; i < n; i++)
        value = value << 8 | byte_at(b, at + i);
    return value;
}

static bool begins(struct str b, const char *with, size_t n) { return b.n >= n && memcmp(b.p, with, n) == 0; }

static enum rt_code cut_short(struct rt_problems *p)
{
    return rt_fail(p, RT_SHAPE, RT_NOWHERE, "see that it opens in another program, and send it again",
                   "the picture is damaged, or cut short");
}

static enum rt_code check_size(const struct picture *s, struct rt_problems *p)
{
    if (!s->width_px || !s->height_px)
        return rt_fail(p, RT_RANGE, RT_NOWHERE, NULL, "the picture has no size");
    if (s->width_px > PICTURE_MOST_SIDE_PX || s->height_px > PICTURE_MOST_SIDE_PX ||
        (uint64_t)s->width_px * s->height_px > PICTURE_MOST_PX)
        return rt_fail(p, RT_LIMIT, RT_NOWHERE, "make it smaller: 4000 pixels along the longer side are plenty",
                       "the picture has %u by %u pixels; at most %d million are shown", s->width_px, s->height_px,
                       PICTURE_MOST_PX / 1000000);
    return RT_OK;
}

/* ---- PNG: a signature, then chunks of length, name, bytes, check sum; IHDR is the first, IEND the last ---- */

static const char PNG_SIGNATURE[] = "\x89PNG\r\n\x1a\n";
enum { PNG_HEAD = 8, CHUNK_EXTRA = 12, IHDR_BYTES = 13 };

static enum rt_code look_png(struct str b, struct picture *out, struct rt_problems *p)
{
    bool has_pixels = false;
    size_t at = PNG_HEAD;
    for (bool is_first = true; at + CHUNK_EXTRA <= b.n; is_first = false) {
        const uint32_t n = number_at(b, at, 4);
        const char *name = b.p + at + 4;
        if (n > b.n - at - CHUNK_EXTRA || is_first != (memcmp(name, "IHDR", 4) == 0) || (is_first && n != IHDR_BYTES))
            return cut_short(p);
        if (is_first) {
            out->width_px = number_at(b, at + 8, 4);
            out->height_px = number_at(b, at + 12, 4);
            RT_TRY(check_size(out, p));
        }
        has_pixels |= memcmp(name, "IDAT", 4) == 0 && n > 0;
        if (memcmp(name, "IEND", 4) == 0)
            return has_pixels ? RT_OK : cut_short(p);
        at += CHUNK_EXTRA + n;
    }
    return cut_short(p);
}

/* ---- JPEG: markers FFxx, most with a length; SOFn has the size, after SOS come the pixels, EOI is the end ---- */

enum { SOI = 0xD8, EOI = 0xD9, SOS = 0xDA, APP1 = 0xE1, TEM = 0x01 };

/* SOF0 ... SOF15, less DHT, JPG and DAC which lie between. */
static bool is_frame(uint32_t marker)
{
    return marker >= 0xC0 && marker <= 0xCF && marker != 0xC4 && marker != 0xC8 && marker != 0xCC;
}

static uint32_t exif_number(struct str b, size_t at, size_t n, bool is_little)
{
    uint32_t value = 0;
    for (size_t i = 0; i < n; i++)
        value |= byte_at(b, at + i) << 8 * (is_little ? i : n - 1 - i);
    return value;
}

/* Is the photograph stored lying on its side?  Orientations 5 to 8 change width and height.  What cannot be read says nothing. */
static bool lies_on_its_side(struct str b)
{
    enum { EXIF_HEAD = 6, TIFF_HEAD = 8, ENTRY = 12, ORIENTATION = 0x0112 };
    if (!begins(b, "Exif\0", EXIF_HEAD) || b.n < EXIF_HEAD + TIFF_HEAD)
        return false;
    const struct str tiff = { b.p + EXIF_HEAD, b.n - EXIF_HEAD };
    const bool is_little = tiff.p[0] == 'I';
    const uint32_t first = exif_number(tiff, 4, 4, is_little);
    if (first > tiff.n - 2)
        return false;
    const uint32_t n = exif_number(tiff, first, 2, is_little);
    for (uint32_t i = 0; i < n; i++) {
        const size_t at = (size_t)first + 2 + (size_t)i * ENTRY;
        if (at + ENTRY > tiff.n)
            return false;
        if (exif_number(tiff, at, 2, is_little) == ORIENTATION) {
            const uint32_t value = exif_number(tiff, at + 8, 2, is_little);
            return value >= 5 && value <= 8;
        }
    }
    return false;
}

/* Is there an end after the pixels began? */
static bool has_end(struct str b, size_t from)
{
    for (size_t i = b.n; i >= from + 2; i--)
        if (byte_at(b, i - 2) == 0xFF && byte_at(b, i - 1) == EOI)
            return true;
    return false;
}

static enum rt_code look_jpeg(struct str b, struct picture *out, struct rt_problems *p)
{
    bool is_turned = false, has_frame = false;
    size_t at = 2;
    while (at + 4 <= b.n) {
        if (byte_at(b, at) != 0xFF)
            return cut_short(p);
        const uint32_t marker = byte_at(b, at + 1);
        if (marker == 0xFF) { /* a filling byte */
            at++;
            continue;
        }
        if (marker == TEM || (marker >= 0xD0 && marker <= EOI)) {
            at += 2;
            continue;
        }
        const size_t n = number_at(b, at + 2, 2);
        if (n < 2 || n > b.n - at - 2)
            return cut_short(p);
        const struct str segment = { b.p + at + 4, n - 2 };
        if (marker == APP1)
            is_turned |= lies_on_its_side(segment);
        if (is_frame(marker)) {
            if (segment.n < 6)
                return cut_short(p);
            has_frame = true;
            out->height_px = number_at(segment, 1, 2);
            out->width_px = number_at(segment, 3, 2);
            RT_TRY(check_size(out, p));
        }
        at += 2 + n;
        if (marker == SOS)
            break;
    }
    if (!has_frame || !has_end(b, at))
        return cut_short(p);
    if (is_turned)
        *out = (struct picture){ out->kind, out->height_px, out->width_px };
    return RT_OK;
}

/* ---- any ---- */

/* Other kinds that people may well send, by name, so that they know what to do. */
static const struct {
    const char *begins;
    size_t n, at;
    const char *name;
} OTHERS[] = {
    { "GIF8", 4, 0, "a GIF" },
    { "BM", 2, 0, "a BMP" },
    { "II*\0", 4, 0, "a TIFF" },
    { "MM\0*", 4, 0, "a TIFF" },
    { "WEBP", 4, 8, "a WebP" },
    { "ftypheic", 8, 4, "a HEIC" },
    { "ftypavif", 8, 4, "an AVIF" },
    { "<svg", 4, 0, "an SVG" },
    { "<?xml", 5, 0, "an SVG or another XML" },
    { "AC10", 4, 0, "a DWG" },
    { "PK\x03\x04", 4, 0, "a packed folder" },
};

static enum rt_code unknown(struct str b, struct rt_problems *p)
{
    if (!b.n)
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, SEND, "nothing was sent");
    for (size_t i = 0; i < RT_COUNT(OTHERS); i++)
        if (b.n >= OTHERS[i].at + OTHERS[i].n && memcmp(b.p + OTHERS[i].at, OTHERS[i].begins, OTHERS[i].n) == 0)
            return rt_fail(p, RT_SHAPE, RT_NOWHERE, "save it as PNG, JPEG or PDF, and send that",
                           "this is %s file, which is not taken", OTHERS[i].name);
    return rt_fail(p, RT_SHAPE, RT_NOWHERE, SEND, "this is no picture that is known here");
}

enum rt_code picture_look(struct str bytes, struct picture *out, struct rt_problems *p)
{
    *out = (struct picture){ 0 };
    if (begins(bytes, PNG_SIGNATURE, PNG_HEAD)) {
        out->kind = PICTURE_PNG;
        return look_png(bytes, out, p);
    }
    if (begins(bytes, "\xFF\xD8\xFF", 3)) {
        out->kind = PICTURE_JPEG;
        return look_jpeg(bytes, out, p);
    }
    if (begins(bytes, "%PDF-", 5)) {
        out->kind = PICTURE_PDF;
        return RT_OK;
    }
    return unknown(bytes, p);
}
