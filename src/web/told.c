#include "web/told.h"

void problems_copy(struct rt_problems *to, const struct rt_problems *from)
{
    for (uint32_t i = 0; i < from->list.n; i++) {
        const struct rt_problem *q = &from->list.v[i];
        struct rt_place at = q->at;
        at.file = at.file ? arena_printf(to->arena, "%s", at.file) : NULL;
        if (q->is_warning)
            rt_warn(to, q->code, at, q->hint, "%s", q->msg);
        else
            (void)rt_fail(to, q->code, at, q->hint, "%s", q->msg);
    }
}
