#include "cli/cmd_house.h"
#include "reach/ask.h"
#include "wire/open_parts.h"

static enum rt_code read_question(struct cli *cli, const struct house *h, const struct calendar *c, struct asked *q)
{
    struct rt_problems *p = &cli->problems;
    RT_TRY(house_read_endpoint(h, str_from(cli->args.from), &q->from, p));
    RT_TRY(house_read_endpoint(h, str_from(cli->args.to), &q->to, p));
    if (cli->args.service) {
        struct str *one = ARENA_NEW(cli->run.arena, struct str);
        if (!one)
            return rt_fail_memory(p);
        *one = str_from(cli->args.service);
        RT_TRY(house_knows_service(h, *one, p));
        q->services = (str_list){ one, 1 };
    }
    return calendar_read_time(c, str_from(cli->args.when ? cli->args.when : "now"), cli->run.now_s, &q->at_s, p);
}

static enum rt_code make_answer(struct cli *cli, struct answer *out)
{
    struct house *h;
    struct proof *proof;
    struct asked q = { 0 };
    struct rt_problems *p = &cli->problems;
    RT_TRY(house_open(&cli->run, cli->args.file, &h, p));
    struct evaluation ev = { .run = &cli->run, .h = h };
    RT_TRY(evaluation_proof(&ev, &proof, p));
    RT_TRY(read_question(cli, h, proof->calendar, &q));
    return ask(&cli->run, proof, ev.layer2, &q, out, p);
}

int cmd_ask(struct cli *cli)
{
    struct answer answer;
    if (make_answer(cli, &answer) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json) {
        struct json j = { .out = &out };
        answer_write_json(&j, &answer);
    } else {
        answer_write_text(&out, &answer);
    }
    return cli_problems(cli, cli_print(cli, &out, EXIT_KEPT));
}
