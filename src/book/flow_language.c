/* Says in the document's catalogue which language it is written in, which cairo cannot: an update appended to the file, as the format
 * has it: the catalogue once more with /Lang, a table of references to it, and a trailer that leads back to the table before.
 * Source: ISO 32000-1:2008, 7.5.6 'Incremental updates' and 14.9.2 'Natural language specification', from memory. */
#include <stdlib.h>
#include <string.h>

#include "book/flow_int.h"

static const char *last_of(const char *p, size_t n, const char *word)
{
    const size_t m = strlen(word);
    for (size_t i = n >= m ? n - m + 1 : 0; i-- > 0;)
        if (memcmp(p + i, word, m) == 0)
            return p + i;
    return NULL;
}

/* "/Root 12 0 R" and the like: the number after the word. */
static bool number_after(const char *p, const char *word, unsigned long *out)
{
    const char *at = p ? strstr(p, word) : NULL;
    char *end;
    if (!at)
        return false;
    at += strlen(word);
    *out = strtoul(at, &end, 10);
    return end != at;
}

bool flow_add_language(struct buf *pdf, const char *language)
{
    unsigned long root = 0, size = 0, table = 0;
    char object[40];
    if (pdf->failed || !pdf->p)
        return false;
    const char *trailer = last_of(pdf->p, pdf->n, "trailer");
    if (!number_after(trailer, "/Root", &root) || !number_after(trailer, "/Size", &size) ||
        !number_after(trailer, "startxref", &table))
        return false;
    snprintf(object, sizeof object, "\n%lu 0 obj\n", root);
    const char *catalogue = last_of(pdf->p, pdf->n, object), *end = catalogue ? strstr(catalogue, "endobj") : NULL;
    const char *open = end ? strstr(catalogue, "<<") : NULL;
    const char *info = strstr(trailer, "/Info");
    unsigned long info_object = 0;
    if (!open || open > end || !number_after(info, "/Info", &info_object))
        return false;
    const size_t at = (size_t)(open + 2 - pdf->p), left = (size_t)(end - open) - 2;
    const struct str rest = str_dup(pdf->arena, (struct str){ pdf->p + at, left });
    if (!rest.p)
        return false;
    const size_t place = pdf->n + 1;
    buf_printf(pdf, "\n%lu 0 obj\n<< /Lang (%s) /MarkInfo << /Marked true /Suspects true >>", root, language);
    buf_str(pdf, rest);
    buf_text(pdf, "endobj\n");
    const size_t new_table = pdf->n;
    buf_printf(pdf, "xref\n%lu 1\n%010zu 00000 n \n", root, place);
    buf_printf(pdf, "trailer\n<< /Size %lu /Root %lu 0 R /Info %lu 0 R /Prev %lu >>\nstartxref\n%zu\n%%%%EOF\n", size,
               root, info_object, table, new_table);
    return !pdf->failed;
}
