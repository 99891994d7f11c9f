/* ISO 4217:2015, list one, column 'minor unit': the currencies that have other than two digits.  Read in a public copy of the
 * list; CLF, UYW and UGX (0 since 2013) from memory. */
#include "data/currencies.h"

static const struct {
    const char *code;
    int digits;
} ODD[] = {
    { "BHD", 3 }, { "BIF", 0 }, { "CLF", 4 }, { "CLP", 0 }, { "DJF", 0 }, { "GNF", 0 }, { "IQD", 3 },
    { "ISK", 0 }, { "JOD", 3 }, { "JPY", 0 }, { "KMF", 0 }, { "KRW", 0 }, { "KWD", 3 }, { "LYD", 3 },
    { "OMR", 3 }, { "PYG", 0 }, { "RWF", 0 }, { "TND", 3 }, { "UGX", 0 }, { "UYI", 0 }, { "UYW", 4 },
    { "VND", 0 }, { "VUV", 0 }, { "XAF", 0 }, { "XOF", 0 }, { "XPF", 0 },
};

int currency_digits(struct str code)
{
    for (size_t i = 0; i < RT_COUNT(ODD); i++)
        if (str_is(code, ODD[i].code))
            return ODD[i].digits;
    return CURRENCY_DIGITS_USUAL;
}
