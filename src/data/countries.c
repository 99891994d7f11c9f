/* ISO 3166-1, the officially assigned alpha-2 codes, in rising order.  Read in tzdata's iso3166.tab (2026f), which follows the
 * standard's newsletters; a test holds the two against each other. */
#include "data/countries.h"

#include "base/compiler.h"

/* clang-format off */
static const char *const CODES[] = {
    "AD", "AE", "AF", "AG", "AI", "AL", "AM", "AO", "AQ", "AR", "AS", "AT", "AU", "AW", "AX", "AZ", "BA", "BB", "BD",
    "BE", "BF", "BG", "BH", "BI", "BJ", "BL", "BM", "BN", "BO", "BQ", "BR", "BS", "BT", "BV", "BW", "BY", "BZ", "CA",
    "CC", "CD", "CF", "CG", "CH", "CI", "CK", "CL", "CM", "CN", "CO", "CR", "CU", "CV", "CW", "CX", "CY", "CZ", "DE",
    "DJ", "DK", "DM", "DO", "DZ", "EC", "EE", "EG", "EH", "ER", "ES", "ET", "FI", "FJ", "FK", "FM", "FO", "FR", "GA",
    "GB", "GD", "GE", "GF", "GG", "GH", "GI", "GL", "GM", "GN", "GP", "GQ", "GR", "GS", "GT", "GU", "GW", "GY", "HK",
    "HM", "HN", "HR", "HT", "HU", "ID", "IE", "IL", "IM", "IN", "IO", "IQ", "IR", "IS", "IT", "JE", "JM", "JO", "JP",
    "KE", "KG", "KH", "KI", "KM", "KN", "KP", "KR", "KW", "KY", "KZ", "LA", "LB", "LC", "LI", "LK", "LR", "LS", "LT",
    "LU", "LV", "LY", "MA", "MC", "MD", "ME", "MF", "MG", "MH", "MK", "ML", "MM", "MN", "MO", "MP", "MQ", "MR", "MS",
    "MT", "MU", "MV", "MW", "MX", "MY", "MZ", "NA", "NC", "NE", "NF", "NG", "NI", "NL", "NO", "NP", "NR", "NU", "NZ",
    "OM", "PA", "PE", "PF", "PG", "PH", "PK", "PL", "PM", "PN", "PR", "PS", "PT", "PW", "PY", "QA", "RE", "RO", "RS",
    "RU", "RW", "SA", "SB", "SC", "SD", "SE", "SG", "SH", "SI", "SJ", "SK", "SL", "SM", "SN", "SO", "SR", "SS", "ST",
    "SV", "SX", "SY", "SZ", "TC", "TD", "TF", "TG", "TH", "TJ", "TK", "TL", "TM", "TN", "TO", "TR", "TT", "TV", "TW",
    "TZ", "UA", "UG", "UM", "US", "UY", "UZ", "VA", "VC", "VE", "VG", "VI", "VN", "VU", "WF", "WS", "YE", "YT", "ZA",
    "ZM", "ZW"
};
/* clang-format on */

/* What people write though it is nobody's code: UK and EL are reserved for those two in ISO 3166-1 and
 * used so by the European Union; the others are codes of languages (ISO 639) and guesses.  From memory. */
static const struct {
    const char *said, *meant;
} SLIPS[] = { { "UK", "GB" }, { "EL", "GR" }, { "EN", "GB" }, { "JA", "JP" },
              { "KO", "KR" }, { "DA", "DK" }, { "SP", "ES" } };

bool country_exists(struct str code)
{
    for (size_t i = 0; i < RT_COUNT(CODES); i++)
        if (str_is(code, CODES[i]))
            return true;
    return false;
}

const char *country_meant(struct str code)
{
    for (size_t i = 0; i < RT_COUNT(SLIPS); i++)
        if (str_is(code, SLIPS[i].said))
            return SLIPS[i].meant;
    return NULL;
}
