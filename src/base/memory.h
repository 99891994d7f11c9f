/* memory.h - what the process keeps although nobody uses it. */
#ifndef RT_MEMORY_H
#define RT_MEMORY_H

/* Gives freed memory back to the system, where its C library can; for a process that rests after much work. */
void memory_give_back(void);

#endif
