/* yaml.h - a YAML file as a tree of nodes, each of which knows the bytes it stands in.
 *
 * The subset that house and parts files need: one document of mappings, lists and words.  An alias stands for the very
 * node that carries its anchor, so that the tree may share branches; its expanded size is limited.  Refused with a
 * problem: tags, merge keys (<<), keys that are not words, the same key twice, text that is not UTF-8, control
 * characters.  JSON reads as well, being YAML.  Parser: libfyaml's events (YAML 1.2). */
#ifndef RT_HOUSE_YAML_H
#define RT_HOUSE_YAML_H

#include "base/problem.h"

enum yaml_kind { YAML_WORD, YAML_LIST, YAML_MAP };

struct yaml_node;

struct yaml_pair {
    const struct yaml_node *key, *value; /* key is a YAML_WORD */
};

struct yaml_node {
    enum yaml_kind kind;
    bool is_quoted; /* word in single or double quotes, or a block of text (| or >) */
    bool is_null;   /* word: nothing, ~ or null, not in quotes */
    bool is_flow;   /* list or mapping: in brackets */
    struct rt_place
        at;          /* byte .. byte + n: the word with its quotes; a list or mapping as far as its first line goes */
    size_t end;      /* byte behind the last byte of the node (a block list or mapping: start of what follows) */
    struct str text; /* word: its text, escapes resolved */
    LIST(const struct yaml_node *) items;
    LIST(struct yaml_pair) pairs;
    uint32_t weight; /* nodes in it with every alias expanded */
    uint32_t height; /* levels below it, itself included */
};

/* What is accepted; beyond it RT_LIMIT. */
struct yaml_limits {
    uint32_t depth, aliases, items; /* items: in any one list or mapping */
    uint32_t weight;                /* nodes in all, aliases expanded */
};

/* Parses bytes, which must outlive the tree; nodes live in the arena.  `file` is the name that places carry.
 * An empty file gives an empty mapping.  Keys that stand twice are reported and the first kept (the rest of the tree is
 * there, so that all other mistakes can be found too); any other error leaves *out NULL.
 * Errors: RT_SYNTAX, RT_SHAPE (same key twice: *out is set), RT_LIMIT, RT_NOMEM. */
RT_MUST_CHECK enum rt_code yaml_read(struct arena *a, const char *file, struct str bytes,
                                     const struct yaml_limits *limits, const struct yaml_node **out,
                                     struct rt_problems *p);

/* The value under a key of a mapping, or NULL. */
const struct yaml_node *yaml_get(const struct yaml_node *map, const char *key);

#endif
