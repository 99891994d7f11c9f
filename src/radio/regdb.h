/* regdb.h - the installed regulatory database (regulatory.db, version 20): what a country allows in which band.
 * Layout: reference notes of the kernel's reader (net/wireless/reg.c) and of wireless-regdb's writer.
 * A planner's view, not legal advice: outputs defer to local rules. */
#ifndef RT_RADIO_REGDB_H
#define RT_RADIO_REGDB_H

#include "base/problem.h"
#include "base/run.h"

enum regdb_flag {
    REGDB_NO_OFDM = 0x01,
    REGDB_NO_OUTDOOR = 0x02,
    REGDB_DFS = 0x04,
    REGDB_NO_IR = 0x08,
    REGDB_AUTO_BW = 0x10
};

struct regdb_rule {
    double from_hz, to_hz; /* band edges */
    double max_bandwidth_hz;
    double max_eirp_dbm;
    uint32_t flags;       /* enum regdb_flag, unknown bits kept */
    double radar_check_s; /* 0: not stated */
};

struct regdb_country {
    char code[3];
    uint32_t dfs_region; /* 0 unset, 1 FCC, 2 ETSI, 3 Japan */
    LIST(struct regdb_rule) rules;
};

struct regdb {
    LIST(struct regdb_country) countries;
};

/* What may be done on one channel. */
struct regdb_channel {
    bool allowed; /* whole channel inside the rules, bandwidth granted (AUTO_BW joined) */
    bool radar, indoor_only, passive_only;
    double max_eirp_dbm; /* the smallest over the rules used */
};

enum { REGDB_MAX_BYTES = 262144 };

/* Decodes a whole file, whose bytes need not stay.  Every record is checked to lie inside; a file with a rule that
 * contradicts itself (start not below end, bandwidth wider than the rule) or with countries out of order is refused whole,
 * since the rest of it cannot be trusted either.  On error *out is untouched.  Errors: RT_SYNTAX, RT_LIMIT, RT_NOMEM. */
RT_MUST_CHECK enum rt_code regdb_decode(struct arena *a, const char *path, struct str bytes, struct regdb *out,
                                        struct rt_problems *p);
/* Reads the installed file from the folders in which the kernel looks for firmware.  RT_MISSING when there is none. */
RT_MUST_CHECK enum rt_code regdb_read_installed(const struct run *run, struct regdb *out, struct rt_problems *p);
/* The country's rules, or NULL. */
const struct regdb_country *regdb_find(const struct regdb *db, struct str country);
/* Judges a channel of centre and width.  The first rule that holds the whole channel and grants its width decides; else
 * gapless AUTO_BW rules that together hold it, each with its own limits.  An AUTO_BW rule grants the width of the gapless run
 * of AUTO_BW rules it stands in.  Rules for DSSS alone (NO_OFDM) count for nothing here. */
struct regdb_channel regdb_channel_rules(const struct regdb_country *c, double centre_hz, double width_hz);

#endif
