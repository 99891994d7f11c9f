/* Names of houses lead nowhere but into the folder. */
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "web_kit.h"

TEST(names)
{
    static const char *const GOOD[] = { "a", "larch_end", "house-2", "0" };
    static const char *const BAD[] = { "", ".", "..", "../x", "a/b", "a.b", "A", "a b", "\xc3\xa4", "a\n", "%2e%2e" };
    char longest[66] = { 0 };
    for (size_t i = 0; i < RT_COUNT(GOOD); i++)
        CHECK(GOOD[i], folder_is_name(str_from(GOOD[i])));
    for (size_t i = 0; i < RT_COUNT(BAD); i++)
        CHECK(BAD[i], !folder_is_name(str_from(BAD[i])));
    CHECK("a NUL within", !folder_is_name((struct str){ "a\0b", 3 }));
    memset(longest, 'a', 64);
    CHECK("64", folder_is_name(str_from(longest)));
    longest[64] = 'a';
    CHECK("65", !folder_is_name(str_from(longest)));
}

TEST(links_and_folders_are_no_houses)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    struct arena *a = k.c.run.arena;
    const char *houses = arena_printf(a, "%s/houses", k.folder);
    CHECK("a link", symlink("/etc/passwd", arena_printf(a, "%s/link.house.yaml", houses)) == 0);
    CHECK_OK(&k.c, file_make_folder(arena_printf(a, "%s/room.house.yaml", houses), &k.c.problems));
    const struct reply link = web_get(&k, "/api/houses/link/file"), room = web_get(&k, "/api/houses/room/file");
    CHECK("not read", link.status >= 400 && room.status >= 400);
    CHECK("nor told", !link.body.n || !strstr(link.body.p, "root:"));
    CHECK("there is none", web_get(&k, "/api/houses/none/file").status == 422);
    CHECK("nor there", web_get(&k, "/api/houses/../file").status >= 400);
    web_kit_end(&k);
}
