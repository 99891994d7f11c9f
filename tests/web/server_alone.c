/* The server by itself, for tests that talk HTTP to it: server_alone FOLDER PAGE [ADDRESS PASSWORD NAMES]; prints its
 * links, ends at SIGTERM. */
#include <signal.h>
#include <stdio.h>
#include <time.h>

#include "web/server.h"

static atomic_bool stop_asked;

static void on_stop(int number)
{
    (void)number;
    atomic_store(&stop_asked, true);
}

int main(int argc, char **argv)
{
    struct run run = { .arena = arena_new((size_t)256 << 20), .seed = 1, .n_threads = 1, .cancel = &stop_asked };
    struct rt_problems problems;
    struct server *server = NULL;
    const struct sigaction action = { .sa_handler = on_stop };
    sigaction(SIGTERM, &action, NULL);
    if ((argc != 3 && argc != 6) || !run.arena)
        return 2;
    rt_problems_init(&problems, run.arena);
    struct server_options options = { .path = argv[1], .page = argv[2] };
    if (argc == 6) {
        options.listen = argv[3];
        options.password = str_from(argv[4]);
        options.names = argv[5];
    }
    if (server_start(&run, &options, &server, &problems) != RT_OK) {
        struct buf out = { .arena = run.arena };
        rt_problems_format(&problems, &out);
        fprintf(stderr, "%.*s", STR_ARG(buf_done(&out)));
        arena_free(run.arena);
        return 2;
    }
    printf("%s\n", server_link(server));
    if (server_link_beyond(server))
        printf("%s\n", server_link_beyond(server));
    fflush(stdout);
    const struct timespec a_moment = { .tv_nsec = 20000000 };
    while (!atomic_load(&stop_asked))
        nanosleep(&a_moment, NULL);
    server_stop(server);
    arena_free(run.arena);
    return 0;
}
