/* The sheet of settings as a table: one row a setting, in the order of the work. */
#include "base/csv.h"
#include "book/settings.h"

void settings_write_csv(struct buf *out, const struct settings *s)
{
    buf_text(out,
             "number,thing,step,block,where,standard,item,setting,value,to_fill_in,reason,check,if_not_offered\r\n");
    for (uint32_t i = 0; i < s->list.n; i++) {
        const struct setting *one = &s->list.v[i];
        const struct settings_block *block = &s->blocks.v[one->block];
        csv_number(out, i + 1, 0);
        csv_field(out, s->things.v[block->thing].id);
        csv_number(out, one->block + 1, 0);
        csv_field(out, block->title);
        csv_field(out, block->where);
        csv_field(out, block->standard);
        csv_field(out, one->item);
        csv_field(out, one->name);
        csv_field(out, one->value);
        csv_field(out, one->is_open ? STR("yes") : STR("no"));
        csv_field(out, one->reason);
        csv_field(out, block->check);
        csv_field(out, block->instead);
        csv_end_row(out);
    }
}
