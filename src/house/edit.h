/* edit.h - byte-exact edits of a YAML file of the user's: what was asked for changes, every other byte stays.
 *
 * A path is a JSON pointer (RFC 6901): "/devices/tablet_mia/room"; mappings by key, sequences by index from 0, "~1" for a
 * slash in a key, "~0" for a tilde.  A value is YAML or JSON text.  A value in block style (on lines of its own) is
 * inserted as it stands, comments included, shifted to the place; scalars and values in flow style ([..], {..}, all of
 * JSON) are written the way their neighbours in the file are written.  A text that YAML would take for something else
 * is quoted.
 *
 * Comments stay, with two exceptions: one on the line of a removed entry, and those inside it (indented deeper) go.
 * Line ends (LF or CRLF) and a missing newline at the end stay as they are.
 *
 * After each edit the new bytes are parsed and compared with the tree that the edit must lead to; any difference is an
 * error and nothing is changed.  An edit that would pull an anchor from under an alias elsewhere is refused. */
#ifndef RT_HOUSE_EDIT_H
#define RT_HOUSE_EDIT_H

#include "base/array.h"
#include "base/problem.h"

enum edit_op {
    EDIT_SET, /* path: something that is there; value: what it becomes */
    EDIT_ADD, /* path: a new key, or an index (put before it), or "-" (at the end of a sequence); value: what it is */
    EDIT_REMOVE, /* path: an entry or item; value unused */
    EDIT_RENAME  /* path: an entry of a mapping; value: the new key as it is, not as YAML.  Nothing that refers to the
                    old key is touched: that is the caller's, with further edits */
};

struct edit {
    enum edit_op op;
    struct str path, value;
};

/* `was` at byte `at` became `is`. */
struct edit_splice {
    size_t at;
    struct str was, is;
};

/* One change.  The splices were made one after another: each speaks of the bytes that the one before it left. */
struct edit_change {
    struct str bytes; /* the new file, with a NUL behind the last byte */
    LIST(struct edit_splice) splices;
};

enum { EDIT_MAX_BYTES = 16 * 1024 * 1024, EDIT_MAX_DEPTH = 48, EDIT_MAX_EDITS = 1000 };

/* Applies n edits in order (each path speaks of the file as the edits before it left it), all or none.  `file` names the
 * file in problems.  *out lives in the arena and is set only on success.
 * Errors: RT_SYNTAX (file, value or path cannot be read), RT_UNKNOWN_REF (the path leads nowhere), RT_CONFLICT (it is
 * there already, or an alias depends on it), RT_SHAPE (this cannot be done here), RT_LIMIT, RT_NOMEM. */
RT_MUST_CHECK enum rt_code edit_apply(struct arena *a, const char *file, struct str bytes, const struct edit *edits,
                                      size_t n, struct edit_change *out, struct rt_problems *p);

/* Two states of a file: *out tells whether everything that the edits name is the same in both (the same values, however written;
 * in a sequence all of its items, unless one is added at its end), so that edits meant for `was` mean the same in `is`.
 * Errors: RT_SYNTAX, RT_LIMIT, RT_NOMEM. */
RT_MUST_CHECK enum rt_code edit_check_untouched(const char *file, struct str was, struct str is,
                                                const struct edit *edits, size_t n, bool *out, struct rt_problems *p);

/* Goes back (from the new bytes to the old) or forth again along the splices; exact to the byte.  Errors: RT_CONFLICT
 * when `bytes` are not the ones that the splices speak of, RT_NOMEM. */
RT_MUST_CHECK enum rt_code edit_undo(struct arena *a, const char *file, struct str bytes,
                                     const struct edit_change *change, struct str *out, struct rt_problems *p);
RT_MUST_CHECK enum rt_code edit_redo(struct arena *a, const char *file, struct str bytes,
                                     const struct edit_change *change, struct str *out, struct rt_problems *p);

/* The text of a JSON pointer's next step: escapes key and adds "/key". */
void edit_path_add(struct buf *path, struct str key);

#endif
