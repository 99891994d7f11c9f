/* Looks for words in what was written. */
#include <string.h>

#include "book/flow_int.h"

static char lower(char c) { return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c; }
static bool is_of_word(char c) { return (lower(c) >= 'a' && lower(c) <= 'z') || (c >= '0' && c <= '9') || c == '_'; }

static bool says(struct str text, const char *words)
{
    const size_t n = strlen(words);
    for (size_t i = 0; n && i + n <= text.n; i++) {
        size_t k = 0;
        while (k < n && lower(text.p[i + k]) == lower(words[k]))
            k++;
        if (k == n && (i == 0 || !is_of_word(text.p[i - 1])) && (i + n == text.n || !is_of_word(text.p[i + n])))
            return true;
    }
    return false;
}

bool flow_says(const struct flow *f, const char *words)
{
    for (uint32_t i = 0; i < f->blocks.n; i++) {
        const struct block *b = &f->blocks.v[i];
        if (says(b->text, words) || says(b->more, words) || says(b->figure, words))
            return true;
        for (uint32_t c = 0; b->cells && c < b->grid->n; c++)
            if (says(b->cells[c].text, words))
                return true;
        for (uint32_t c = 0; b->grid && i == b->grid->first && c < b->grid->n; c++)
            if (b->grid->columns[c].head && says(str_from(b->grid->columns[c].head), words))
                return true;
    }
    return false;
}
