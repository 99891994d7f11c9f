/* rehearse_apart.h - work done in a child process that has left the machine's own network.
 *
 * The child dies with its parent, and its namespaces with the child: there is nothing to clean up after any end. */
#ifndef RT_REACH_REHEARSE_APART_H
#define RT_REACH_REHEARSE_APART_H

#include "base/problem.h"
#include "base/run.h"

/* Runs `work` in a child.  What the child writes to memory is lost but for what stands in shared memory; the first problem it
 * adds, and its progress, come over.  Cancelling kills it.  Errors: those of work, RT_MISSING (namespaces forbidden),
 * RT_CANCELLED, RT_IO (the child ended before its time). */
typedef enum rt_code apart_work(void *user, const struct run *run, struct rt_problems *p);
RT_MUST_CHECK enum rt_code apart_run(const struct run *run, apart_work *work, void *user, struct rt_problems *p);

/* Zeroed memory that the child and its parent both see; NULL: none left.  Give it back when done. */
void *apart_memory(size_t n);
void apart_memory_free(void *memory, size_t n);

#endif
