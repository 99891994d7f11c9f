/* rooftree.h - the public face of librooftree: open a house file, ask it, close it.
 *
 * Everything is text in and JSON out; the keys are those of docs/json.md.  A house is not changed by asking.
 * One house may be used by one thread at a time; different houses by different threads. */
#ifndef ROOFTREE_H
#define ROOFTREE_H

#ifdef __cplusplus
extern "C" {
#endif

#define ROOFTREE_API __attribute__((visibility("default")))

struct rooftree_house;

/* Opens and checks a house file.  Always returns a handle (NULL only when the system has no memory at all); whether the
 * house can be asked is told by rooftree_is_good().  Close it with rooftree_close(). */
ROOFTREE_API struct rooftree_house *rooftree_open(const char *path);
ROOFTREE_API void rooftree_close(struct rooftree_house *house);

/* 1 if the file was read without a mistake. */
ROOFTREE_API int rooftree_is_good(const struct rooftree_house *house);

/* All mistakes and warnings so far as text, with file, line, column and what to do; "" if there are none.  Valid until
 * rooftree_close(). */
ROOFTREE_API const char *rooftree_problems(struct rooftree_house *house);

/* Evaluates every promise.  Returns JSON (docs/json.md, `check`) that lives until rooftree_close(), or NULL with the reason
 * in rooftree_problems(). */
ROOFTREE_API const char *rooftree_check(struct rooftree_house *house);

/* What a spot hears.  floor: its id; x_m, y_m on the drawing, z_m above the floor; device: a kind of device, NULL for a
 * phone.  Returns JSON (docs/json.md, `signal`) or NULL, as above. */
ROOFTREE_API const char *rooftree_signal(struct rooftree_house *house, const char *floor, double x_m, double y_m,
                                         double z_m, const char *device);

/* JSON Schema 2020-12 of the house file; the text lives until rooftree_close(). */
ROOFTREE_API const char *rooftree_schema(struct rooftree_house *house);

/* "0.1.0" */
ROOFTREE_API const char *rooftree_version(void);

#ifdef __cplusplus
}
#endif

#endif
