/* parts_path.h - a house written into another folder still finds its parts file. */
#ifndef RT_CLI_PARTS_PATH_H
#define RT_CLI_PARTS_PATH_H

#include "base/json.h"
#include "house/house.h"

/* Sets parts_file in the bytes of a house to the same file as seen from the folder of out_path; nothing changes where the folder is
 * the same.  Errors: RT_IO (no such folder), those of edit_apply(). */
RT_MUST_CHECK enum rt_code parts_path_move(const struct run *run, const struct house *h, const char *out_path,
                                           struct str *bytes, struct rt_problems *p);

#endif
