/* folder.h - the one folder that the server reads and writes, and the houses in it.
 *
 * A house is asked for by its name alone: small letters, figures, '_' and '-', at most 64; its file is NAME.house.yaml.  No name leads
 * out of the folder, and a house file that is a link, a device or a folder is not taken. */
#ifndef RT_WEB_FOLDER_H
#define RT_WEB_FOLDER_H

#include <sys/stat.h>

#include "base/array.h"
#include "base/problem.h"

struct folder {
    const char *path; /* absolute */
    struct str only;  /* the one house that is served; empty: all in the folder */
};

/* `path`: a folder, or a house file in one.  Errors: RT_IO (it is not there), RT_USAGE (no NAME.house.yaml), RT_NOMEM. */
RT_MUST_CHECK enum rt_code folder_open(struct arena *a, const char *path, struct folder *out, struct rt_problems *p);

bool folder_is_name(struct str name);

/* Names in the order of their bytes.  Errors: RT_IO, RT_NOMEM. */
typedef LIST(struct str) folder_names;
RT_MUST_CHECK enum rt_code folder_list(struct arena *a, const struct folder *f, folder_names *out,
                                       struct rt_problems *p);

/* Absolute path of the house file; it need not be there yet.  Errors: RT_UNKNOWN_REF (no name, or not the house that is served). */
RT_MUST_CHECK enum rt_code folder_path(struct arena *a, const struct folder *f, struct str name, const char **out,
                                       struct rt_problems *p);
/* Is it a plain file in the folder?  Fills *st.  Errors: RT_UNKNOWN_REF (it is not there), RT_CONFLICT (it is something else). */
RT_MUST_CHECK enum rt_code folder_look(const char *path, struct stat *st, struct rt_problems *p);

#endif
