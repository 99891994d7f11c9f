/* page.h - the files of the page, read once when the server starts: no request ever names a file of the disk. */
#ifndef RT_WEB_PAGE_H
#define RT_WEB_PAGE_H

#include "base/array.h"
#include "base/problem.h"

struct page_file {
    struct str path; /* as asked for: "/assets/app-1a2b.js" */
    struct str bytes;
    const char *type;
    struct str etag;
    bool is_lasting; /* below /assets/: its name changes with its bytes */
};

struct page {
    LIST(struct page_file) files;
};

/* All plain files below the folder, at most 64 MiB in all.  Errors: RT_IO, RT_LIMIT, RT_NOMEM, RT_SHAPE (an ending that is none of a
 * page's). */
RT_MUST_CHECK enum rt_code page_load(struct arena *a, const char *folder, struct page *out, struct rt_problems *p);
const struct page_file *page_find(const struct page *page, struct str path);

#endif
