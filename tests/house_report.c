/* house_report - what the schema test asks of the reader.
 *
 *   house_report schema house|parts        prints the JSON Schema
 *   house_report codes house|parts FILE    prints the code of each problem of the file (up to a line "--- expect"), one
 *                                          a line; nothing: it is right */
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "house/house.h"

static int usage(void)
{
    fputs("usage: house_report schema|codes house|parts [FILE]\n", stderr);
    return 2;
}

static void print_codes(const struct run *run, bool is_parts, const char *path, struct rt_problems *p)
{
    struct str bytes = { 0 };
    struct house *house;
    struct parts parts;
    if (file_read(run->arena, path, HOUSE_MAX_BYTES, &bytes, p) == RT_OK) {
        const char *mark = memmem(bytes.p, bytes.n, "--- expect\n", 11);
        if (mark)
            bytes.n = (size_t)(mark - bytes.p);
        (void)!(is_parts ? parts_read_bytes(run, path, bytes, &parts, p)
                         : house_read_bytes(run, path, bytes, &house, p));
    }
    for (uint32_t i = 0; i < p->list.n; i++)
        if (!p->list.v[i].is_warning)
            puts(rt_code_name(p->list.v[i].code));
}

int main(int argc, char **argv)
{
    if (argc < 3)
        return usage();
    const bool is_parts = strcmp(argv[2], "parts") == 0;
    struct arena *arena = arena_new((size_t)1 << 30);
    if (!arena)
        return 1;
    const struct run run = { .arena = arena, .seed = 1, .n_threads = 1 };
    struct rt_problems p;
    rt_problems_init(&p, arena);
    int status = 0;
    if (strcmp(argv[1], "schema") == 0) {
        struct buf out = { .arena = arena };
        if (is_parts)
            parts_write_schema(&out);
        else
            house_write_schema(&out);
        fwrite(out.p, 1, out.n, stdout);
    } else if (strcmp(argv[1], "codes") == 0 && argc == 4) {
        print_codes(&run, is_parts, argv[3], &p);
    } else {
        status = usage();
    }
    arena_free(arena);
    return status;
}
