/* parts_files.h - the parts files that a house of the folder may name. */
#ifndef RT_WEB_PARTS_FILES_H
#define RT_WEB_PARTS_FILES_H

#include "web/workspace.h"

/* Does the path end as a parts file's: NAME.parts.yaml? */
bool parts_file_has_name(struct str path);
/* An absolute path as seen from the folder; empty: the arena's ceiling. */
struct str parts_file_name(struct arena *a, const char *folder, struct str path);
/* A mark of a file, of what the file system says of it: another whenever it was written or replaced.  0: it is not there. */
uint64_t parts_file_mark(const char *path);

struct parts_file {
    struct str path;     /* as a house file of the folder names it */
    struct str currency; /* that its prices are in; empty: it cannot be read */
};
typedef LIST(struct parts_file) parts_file_list;

/* NAME.parts.yaml in the folder, in the order of their bytes, then those outside it that its houses named when the server was started.
 * All in the arena.  Errors: RT_IO (the folder), RT_NOMEM. */
RT_MUST_CHECK enum rt_code parts_files_list(const struct workspaces *all, struct arena *a, parts_file_list *out,
                                            struct rt_problems *p);

#endif
