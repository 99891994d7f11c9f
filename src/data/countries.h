/* countries.h - which two letters name a country (ISO 3166-1 alpha-2). */
#ifndef RT_DATA_COUNTRIES_H
#define RT_DATA_COUNTRIES_H

#include <stdbool.h>

#include "base/str.h"

/* They as a regular expression, for editors that know the schema; a test holds the two against each other. */
#define COUNTRY_PATTERN                                                                               \
    "^(A[DEFGILMOQRSTUWXZ]|B[ABDEFGHIJLMNOQRSTVWYZ]|C[ACDFGHIKLMNORUVWXYZ]|D[EJKMOZ]|E[CEGHRST]|"     \
    "F[IJKMOR]|G[ABDEFGHILMNPQRSTUWY]|H[KMNRTU]|I[DELMNOQRST]|J[EMOP]|K[EGHIMNPRWYZ]|L[ABCIKRSTUVY]|" \
    "M[ACDEFGHKLMNOPQRSTUVWXYZ]|N[ACEFGILOPRUZ]|OM|P[AEFGHKLMNRSTWY]|QA|R[EOSUW]|"                    \
    "S[ABCDEGHIJKLMNORSTVXYZ]|T[CDFGHJKLMNORTVWZ]|U[AGMSYZ]|V[ACEGINU]|W[FS]|Y[ET]|Z[AMW])$"

/* Two capital letters. */
bool country_exists(struct str code);
/* The code that was meant by one that does not exist but is often written ("UK": "GB"); NULL: nobody knows. */
const char *country_meant(struct str code);

#endif
