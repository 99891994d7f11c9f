/* The codes of countries against those that the C library's own time zones use (tzdata's iso3166.tab, after ISO 3166-1). */
#include "data/countries.h"

#include <regex.h>
#include <string.h>

#include "base/file.h"
#include "check.h"

enum { TAB_BYTES_MAX = 65536 };

TEST(they_are_those_of_iso_3166)
{
    struct check_run c = check_run_begin();
    struct str tab;
    bool is_listed['Z' + 1]['Z' + 1] = { { false } };
    CHECK_OK(&c, file_read(c.run.arena, "/usr/share/zoneinfo/iso3166.tab", TAB_BYTES_MAX, &tab, &c.problems));
    for (size_t i = 0; i + 2 < tab.n; i++)
        if ((i == 0 || tab.p[i - 1] == '\n') && tab.p[i] != '#' && tab.p[i + 2] == '\t')
            is_listed[(unsigned char)tab.p[i]][(unsigned char)tab.p[i + 1]] = true;
    unsigned n = 0;
    regex_t pattern;
    CHECK("a pattern", regcomp(&pattern, COUNTRY_PATTERN, REG_EXTENDED | REG_NOSUB) == 0);
    for (int a = 'A'; a <= 'Z'; a++)
        for (int b = 'A'; b <= 'Z'; b++) {
            const char code[] = { (char)a, (char)b, 0 };
            CHECK(code, country_exists(str_from(code)) == is_listed[a][b]);
            CHECK(code, (regexec(&pattern, code, 0, NULL, 0) == 0) == is_listed[a][b]);
            const char *meant = country_meant(str_from(code));
            CHECK(code, !meant || (!is_listed[a][b] && country_exists(str_from(meant))));
            n += is_listed[a][b];
        }
    regfree(&pattern);
    CHECK("most of the world", n > 240);
    CHECK_TEXT("UK", str_from(country_meant(STR("UK"))), STR("GB"));
    CHECK("lower case is none", !country_exists(STR("gb")) && !country_exists(STR("GBR")) && !country_exists(STR("")));
    check_run_end(&c);
}
