/* Changes a house at random in memory, writes the file, and says what was changed, for a test in another language:
 *   design_report HOUSE SEED   prints the changes, a line "----", and the new file. */
#include "design_kit.h"

#include <stdio.h>
#include <stdlib.h>

#include "design/fit.h"

int main(int argc, char **argv)
{
    struct arena *a = arena_new((size_t)1024 * 1024 * 1024);
    const struct run run = { .arena = a, .n_threads = 1 };
    struct rt_problems p;
    struct house *h = NULL;
    struct str bytes = { 0 };
    if (!a || argc != 3)
        return 2;
    rt_problems_init(&p, a);
    enum rt_code code = house_read(&run, argv[1], &h, &p);
    struct random r = { .seed = strtoull(argv[2], NULL, 10) };
    struct buf told = { .arena = a };
    if (!code)
        code = fit_write(&run, h, change_house(a, &r, h, &told), &bytes, &p);
    if (code) {
        struct buf out = { .arena = a };
        rt_problems_format(&p, &out);
        (void)fprintf(stderr, "%.*s%.*s", STR_ARG(buf_done(&told)), STR_ARG(buf_done(&out)));
        arena_free(a);
        return 1;
    }
    (void)printf("%.*s----\n%.*s", STR_ARG(buf_done(&told)), STR_ARG(bytes));
    arena_free(a);
    return 0;
}
