#include "reach/rehearse_act.h"

/* How long nothing must happen until silence is believed, at the first try and at later ones. */
static const int QUIET_MS[] = { 100, 500, 1200 };
enum { TRIES = RT_COUNT(QUIET_MS) };

bool act_agrees(const struct probe *probe, struct expectation expected, uint8_t seen, bool answers_unlimited)
{
    uint8_t mask = (uint8_t)(expected.mask | SEEN_FAULT);
    if (!answers_unlimited && probe->protocol != IP_TCP)
        mask = (uint8_t)(mask & ~SEEN_REFUSED);
    return (expected.bits & mask) == (seen & mask);
}

/* Something that should have been seen is missing, and nothing speaks against its coming yet. */
static bool is_worth_another_try(const struct act *act, uint32_t i, bool answers_unlimited)
{
    const struct expectation x = act->expected[i];
    return !act_agrees(&act->probes[i], x, act->seen[i], answers_unlimited) &&
           !(act->seen[i] & ~x.bits & (x.mask | SEEN_FAULT));
}

static enum rt_code perform(const struct run *run, const struct stage *s, const struct act *act, uint32_t number,
                            struct rt_problems *p)
{
    RT_TRY(stage_load(s, act->rules, true, p));
    uint32_t *again = ARENA_ARRAY(run->arena, uint32_t, act->n);
    if (!again)
        return rt_fail_memory(p);
    uint32_t n_again = act->n;
    for (uint32_t try = 0; try < TRIES && n_again > 0; try++) {
        RT_TRY(probes_run(run, s, act->probes, act->n, try ? again : NULL, n_again, number * TRIES + try, QUIET_MS[try],
                          act->seen, p));
        n_again = 0;
        for (uint32_t i = 0; i < act->n; i++)
            if (is_worth_another_try(act, i, s->answers_unlimited))
                again[n_again++] = i;
    }
    return RT_OK;
}

enum rt_code play_perform(void *user, const struct run *run, struct rt_problems *p)
{
    const struct play *play = user;
    struct stage stage;
    RT_TRY(stage_build(run->arena, play->stage, &stage, p));
    *play->answers_unlimited = stage.answers_unlimited;
    for (uint32_t i = 0; i < play->n_acts; i++) {
        const struct arena_mark mark = arena_mark(run->arena);
        RT_TRY(perform(run, &stage, &play->acts[i], i, p));
        arena_reset(run->arena, mark);
    }
    return play->finale ? play->finale(play->user, run, &stage, p) : RT_OK;
}
