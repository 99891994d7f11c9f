/* poe_classes.h - the classes of power over the data cable.
 *
 * IEEE 802.3-2022, clause 33 (classes 0 to 4) and clause 145 (classes 5 to 8). */
#ifndef RT_DATA_POE_CLASSES_H
#define RT_DATA_POE_CLASSES_H

/* A pair set is two pairs: the current goes out on the two wires of one pair and comes back on those of the other.  Types 3
 * and 4 feed two pair sets at once. */
struct poe_class {
    int number; /* 0 to 8 */
    int type;   /* of the source that feeds it: 1 to 4 */
    int pair_sets;
    double source_w; /* least that the source must be able to give */
    double device_w; /* most that the device may take */
    double loop_ohm; /* of one pair set over the longest channel the class is made for */
    double source_v; /* least at the source */
    double device_v; /* least at the device */
    double pair_set_a;
};

enum { POE_CLASS_TOP = 8 };

/* NULL for a number that is no class. */
const struct poe_class *poe_class(int number);

/* The class at which a source runs a device that asks for `asked`, when it can give `source_w` and its port goes up to `port`:
 * the highest of those to which the device can be demoted (8 to 6, 4, 3; 7 to 6, 4, 3; ... 4 to 3); classes 0 to 3 get what
 * they ask or nothing.  -1: none, the source does not switch on.  IEEE 802.3-2022, 145.2.8, from memory. */
int poe_class_granted(int asked, int port, double source_w);

/* Resistance of one pair set of the worst channel that is still legal, per metre, for types 2 to 4: 12.5 ohm on 100 m. */
#define POE_WORST_CHANNEL_OHM_PER_M 0.125

#endif
