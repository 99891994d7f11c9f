#include "design/space.h"
enum rt_code mounts_generate(const struct run *run, const struct house *h, const struct design_options *options,
                             struct house **out, struct rt_problems *p)
{
    (void)options;
    struct house *s = ARENA_NEW(run->arena, struct house);
    if (!s)
        return rt_fail_memory(p);
    *s = *h;
    *out = s;
    return RT_OK;
}
