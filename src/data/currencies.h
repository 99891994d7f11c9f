/* currencies.h - how many digits behind the point a currency has (ISO 4217, column 'minor unit'). */
#ifndef RT_DATA_CURRENCIES_H
#define RT_DATA_CURRENCIES_H

#include "base/str.h"

enum { CURRENCY_DIGITS_USUAL = 2, CURRENCY_DIGITS_MOST = 4 };

/* Of an ISO 4217 code: 0 (JPY), 2 (GBP), 3 (KWD) or 4 (CLF).  Codes that are not in the table have two, as nearly all have. */
int currency_digits(struct str code);

#endif
