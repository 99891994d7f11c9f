/* file.h - whole files in, whole files out. */
#ifndef RT_FILE_H
#define RT_FILE_H

#include <stdint.h>

#include "base/problem.h"

/* Reads a file of at most max_bytes into the arena, with a NUL behind the last byte.  "-" reads standard input.
 * Errors: RT_IO (cannot be opened or read, is a folder), RT_LIMIT (larger), RT_NOMEM. */
RT_MUST_CHECK enum rt_code file_read(struct arena *a, const char *path, size_t max_bytes, struct str *out,
                                     struct rt_problems *p);

/* Replaces or makes a file so that at every instant the path holds the old bytes or the new ones, never a mixture:
 * writes a temporary file in the same folder, fsync, rename, fsync of the folder.  An existing file's mode is kept,
 * else `mode` (such as 0644) is used.  A symbolic link is followed.  The temporary file of NAME is called .NAME.saving;
 * a process killed while it saves leaves at most that one behind, and the next save takes it over.  Processes that save
 * the same file wait for each other.  Errors: RT_IO; the old file is then untouched and no temporary file is left. */
RT_MUST_CHECK enum rt_code file_write(const char *path, struct str bytes, uint32_t mode, struct rt_problems *p);

/* Could file_write() write there?  Told before the work of making what is written: tries its temporary file.  Errors: RT_IO. */
RT_MUST_CHECK enum rt_code file_check_place(const char *path, struct rt_problems *p);

/* file_write() for a file that holds the bytes `seen`: if it holds others by now, somebody else changed it: RT_CONFLICT,
 * and it stays as it is.  Safe against any other program that saves through this call; one that writes the file in its
 * own way between our look and our rename (an instant) is not noticed.  The scratch arena takes the look. */
RT_MUST_CHECK enum rt_code file_replace(struct arena *scratch, const char *path, struct str seen, struct str bytes,
                                        struct rt_problems *p);

/* Makes a folder and its parents if they are not there.  Errors: RT_IO. */
RT_MUST_CHECK enum rt_code file_make_folder(const char *path, struct rt_problems *p);

/* Could anything be made in that folder, itself and its parents made first if they are not there?  Told before the work of making
 * what goes there: tries a folder of its own.  Errors: RT_IO. */
RT_MUST_CHECK enum rt_code file_check_folder(const char *path, struct rt_problems *p);

#endif
