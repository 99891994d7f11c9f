#include "base/memory.h"

/* Its header names what is banned (banned.h). */
#undef malloc
#undef calloc
#undef realloc

#ifdef __GLIBC__
#include <malloc.h>

void memory_give_back(void) { (void)malloc_trim(0); }
#else
void memory_give_back(void) {}
#endif
