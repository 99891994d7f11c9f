#include "web/field_bytes.h"

#include <endian.h>
#include <math.h>
#include <string.h>

static void put_u32(unsigned char *at, uint32_t value)
{
    const uint32_t le = htole32(value);
    memcpy(at, &le, sizeof le);
}

static void put_f32(unsigned char *at, float value)
{
    uint32_t bits;
    memcpy(&bits, &value, sizeof bits);
    put_u32(at, bits);
}

static void put_f64(unsigned char *at, double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    bits = htole64(bits);
    memcpy(at, &bits, sizeof bits);
}

struct str field_bytes(struct arena *a, const struct field_nodes *f, int64_t revision)
{
    const size_t n = (size_t)f->columns * f->rows, size = FIELD_BYTES_HEAD + 4 * n;
    unsigned char *out = arena_alloc(a, size, 1);
    float least = NAN, most = NAN;
    if (!out)
        return (struct str){ 0 };
    for (size_t i = 0; i < n; i++) {
        put_f32(out + FIELD_BYTES_HEAD + 4 * i, f->v[i]);
        least = fminf(least, f->v[i]); /* of a number and a NaN, the number */
        most = fmaxf(most, f->v[i]);
    }
    memcpy(out, "RTFD", 4);
    put_u32(out + 4, FIELD_BYTES_VERSION);
    put_u32(out + 8, FIELD_BYTES_HEAD);
    put_u32(out + 12, f->columns);
    put_u32(out + 16, f->rows);
    put_u32(out + 20, (uint32_t)revision);
    put_f64(out + 24, f->step_m);
    put_f64(out + 32, f->x0_m);
    put_f64(out + 40, f->y0_m);
    put_f64(out + 48, f->z_m);
    put_f32(out + 56, least);
    put_f32(out + 60, most);
    return (struct str){ (const char *)out, size };
}
