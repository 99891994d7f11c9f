/* export.h - the house as files that gateways, access points and people take: one row of a table for each form.
 *
 * A form makes all its files in memory; then they are written as one folder, whole or not at all. */
#ifndef RT_REACH_EXPORT_H
#define RT_REACH_EXPORT_H

#include "reach/layer2.h"
#include "reach/policy.h"
#include "reach/secret.h"

/* What forms are made of. */
struct export_house {
    const struct run *run;
    const struct house *h;
    const struct address_plan *plan;
    const struct policy *policy;
    const struct calendar *calendar;
    const struct layer2 *l2;
    const struct secrets *secrets; /* NULL: secrets are left out, and what needs them refuses to start */
};

/* For how long an address is lent (common practice, no source): a visitor's is free again the next day. */
enum { EXPORT_LEASE_HOURS = 12 };

struct export_file {
    struct str path; /* below the folder: "gateway/house.nft" */
    struct str bytes;
    uint32_t mode;
};

struct export_folder {
    struct arena *arena;
    VEC(struct export_file) files; /* in the order of making */
    bool failed;                   /* the arena's ceiling was reached */
};

/* All forms: name, what it is, how it is made of what stands here; NULL: of more than that (cli/cmd_export.c).  Two kinds of row, so
 * that a list of their names can be made of them. */
#define EXPORT_FORMS(FIRST, MORE)                                                                                  \
    FIRST("linux", "files for a gateway and access points that run Linux", export_linux)                           \
    MORE("acl", "access lists and interfaces as JSON (RFC 8519, RFC 8343)", export_acl)                            \
    MORE("csv",                                                                                                    \
         "tables: addresses, ports, SSIDs, rules, who may reach whom, cables, the bill, all that the book has in " \
         "tables",                                                                                                 \
         export_csv)                                                                                               \
    MORE("sheet", "every setting to type into any gateway, switch and access point, with its reason", NULL)
#define EXPORT_FIRST_NAME(name, says, make) name
#define EXPORT_MORE_NAME(name, says, make) "|" name
#define EXPORT_FORM_NAMES EXPORT_FORMS(EXPORT_FIRST_NAME, EXPORT_MORE_NAME) /* "linux|acl|csv|sheet" */
#define EXPORT_FIRST_SAYS(name, says, make) name ": " says
#define EXPORT_MORE_SAYS(name, says, make) "; " name ": " says
#define EXPORT_FORMS_SAY EXPORT_FORMS(EXPORT_FIRST_SAYS, EXPORT_MORE_SAYS)

struct export_form {
    const char *name, *says;
    enum rt_code (*make)(const struct export_house *x, struct export_folder *out, struct rt_problems *p); /* or NULL */
};
const struct export_form *export_forms(uint32_t *n);
const struct export_form *export_form_find(struct str name);

/* Starts a text that becomes a file of the folder with export_end().  Modes: 0644, or 0600 for what holds secrets. */
struct buf export_begin(struct export_folder *out);
void export_end(struct export_folder *out, const struct buf *text, uint32_t mode, const char *path, ...)
    RT_PRINTF(4, 5);

/* Reads what all forms rest on: address plan, policy, calendar, layer 2 with these picks (as layer2_plan() takes them); secrets only
 * if wanted (and then makes missing ones).  Errors: those of the parts. */
RT_MUST_CHECK enum rt_code export_prepare(const struct run *run, const struct house *h, const struct port_pick *picks,
                                          bool with_secrets, struct export_house *out, struct rt_problems *p);

/* Writes the files as the folder `path`: made aside under another name, then put in its place at once, so that the folder is the old
 * one or the new one.  A folder that is there already is replaced only if it is empty or holds nothing but what an earlier export
 * wrote.  Errors: RT_CONFLICT (it holds other things), RT_IO; nothing is left behind then. */
RT_MUST_CHECK enum rt_code export_write(struct arena *scratch, const struct export_folder *files, const char *path,
                                        struct rt_problems *p);

/* Could it be written there?  Before anything is computed for it: what export_write() would refuse for the folder's sake.  Folders
 * that are still missing on the way are no reason. */
RT_MUST_CHECK enum rt_code export_check(struct arena *scratch, const char *path, struct rt_problems *p);

/* ---- the forms: export_csv.c, export_acl.c, export_linux.c ---- */
enum rt_code export_csv(const struct export_house *x, struct export_folder *out, struct rt_problems *p);
enum rt_code export_acl(const struct export_house *x, struct export_folder *out, struct rt_problems *p);
enum rt_code export_linux(const struct export_house *x, struct export_folder *out, struct rt_problems *p);

#endif
