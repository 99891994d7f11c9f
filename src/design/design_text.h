/* design_text.h - a design in words and as JSON (docs/json.md). */
#ifndef RT_DESIGN_TEXT_H
#define RT_DESIGN_TEXT_H

#include "base/json.h"
#include "design/stages.h"

/* stages NULL: without phases. */
void design_write_json(struct json *j, const struct design *d, const stage_list *stages);
/* For people, `columns` wide; colour by the terminal's own sequences if asked. */
void design_write_text(struct buf *out, const struct design *d, const stage_list *stages, unsigned columns,
                       bool colour);

#endif
