/* banned.h - included before every source: calls that lose bounds, hide a locale or escape the arenas
 * become compile errors.  base/arena.c alone undoes the ban on the heap. */
#ifndef RT_BANNED_H
#define RT_BANNED_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define RT_BANNED(call) rt_banned_call_##call

#define strcpy(a, b) RT_BANNED(strcpy)
#define strcat(a, b) RT_BANNED(strcat)
#define strtok(a, b) RT_BANNED(strtok)
#define atoi(a) RT_BANNED(atoi)
#define atof(a) RT_BANNED(atof)
#define rand() RT_BANNED(rand)
#define localtime(a) RT_BANNED(localtime)
#undef sprintf
#define sprintf(...) RT_BANNED(sprintf)

#define malloc(n) RT_BANNED(malloc)
#define calloc(n, s) RT_BANNED(calloc)
#define realloc(p, n) RT_BANNED(realloc)

#endif
