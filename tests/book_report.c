/* What leaves the screen of a house, made from one evaluation, for tests in another language: under the sanitizers the waves take
 * minutes, and are not to be computed anew for each paper and each table.
 *   book_report HOUSE FOLDER [CELL_M]   writes a4.pdf, letter.pdf, check.json (failures included) and csv/ into FOLDER
 * With a side of cells in metres the field is a coarse one, of order 1 without diffraction: for checks that are not about waves. */
#include <stdio.h>
#include <stdlib.h>

#include "base/file.h"
#include "base/json.h"
#include "book/book.h"
#include "book/house_export.h"
#include "data/device_kinds.h"
#include "promise/failure_table.h"
#include "wire/open_parts.h"

struct report {
    struct run run;
    const char *folder;
    struct house *h;
    struct evaluation ev;
    struct rt_problems problems;
};

static enum rt_code write_file(struct report *r, const char *name, struct str bytes)
{
    const char *path = arena_printf(r->run.arena, "%s/%s", r->folder, name);
    return path ? file_write(path, bytes, 0644, &r->problems) : rt_fail_memory(&r->problems);
}

static enum rt_code write_book(struct report *r, enum flow_paper paper, const char *name)
{
    const struct book_options options = { .paper = paper,
                                          .device = evaluation_radio_of(&r->ev, STR(DEVICE_KIND_USUAL)),
                                          .device_name = STR(DEVICE_KIND_USUAL) };
    struct flow_made made = { 0 };
    RT_TRY(book_make(&r->run, &r->ev, &options, &made, &r->problems));
    return write_file(r, name, made.bytes);
}

static enum rt_code write_check(struct report *r)
{
    struct promise_results results = { 0 };
    struct failure_table *failures = NULL;
    struct buf out = { .arena = r->run.arena };
    struct json j = { .out = &out };
    RT_TRY(promises_evaluate(&r->ev, ALL_PROMISE_KINDS, &results, &r->problems));
    RT_TRY(evaluation_failures(&r->ev, &failures, &r->problems));
    RT_TRY(failure_table_fill(failures, &r->problems));
    promises_write_json(&j, &r->ev, &results, failures, NULL);
    return write_file(r, "check.json", buf_done(&out));
}

static enum rt_code write_tables(struct report *r)
{
    struct export_house x = { 0 };
    struct export_folder files = { .arena = r->run.arena };
    const char *path = arena_printf(r->run.arena, "%s/csv", r->folder);
    RT_TRY(house_export(&r->run, &r->ev, export_form_find(STR("csv")), false, &x, &files, &r->problems));
    return path ? export_write(r->run.arena, &files, path, &r->problems) : rt_fail_memory(&r->problems);
}

static enum rt_code report(struct report *r, const char *house, const char *cell_m)
{
    RT_TRY(house_open(&r->run, house, &r->h, &r->problems));
    struct field_options options = evaluation_default_options(r->h);
    if (cell_m) {
        options.cell_m = strtod(cell_m, NULL);
        options.trace.order = 1;
        options.trace.diffraction = false;
    }
    RT_TRY(evaluation_begin(&r->ev, &r->run, r->h, options, &r->problems));
    RT_TRY(file_make_folder(r->folder, &r->problems));
    RT_TRY(write_book(r, FLOW_A4, "a4.pdf"));
    RT_TRY(write_book(r, FLOW_LETTER, "letter.pdf"));
    RT_TRY(write_check(r));
    return write_tables(r);
}

int main(int argc, char **argv)
{
    if (argc < 3 || argc > 4)
        return 2;
    struct report r = { .run = { .arena = arena_new((size_t)2 << 30), .seed = 1, .n_threads = 2, .now_s = time(NULL) },
                        .folder = argv[2] };
    if (!r.run.arena)
        return 2;
    rt_problems_init(&r.problems, r.run.arena);
    const enum rt_code code = report(&r, argv[1], argc == 4 ? argv[3] : NULL);
    if (code) {
        struct buf out = { .arena = r.run.arena };
        rt_problems_format(&r.problems, &out);
        (void)fprintf(stderr, "%.*s", STR_ARG(buf_done(&out)));
    }
    arena_free(r.run.arena);
    return code ? 1 : 0;
}
