/* countries.h - which two letters name a country (ISO 3166-1 alpha-2). */
#ifndef RT_DATA_COUNTRIES_H
#define RT_DATA_COUNTRIES_H

#include <stdbool.h>

#include "base/str.h"

/* Two capital letters. */
bool country_exists(struct str code);
/* The code that was meant by one that does not exist but is often written ("UK": "GB"); NULL: nobody knows. */
const char *country_meant(struct str code);

#endif
