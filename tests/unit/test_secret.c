/* The file of secrets. */
#include <math.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "check.h"
#include "reach/secret.h"

/* IEEE Std 802.11-2020 Annex J.4.1 (from memory): 8 to 63 characters, each from 32 to 126. */
TEST(made_passphrases_are_strong_and_plain)
{
    unsigned seen[256] = { 0 };
    char before[SECRET_BYTES] = "";
    CHECK("at least 100 bits: letters, log2 of the alphabet",
          SECRET_LETTERS * log2((double)sizeof SECRET_ALPHABET - 1) >= 100.0);
    CHECK("no letters that look like others", !strpbrk(SECRET_ALPHABET, "ilo01IOL"));
    for (int k = 0; k < 2000; k++) {
        char made[SECRET_BYTES];
        CHECK("random bytes", secret_make(made));
        const size_t n = strlen(made);
        CHECK("length", n == 29 && n == SECRET_BYTES - 1);
        for (size_t i = 0; i < n; i++) {
            CHECK("groups of four letters", i % 5 == 4 ? made[i] == '-' : strchr(SECRET_ALPHABET, made[i]) != NULL);
            seen[(unsigned char)made[i]]++;
        }
        CHECK("another one each time", strcmp(made, before) != 0);
        CHECK("a passphrase", secret_is_passphrase(str_from(made)));
        memcpy(before, made, sizeof before);
    }
    /* 48,000 letters: each 2087 times, standard deviation 44.7; eight of them do not happen by chance. */
    for (const char *c = SECRET_ALPHABET; *c; c++)
        CHECK_NEAR("each letter as often", seen[(unsigned char)*c], 48000.0 / 23, 8 * 44.7, "times");
}

TEST(what_is_a_passphrase)
{
    CHECK("7", !secret_is_passphrase(STR("1234567")));
    CHECK("8", secret_is_passphrase(STR("1234567 ")));
    CHECK("63", secret_is_passphrase(STR("123456789012345678901234567890123456789012345678901234567890123")));
    CHECK("64", !secret_is_passphrase(STR("1234567890123456789012345678901234567890123456789012345678901234")));
    CHECK("tab", !secret_is_passphrase(STR("1234567\t")));
    CHECK("beyond ASCII", !secret_is_passphrase(STR("caf\xc3\xa9 noir")));
}

struct place {
    struct check_run c;
    char folder[64];
    const char *house, *secrets;
    struct house *h;
};

#define HOUSE                                                                                                     \
    "rooftree: 1\nname: T\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"                                \
    "floors: {g: {level_m: 0, height_m: 2.5, outline: [[0, 0], [1, 0], [1, 1]]}}\nsegments: {home: {vlan: 10}}\n" \
    "ssids:\n  one: {segment: home, bands: [5], security: wpa3}\n  air: {segment: home, bands: [5], security: owe}\n"

static void read_house(struct place *p, const char *text)
{
    CHECK_OK(&p->c, house_read_bytes(&p->c.run, p->house, str_from(text), &p->h, &p->c.problems));
}

static struct place begin(void)
{
    struct place p = { .c = check_run_begin(), .folder = "/tmp/secret_test_XXXXXX" };
    CHECK("folder", mkdtemp(p.folder) != NULL);
    p.house = arena_printf(p.c.run.arena, "%s/cot.house.yaml", p.folder);
    p.secrets = arena_printf(p.c.run.arena, "%s/cot.secrets.yaml", p.folder);
    read_house(&p, HOUSE);
    return p;
}

static void end(struct place *p)
{
    unlink(p->secrets);
    CHECK("nothing else is left", rmdir(p->folder) == 0);
    check_run_end(&p->c);
}

static unsigned mode_of(const char *path)
{
    struct stat st;
    return stat(path, &st) == 0 ? st.st_mode & 07777 : 0;
}

static struct str bytes_of(struct place *p)
{
    struct str s = { 0 };
    CHECK_OK(&p->c, file_read(p->c.run.arena, p->secrets, 1 << 20, &s, &p->c.problems));
    return s;
}

TEST(made_once_then_kept)
{
    struct place p = begin();
    struct secrets *first, *second, *third;
    const mode_t mask = umask(0); /* the mode must not rest on it */
    CHECK_OK(&p.c, secrets_open(&p.c.run, p.h, &first, &p.c.problems));
    umask(mask);
    CHECK_NEAR("mode", mode_of(p.secrets), 0600, 0, "");
    CHECK("one made, none for the open air",
          first->n_made == 1 && first->passphrases.v[0].n == 29 && first->passphrases.v[1].n == 0);
    const struct str bytes = bytes_of(&p);
    CHECK_OK(&p.c, secrets_open(&p.c.run, p.h, &second, &p.c.problems));
    CHECK_TEXT("kept", second->passphrases.v[0], first->passphrases.v[0]);
    CHECK("nothing made", second->n_made == 0);
    CHECK_TEXT("byte for byte", bytes_of(&p), bytes);
    read_house(&p, HOUSE "  two: {segment: home, bands: [5], security: wpa2}\n");
    CHECK_OK(&p.c, secrets_open(&p.c.run, p.h, &third, &p.c.problems));
    CHECK_TEXT("kept when another comes", third->passphrases.v[0], first->passphrases.v[0]);
    CHECK("the new one", third->n_made == 1 && third->passphrases.v[2].n == 29);
    CHECK_NEAR("mode still", mode_of(p.secrets), 0600, 0, "");
    end(&p);
}

TEST(ones_own_passphrase_and_remarks_stay)
{
    struct place p = begin();
    struct secrets *s;
    static const char OWN[] =
        "rooftree_secrets: 1\npasswords_of: nobody\npassphrases:\n    gone: \"once upon a time\"\n"
        "    one: 'My Own: pass'\n# a remark at the end\n";
    CHECK_OK(&p.c, file_write(p.secrets, str_from(OWN), 0600, &p.c.problems));
    CHECK_OK(&p.c, secrets_open(&p.c.run, p.h, &s, &p.c.problems));
    CHECK_TEXT("own", s->passphrases.v[0], STR("My Own: pass"));
    CHECK_TEXT("untouched", bytes_of(&p), str_from(OWN));
    read_house(&p, HOUSE "  two: {segment: home, bands: [5], security: wpa2}\n");
    CHECK_OK(&p.c, secrets_open(&p.c.run, p.h, &s, &p.c.problems));
    const struct str now = bytes_of(&p);
    CHECK("remark stays", strstr(now.p, "# a remark at the end") != NULL);
    CHECK("and so does what is gone from the house", strstr(now.p, "once upon a time") != NULL);
    struct secrets *again;
    CHECK_OK(&p.c, secrets_open(&p.c.run, p.h, &again, &p.c.problems));
    CHECK_TEXT("reads back", again->passphrases.v[2], s->passphrases.v[2]);
    end(&p);
}

/* No message may quote what is in the file. */
TEST(what_is_refused)
{
    static const struct {
        const char *what;
        unsigned mode;
        const char *text;
        enum rt_code code;
        const char *says;
    } ROWS[] = {
        { "read by others", 0644, "rooftree_secrets: 1\npassphrases:\n  one: hush-hush-hush\n", RT_CONFLICT,
          "mode is 0644" },
        { "written by a group", 0620, "rooftree_secrets: 1\npassphrases:\n  one: hush-hush-hush\n", RT_CONFLICT,
          "0620" },
        { "too short", 0600, "rooftree_secrets: 1\npassphrases:\n  one: hush\n", RT_RANGE, "not a passphrase" },
        { "no YAML", 0600, "rooftree_secrets: 1\npassphrases:\n  one: \"hush-hush-hush\n", RT_SYNTAX,
          "cannot be read" },
        { "twice", 0600, "rooftree_secrets: 1\npassphrases:\n  one: hush-hush-hush\n  one: hush-hush-hush\n", RT_SHAPE,
          "cannot be read" },
        { "another file", 0600, "hush: hush\n", RT_SHAPE, "not a file of secrets" },
        { "no passphrases", 0600, "rooftree_secrets: 1\n", RT_SHAPE, "has no passphrases" },
        { "a list", 0600, "rooftree_secrets: 1\npassphrases: [hush-hush-hush]\n", RT_SHAPE, "one below the other" },
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        struct place p = begin();
        struct secrets *s;
        CHECK_OK(&p.c, file_write(p.secrets, str_from(ROWS[i].text), ROWS[i].mode, &p.c.problems));
        CHECK(ROWS[i].what, secrets_open(&p.c.run, p.h, &s, &p.c.problems) == ROWS[i].code && !s);
        struct buf text = { .arena = p.c.run.arena };
        rt_problems_format(&p.c.problems, &text);
        CHECK(text.p, strstr(text.p, ROWS[i].says) != NULL);
        CHECK("no secret in the message", !strstr(text.p, "hush"));
        CHECK_TEXT("the file stays", bytes_of(&p), str_from(ROWS[i].text));
        end(&p);
    }
}
