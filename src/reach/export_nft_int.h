/* export_nft_int.h - what the sources of export_nft share. */
#ifndef RT_REACH_EXPORT_NFT_INT_H
#define RT_REACH_EXPORT_NFT_INT_H

#include "reach/export_nft.h"

enum nft_hook { NFT_INPUT, NFT_FORWARD, NFT_OUTPUT, NFT_HOOKS };

/* An address of the provider's prefix, which has a name at the top of the text. */
struct nft_definition {
    struct str name;
    struct span is;
};

/* Rules with the same hours that stand in a chain of their own. */
struct nft_moved {
    const struct rule *first;
    uint32_t n;
    struct str name;
};

struct nft_writer {
    const struct run *run;
    const struct policy *policy;
    const struct table *table;
    const struct nft_options *options;
    struct buf *out;
    struct rt_problems *p;

    struct str *zones; /* how the interface of a zone is written: $zone_family, "lo" */
    uint32_t n_zones;
    uint32_t n_with_mac; /* zones up to here, the gateway apart, have MAC addresses; tunnels follow */
    VEC(struct nft_definition) globals;

    struct str *chains;      /* name of each chain of the table in the text */
    bool *speaks_of_zones;   /* the chain, or one it leads to, differs from hook to hook */
    bool *led_to[NFT_HOOKS]; /* the start chain leads there */
    VEC(struct nft_moved) moved;
    VEC(struct buf *) asides; /* chains of rules with the same hours, put behind the one that is being written */
    bool refuse;              /* a rule rejects packets of TCP and of others */
    bool failed;              /* no memory */
};

/* ---- words (export_nft_words.c) ---- */

/* Letters, digits and _ of the text, made to begin with a letter and to be no word of nft's own. */
struct str nft_word(struct arena *a, struct str text);
/* Comments and prefixes: without quotes, line ends and control characters, at most max bytes. */
struct str nft_quotable(struct arena *a, struct str text, size_t max);
/* "rule 12, kids_dark, line 212", at most 120 bytes. */
struct str nft_rule_comment(const struct nft_writer *w, const struct rule *r);
/* Id of what a rule came from. */
struct str nft_rule_source(const struct nft_writer *w, const struct rule *r);
/* `# text`, wrapped. */
void nft_put_remark(struct buf *out, unsigned indent, struct str text);
/* One line of the ruleset, broken inside braces where it grows long. */
void nft_put_line(struct buf *out, unsigned indent, struct str line);
/* `x`, `{ x, y }`, `!= x`, `!= { x, y }`: spans of an axis as the value of an expression, whichever way is shorter. */
void nft_put_values(struct nft_writer *w, struct buf *line, uint32_t axis, enum family family, span_list in);
/* An address, a prefix or a range. */
void nft_put_plain_span(struct buf *out, enum family family, struct span s);

/* ---- rules (export_nft_rule.c) ---- */

/* Could a packet that passes the hook fit? */
bool nft_rule_fits_hook(const struct nft_writer *w, const struct rule *r, enum nft_hook hook);
/* The lines of a rule behind `when` (conditions that come first: time).  Errors as nft_export(). */
enum rt_code nft_put_rule(struct nft_writer *w, struct buf *out, const struct rule *r, enum nft_hook hook,
                          struct str when);
/* Name of the chain as jumped to from the hook. */
struct str nft_chain_in(const struct nft_writer *w, uint32_t chain, enum nft_hook hook);

/* ---- hours (export_nft_hours.c) ---- */

struct nft_time {
    struct str condition;
    struct str says; /* the stretch of time in words, where a new one begins */
};
typedef LIST(struct nft_time) nft_time_list;

/* Conditions of which one holds whenever the spans do. */
nft_time_list nft_time_conditions(struct arena *a, const kernel_span_list *spans, bool *failed);
/* "2027-03-28 01:00", UTC. */
struct str nft_utc(struct arena *a, int64_t unix_s);

#endif
