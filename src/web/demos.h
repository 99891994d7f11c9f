/* demos.h - the houses and the parts that come with the program: something to begin from in a folder that has nothing yet.
 *
 * They lie in one folder, as `houses/NAME.house.yaml` and `parts/NAME.parts.yaml`, and are only ever copied into the folder that is
 * served.  `demos` below is that folder; NULL, or one that is not there: there are none. */
#ifndef RT_WEB_DEMOS_H
#define RT_WEB_DEMOS_H

#include "web/parts_files.h"

struct demo_house {
    struct str name, title;
};
typedef LIST(struct demo_house) demo_list;

/* Those that the folder does not have under the same name, in the order of their bytes; all in the arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code demos_list(const char *demos, const struct workspaces *all, struct arena *a, demo_list *out,
                                      struct rt_problems *p);
/* The parts files, by their names there, but for those that the folder has.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code demos_list_parts(const char *demos, const struct workspaces *all, struct arena *a,
                                            parts_file_list *out, struct rt_problems *p);
/* Copies a parts file into the folder; one that is there stays as it is.  *made: the path of the copy, to be taken away again if nothing
 * comes of what it was made for; NULL: none was.  Errors: RT_UNKNOWN_REF (no such demo), RT_IO, RT_NOMEM. */
RT_MUST_CHECK enum rt_code demos_copy_parts(const char *demos, const struct workspaces *all, struct arena *a,
                                            struct str name, const char **made, struct rt_problems *p);
/* The bytes of a demo house as it stands in the folder: its parts file, which is copied there, is named beside it.
 * Errors: those of demos_copy_parts(). */
RT_MUST_CHECK enum rt_code demos_house(const char *demos, const struct workspaces *all, struct arena *a,
                                       struct str name, struct str *out, const char **made, struct rt_problems *p);

#endif
