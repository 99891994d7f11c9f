#include "web/pictures.h"

#include "base/units.h"
#include "web/store_int.h"

#define COLUMNS "number, kind, width_px, height_px, page, pages, floor, m_per_px, turn_deg, x_m, y_m, opacity"

static double number_of(struct store_ask *q, int column)
{
    return sqlite3_column_type(q->stmt, column) == SQLITE_NULL ? RT_NOT_GIVEN : sqlite3_column_double(q->stmt, column);
}

static struct plan_picture read_row(struct store_ask *q, struct arena *a)
{
    return (struct plan_picture){
        .number = sqlite3_column_int64(q->stmt, 0),
        .size = { sqlite3_column_int(q->stmt, 1) == PICTURE_JPEG ? PICTURE_JPEG : PICTURE_PNG,
                  (uint32_t)sqlite3_column_int64(q->stmt, 2), (uint32_t)sqlite3_column_int64(q->stmt, 3) },
        .page = (uint32_t)sqlite3_column_int64(q->stmt, 4),
        .pages = (uint32_t)sqlite3_column_int64(q->stmt, 5),
        .placing = { .floor = store_column_text(q, a, 6),
                     .m_per_px = number_of(q, 7),
                     .turn_deg = number_of(q, 8),
                     .x_m = number_of(q, 9),
                     .y_m = number_of(q, 10),
                     .opacity = number_of(q, 11) },
    };
}

static void bind_placing(struct store_ask *q, const struct plan_placing *at)
{
    store_bind_text(q, at->floor);
    store_bind_number(q, at->m_per_px);
    store_bind_number(q, at->turn_deg);
    store_bind_number(q, at->x_m);
    store_bind_number(q, at->y_m);
    store_bind_number(q, at->opacity);
}

static void bind_size(struct store_ask *q, const struct plan_picture *picture)
{
    store_bind_int(q, picture->size.kind);
    store_bind_int(q, picture->size.width_px);
    store_bind_int(q, picture->size.height_px);
    store_bind_int(q, picture->page);
}

static enum rt_code none(struct rt_problems *p)
{
    return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "ask for the list of pictures", "this house has no such picture");
}

/* A change of one row, which says its number. */
static enum rt_code changed(struct store_ask *q, struct rt_problems *p)
{
    const bool is_there = store_next(q);
    (void)store_next(q); /* to its end, or it does not count */
    RT_TRY(store_end(q, p));
    return is_there ? RT_OK : none(p);
}

enum rt_code pictures_add(struct store *s, struct str house, const struct plan_picture *picture, struct str bytes,
                          struct str source, int64_t *number, struct rt_problems *p)
{
    struct store_ask q = store_ask(
        s, "INSERT INTO picture (house, kind, width_px, height_px, page, pages, floor, m_per_px, turn_deg, x_m,"
           " y_m, opacity, bytes, source) SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14"
           " WHERE (SELECT count(*) FROM picture WHERE house = ?1) < ?15 RETURNING number");
    store_bind_text(&q, house);
    bind_size(&q, picture);
    store_bind_int(&q, picture->pages);
    bind_placing(&q, &picture->placing);
    store_bind_bytes(&q, bytes);
    store_bind_bytes(&q, source);
    store_bind_int(&q, PICTURES_MOST);
    *number = store_next(&q) ? sqlite3_column_int64(q.stmt, 0) : 0;
    (void)store_next(&q);
    RT_TRY(store_end(&q, p));
    return *number ? RT_OK
                   : rt_fail(p, RT_LIMIT, RT_NOWHERE, "remove one that is traced already",
                             "a house has at most %d pictures", PICTURES_MOST);
}

enum rt_code pictures_list(struct store *s, struct arena *a, struct str house, plan_picture_list *out,
                           struct rt_problems *p)
{
    VEC(struct plan_picture) list = { 0 };
    struct store_ask q = store_ask(s, "SELECT " COLUMNS " FROM picture WHERE house = ? ORDER BY number");
    store_bind_text(&q, house);
    while (store_next(&q)) {
        const struct plan_picture picture = read_row(&q, a);
        q.is_bad = q.is_bad || !VEC_PUSH(a, &list, picture);
    }
    *out = (plan_picture_list){ list.v, list.n };
    return store_end(&q, p);
}

enum rt_code pictures_read(struct store *s, struct arena *a, struct str house, int64_t number, struct plan_picture *out,
                           struct str *bytes, struct str *source, struct rt_problems *p)
{
    struct store_ask q = store_ask(s, "SELECT " COLUMNS ", iif(?3, bytes, ''), iif(?4, source, '') FROM picture"
                                      " WHERE house = ?1 AND number = ?2");
    *out = (struct plan_picture){ 0 };
    store_bind_text(&q, house);
    store_bind_int(&q, number);
    store_bind_int(&q, bytes != NULL);
    store_bind_int(&q, source != NULL);
    if (store_next(&q)) {
        *out = read_row(&q, a);
        if (bytes)
            *bytes = store_column_text(&q, a, 12);
        if (source)
            *source = store_column_text(&q, a, 13);
    }
    RT_TRY(store_end(&q, p));
    return out->number ? RT_OK : none(p);
}

enum rt_code pictures_place(struct store *s, struct str house, int64_t number, const struct plan_placing *placing,
                            struct rt_problems *p)
{
    struct store_ask q = store_ask(s, "UPDATE picture SET floor = ?, m_per_px = ?, turn_deg = ?, x_m = ?, y_m = ?,"
                                      " opacity = ? WHERE house = ? AND number = ? RETURNING number");
    bind_placing(&q, placing);
    store_bind_text(&q, house);
    store_bind_int(&q, number);
    return changed(&q, p);
}

enum rt_code pictures_turn_page(struct store *s, struct str house, const struct plan_picture *picture, struct str bytes,
                                struct rt_problems *p)
{
    struct store_ask q = store_ask(s, "UPDATE picture SET kind = ?, width_px = ?, height_px = ?, page = ?, bytes = ?"
                                      " WHERE house = ? AND number = ? RETURNING number");
    bind_size(&q, picture);
    store_bind_bytes(&q, bytes);
    store_bind_text(&q, house);
    store_bind_int(&q, picture->number);
    return changed(&q, p);
}

enum rt_code pictures_remove(struct store *s, struct str house, int64_t number, struct rt_problems *p)
{
    struct store_ask q = store_ask(s, "DELETE FROM picture WHERE house = ? AND number = ? RETURNING number");
    store_bind_text(&q, house);
    store_bind_int(&q, number);
    return changed(&q, p);
}
