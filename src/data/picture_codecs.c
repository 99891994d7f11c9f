#include "data/picture_codecs.h"

#include "base/units.h"

struct named_value {
    const char *name;
    double value;
};

static double find(const struct named_value *v, size_t n, struct str name)
{
    for (size_t i = 0; i < n; i++)
        if (str_is(name, v[i].name))
            return v[i].value;
    return RT_NOT_GIVEN;
}

double picture_bits_per_pixel(struct str quality)
{
    static const struct named_value V[] = { { "low", 0.05 }, { "normal", 0.07 }, { "high", 0.10 } };
    return find(V, RT_COUNT(V), quality);
}

double picture_codec_factor(struct str codec)
{
    static const struct named_value V[] = { { "h264", 1.0 }, { "h265", 0.55 }, { "mjpeg", 10.0 } };
    return find(V, RT_COUNT(V), codec);
}
