/* memory.h - what the process keeps although nobody uses it. */
#ifndef RT_MEMORY_H
#define RT_MEMORY_H

#include "base/arena.h"

/* Frees what the arena keeps behind its last allocation, since something there was reset; for one that lives long after much work. */
void arena_give_back(struct arena *a);
/* Gives freed memory back to the system, where its C library can; for a process that rests after much work. */
void memory_give_back(void);

#endif
