/* queue.h - waiting and blocking: closed forms of traffic theory.  Knows nothing of houses.
 *
 * Sources: A. K. Erlang 1917 and the recursions of any handbook; Engset 1918; Pollaczek and Khinchine for M/G/1 (all from memory;
 * checked against the published values of tests/reference). */
#ifndef RT_LOAD_QUEUE_H
#define RT_LOAD_QUEUE_H

#include <stdint.h>

/* Erlang B: share of calls blocked when `erlang` are offered to n lines.  0 <= erlang, finite. */
double queue_erlang_b(double erlang, uint32_t n);
/* Natural logarithm of it, where it would underflow. */
double queue_erlang_b_log(double erlang, uint32_t n);
/* Erlang that n lines carry at this blocking, 0 < blocking < 1. */
double queue_erlang_b_offered(double blocking, uint32_t n);
/* Fewest lines that block no more than this. */
uint32_t queue_erlang_b_lines(double erlang, double blocking);
/* Erlang C: chance to wait; 1 where erlang >= n. */
double queue_erlang_c(double erlang, uint32_t n);

/* Engset: time all n lines are busy, and share of calls blocked, for so many sources; beta: erlang of an idle source. */
double queue_engset_time(uint32_t sources, double beta, uint32_t n);
double queue_engset_calls(uint32_t sources, double beta, uint32_t n);

/* Chance that more than k of n are active at once, each by itself with chance p. */
double queue_binomial_over(uint32_t n, double p, uint32_t k);

/* Mean wait in the queue, service excluded, in units of the mean service time: load / (1 - load) * (1 + cv2) / 2, where cv2 is the
 * square of the service time's coefficient of variation (M/M/1: 1, M/D/1: 0).  Infinite at load >= 1. */
double queue_mg1_wait(double load, double cv2);
/* M/M/1: wait, service excluded, that is not passed with this chance, in units of the service time; 0 where that many do not wait. */
double queue_mm1_wait_quantile(double load, double chance);
/* M/D/1: chance that the wait is more than t service times; exact up to this many, beyond them by the exponential tail. */
enum { QUEUE_MD1_EXACT = 512 };
double queue_md1_wait_over(double load, double t);
/* The wait not passed with this chance < 1, in units of the service time, to 1e-9 of itself. */
double queue_md1_wait_quantile(double load, double chance);

#endif
