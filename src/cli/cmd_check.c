#include "cli/cmd_house.h"
#include "data/channels.h"
#include "promise/mend.h"

/* Ports and cables that cannot work as the file says: told, but the promises are judged all the same. */
static void tell_layer2(struct cli *cli, const struct evaluation *ev)
{
    for (uint32_t i = 0; ev->layer2 && i < ev->layer2->findings.n; i++) {
        const struct l2_finding *f = &ev->layer2->findings.v[i];
        if (f->is_error)
            rt_warn(&cli->problems, RT_CONFLICT, f->at, arena_printf(cli->run.arena, "%.*s", STR_ARG(f->hint)), "%.*s",
                    STR_ARG(f->says));
    }
}

/* Two radios of a band whose channel nobody wrote down are judged as if they shared one: said once, of all bands. */
static void tell_open_channels(struct cli *cli, const struct evaluation *ev)
{
    struct buf which = { .arena = cli->run.arena };
    uint32_t first = NO_REF;
    for (enum band b = 0; b < BAND_COUNT; b++) {
        uint32_t n = 0, one = 0;
        for (uint32_t i = ev->radios.n; i-- > 0;)
            if (ev->radios.v[i].band == b && ev->radios.v[i].channel_was_chosen) {
                one = i;
                n++;
            }
        if (n < 2)
            continue;
        const struct ap_radio *r = &ev->radios.v[one];
        first = first == NO_REF ? r->equipment : first;
        buf_printf(&which, "%s%u radios at %s GHz, as if on channel %d", which.n ? "; " : "", n, band_name(b),
                   channel_primary(b, (int)r->channel, (int)(r->width_hz / 1e6 + 0.5)));
    }
    if (first != NO_REF && !which.failed)
        rt_warn(&cli->problems, RT_MISSING, ev->h->equipment.v[first].at,
                "run `rooftree design` to have channels chosen, or give each its `channel` in `radios`",
                "channels that the house file leaves open are not chosen: judged are %.*s", STR_ARG(buf_done(&which)));
}

int cmd_check(struct cli *cli)
{
    struct house *h;
    struct evaluation ev;
    struct promise_results results;
    if (cli_open_house(cli, &h, &ev) != RT_OK ||
        promises_evaluate(&ev, ALL_PROMISE_KINDS, &results, &cli->problems) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    struct failure_table *failures = NULL;
    if (cli->args.failures && (evaluation_failures(&ev, &failures, &cli->problems) != RT_OK ||
                               failure_table_fill(failures, &cli->problems) != RT_OK))
        return cli_problems(cli, EXIT_TROUBLE);
    struct mends mends = { 0 };
    if (failures && cli->args.mend && failures_mend(failures, &mends, &cli->problems) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    tell_layer2(cli, &ev);
    tell_open_channels(cli, &ev);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json) {
        struct json j = { .out = &out };
        promises_write_json(&j, &ev, &results, failures, cli->args.mend ? &mends : NULL);
    } else {
        promises_write_text(&out, &ev, &results, cli->columns, cli->colour);
        if (failures)
            failure_table_write_text(&out, failures, cli->columns, cli->colour);
        if (failures)
            mends_write_text(&out, failures, &mends, cli->columns, cli->colour);
    }
    const int status = results.n_broken || results.n_unknown ? EXIT_BROKEN : EXIT_KEPT;
    return cli_problems(cli, cli_print(cli, &out, status));
}
