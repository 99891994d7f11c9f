/* Amounts of money: exact, in the smallest unit of a currency. */
#include <math.h>

#include "data/currencies.h"
#include "wire/bill.h"

enum { MICRO = 1000000, MILLI = 1000 };

static int64_t units_of_one(struct str currency)
{
    int64_t n = 1;
    for (int i = currency_digits(currency); i > 0; i--)
        n *= 10;
    return n;
}

bool money_amount(struct str currency, double price, double count, int64_t *out)
{
    static const double MOST = 9e12; /* llround of this in millionths still fits 63 bits */
    *out = 0;
    if (!(price >= 0.0 && price < MOST && count >= 0.0 && count < MOST))
        return false;
    /* Decimal digits as written in the file, taken out of their binary clothes before anything is multiplied. */
    const __int128 product = (__int128)llround(price * MICRO) * llround(count * MILLI);
    const __int128 scale = (__int128)MICRO * MILLI / units_of_one(currency);
    const __int128 amount = (product + scale / 2) / scale;
    if (amount > INT64_MAX)
        return false;
    *out = (int64_t)amount;
    return true;
}

double money_value(struct str currency, int64_t amount) { return (double)amount / (double)units_of_one(currency); }

struct str money_words(struct arena *a, struct str currency, int64_t amount)
{
    const uint64_t one = (uint64_t)units_of_one(currency);
    const uint64_t size = amount < 0 ? 0 - (uint64_t)amount : (uint64_t)amount;
    const int digits = currency_digits(currency);
    uint64_t scale = 1;
    while (size / one / scale >= 1000)
        scale *= 1000;
    struct buf b = { .arena = a };
    buf_printf(&b, "%s%u", amount < 0 ? "-" : "", (unsigned)(size / one / scale));
    for (scale /= 1000; scale > 0; scale /= 1000)
        buf_printf(&b, " %03u", (unsigned)(size / one / scale % 1000));
    if (digits > 0)
        buf_printf(&b, ".%0*u", digits, (unsigned)(size % one));
    buf_printf(&b, " %.*s", STR_ARG(currency));
    return b.failed ? STR("") : buf_done(&b);
}
