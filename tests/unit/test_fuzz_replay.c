/* Every file of the fuzz corpus goes through its target again, under the sanitizers of the test build: inputs that once
 * failed, and a small set that together walks most ways through the readers. */
#include "check.h"

#include <glob.h>
#include <string.h>

#include "base/file.h"
#include "fuzz.h"

static void replay(const char *pattern, int (*target)(const uint8_t *p, size_t n))
{
    struct check_run c = check_run_begin();
    glob_t found = { 0 };
    const int code = glob(check_path(&c, pattern), 0, NULL, &found);
    CHECK("the corpus is there", code == 0 && found.gl_pathc > 0);
    for (size_t i = 0; i < found.gl_pathc; i++) {
        struct str bytes;
        CHECK_OK(&c, file_read(c.run.arena, found.gl_pathv[i], 1 << 20, &bytes, &c.problems));
        target((const uint8_t *)bytes.p, bytes.n);
    }
    print_message("    %zu files\n", (size_t)found.gl_pathc);
    globfree(&found);
    check_run_end(&c);
}

TEST(corpus_of_edits) { replay("tests/fuzz/corpus/edit/*", fuzz_edit); }
TEST(corpus_of_regulatory_files) { replay("tests/fuzz/corpus/regdb/*", fuzz_regdb); }
TEST(corpus_of_zone_files) { replay("tests/fuzz/corpus/zone/*", fuzz_zone); }
TEST(corpus_of_rule_tables) { replay("tests/fuzz/corpus/table/*", fuzz_table); }
TEST(corpus_of_policies) { replay("tests/fuzz/corpus/policy/*", fuzz_policy); }
TEST(corpus_of_houses) { replay("tests/fuzz/corpus/house/*", fuzz_house); }
TEST(corpus_of_parts) { replay("tests/fuzz/corpus/parts/*", fuzz_parts); }
TEST(corpus_of_rulesets) { replay("tests/fuzz/corpus/ruleset/*", fuzz_ruleset); }
TEST(recorded_rulesets) { replay("tests/reference/rulesets/*.json", fuzz_ruleset); }
TEST(demo_houses) { replay("houses/*.yaml", fuzz_house); }
TEST(demo_parts) { replay("parts/*.yaml", fuzz_parts); }
