#include "book/paper.h"

#include "book/labels.h"

static const struct paper PAPERS[] = {
    { "book", book_make, false },
    { "labels", labels_make, false },
    { "household", household_make, false },
    { "cards", cards_make, true },
};

const struct paper *papers(size_t *n)
{
    *n = RT_COUNT(PAPERS);
    return PAPERS;
}

const struct paper *paper_find(struct str name)
{
    for (size_t i = 0; i < RT_COUNT(PAPERS); i++)
        if (str_is(name, PAPERS[i].name))
            return &PAPERS[i];
    return NULL;
}
