/* house_export.h - all files of an export, in memory: what the forms of the network make, and the tables of ports, cables, money and
 * tests that go with each. */
#ifndef RT_BOOK_HOUSE_EXPORT_H
#define RT_BOOK_HOUSE_EXPORT_H

#include "promise/evaluation.h"
#include "reach/export.h"

bool house_export_takes_secrets(const struct export_form *form);
/* Fills `files` (its arena set) and `x`, which lives as long as run->arena; `ev` was begun.  Secrets only if wanted, for a form that
 * takes them.  Errors: RT_CONFLICT (what the second layer finds), those of export_prepare(), of the form and of the evaluation. */
RT_MUST_CHECK enum rt_code house_export(const struct run *run, struct evaluation *ev, const struct export_form *form,
                                        bool with_secrets, struct export_house *x, struct export_folder *files,
                                        struct rt_problems *p);

#endif
