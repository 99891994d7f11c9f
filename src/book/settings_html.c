/* The sheet of settings as one page, to work from on paper or on a phone.
 *
 * HTML Living Standard; without scripts and outside resources.  Colours are those of the sheets; state is told by words and shapes, so
 * that it reads without colour too.  On narrow screens rows of tables become cards, whose labels are the columns' heads. */
#include "book/settings.h"

static const char STYLE[] =
    ":root{--paper:#f5f2ea;--sheet:#fbfaf5;--ink:#23282d;--soft:#5c6061;--hair:#cfcabd;--line:#2d3338}\n"
    "@media (prefers-color-scheme:dark){:root{--paper:#1b2126;--sheet:#20272d;--ink:#e6e3da;--soft:#a3a8aa;"
    "--hair:#3b444b;--line:#dfe3e4}}\n"
    "*{box-sizing:border-box}\n"
    "html{-webkit-text-size-adjust:100%}\n"
    "body{margin:0;background:var(--paper);color:var(--ink);font:15px/1.5 Inter,system-ui,sans-serif;"
    "font-feature-settings:\"tnum\",\"calt\" 0;overflow-wrap:break-word}\n"
    "main{max-width:78rem;margin:0 auto;padding:3rem 2rem 5rem}\n"
    "h1{font-weight:300;font-size:2.6rem;line-height:1.1;letter-spacing:-.02em;margin:0}\n"
    "h2{font-weight:300;font-size:1.75rem;line-height:1.2;letter-spacing:-.01em;margin:0 0 .4rem}\n"
    "h3{font-weight:600;font-size:1.05rem;margin:2.2rem 0 .2rem}\n"
    "h3 .n{display:inline-block;min-width:2.2rem;font-weight:400;color:var(--soft)}\n"
    "p{margin:.3rem 0;max-width:46rem}\n"
    ".soft,.where,small{color:var(--soft)}\n"
    ".where{font-size:.87rem}\n"
    "section{margin-top:4rem;padding-top:1.2rem;border-top:1px solid var(--line)}\n"
    "nav ol{list-style:none;margin:1rem 0 0;padding:0;columns:2;column-gap:3rem}\n"
    "nav li{break-inside:avoid;padding:.22rem 0;border-bottom:1px solid var(--hair);display:flex;gap:1rem}\n"
    "nav li span{margin-left:auto;color:var(--soft);white-space:nowrap}\n"
    "a{color:inherit;text-decoration-color:var(--hair);text-underline-offset:.2em}\n"
    "a:hover,a:focus{text-decoration-color:currentColor}\n"
    ".wide{overflow-x:auto;margin:.7rem 0;background:var(--sheet);border:1px solid var(--hair)}\n"
    "table{border-collapse:collapse;width:100%;font-size:.87rem;line-height:1.4}\n"
    "th,td{text-align:left;vertical-align:top;padding:.45rem .7rem;border-top:1px solid var(--hair)}\n"
    "thead th{border-top:0;font-weight:600;font-size:.78rem;color:var(--soft)}\n"
    "tbody th{font-weight:600}\n"
    ".i{white-space:nowrap}\n"
    ".t{width:2rem}\n"
    ".t span,.try span{display:inline-block;width:.8rem;height:.8rem;border:1.3px solid currentColor}\n"
    "thead .t span{display:none}\n"
    ".why{color:var(--soft)}td.why{min-width:12rem}\n"
    ".why::first-letter{text-transform:uppercase}\n"
    ".also{min-width:12rem}\n"
    ".also b{font-weight:400;color:var(--soft)}\n"
    ".open{border:1px dashed currentColor;padding:0 .3rem;font-style:normal;font-weight:500;white-space:nowrap}\n"
    ".fill{display:block;border-bottom:1px solid currentColor;height:1.5em;max-width:22rem}\n"
    ".try{display:flex;gap:.7rem;align-items:baseline;margin:.5rem 0;max-width:48rem}\n"
    ".try span{flex:none}\n"
    ".try b{font-weight:400}.try i{font-style:normal;font-weight:500}\n"
    ".else{font-size:.9rem;max-width:48rem}\n"
    "ul.notes{padding-left:1.1rem;max-width:48rem}\n"
    "ul.notes li{margin:.4rem 0}\n"
    "footer{margin-top:4rem;color:var(--soft);font-size:.87rem}\n"
    "@media screen and (max-width:48rem){main{padding:1.6rem 1rem 3rem}h1{font-size:2rem}nav ol{columns:1}"
    ".wide{border:0;background:none;overflow:visible}"
    "table,tbody,tr,th,td{display:block}thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset("
    "50%)}"
    "tr{position:relative;background:var(--sheet);border:1px solid var(--hair);margin:.6rem 0;padding:.5rem .8rem "
    ".5rem "
    "2.4rem}th,td{border:0;padding:.12rem 0}td[data-head]::before{content:attr(data-head) \": \";color:var(--soft)}"
    ".t{position:absolute;left:.8rem;top:.62rem;width:auto}.i{white-space:normal}}\n"
    "@media print{@page{margin:14mm "
    "12mm}:root{--paper:#fff;--sheet:#fff;--ink:#000;--soft:#444;--hair:#bbb;--line:#000}"
    "body{font-size:9.5pt}main{max-width:none;padding:0}h1{font-size:24pt}h2{font-size:17pt}"
    "section{margin-top:10mm}section.long,#known{break-before:page;margin-top:0;border-top:0;padding-top:0}"
    "h2,h3,.where,.intro,thead{break-after:avoid}tr,.try,.else{break-inside:avoid}.wide+.try,.try+.else{break-before:"
    "avoid}thead{display:table-header-group}"
    ".wide{overflow:visible;border:0;border-top:1px solid var(--line)}table{font-size:8pt}"
    "th,td{padding:1.1mm 1.6mm 1.1mm "
    "0}td.why,td.also{min-width:0;width:25%}.i{white-space:normal}a{text-decoration:none}}\n";

/* ---- text ---- */

static void put(struct buf *b, struct str s)
{
    for (size_t i = 0; i < s.n; i++) {
        const char c = s.p[i];
        if (c == '&')
            buf_text(b, "&amp;");
        else if (c == '<')
            buf_text(b, "&lt;");
        else if (c == '>')
            buf_text(b, "&gt;");
        else if (c == '"')
            buf_text(b, "&quot;");
        else
            buf_char(b, (unsigned char)c < ' ' || c == 0x7f ? ' ' : c);
    }
}

static void put_in(struct buf *b, const char *before, struct str s, const char *after)
{
    buf_text(b, before);
    put(b, s);
    buf_text(b, after);
}

/* ---- rows ---- */

/* The settings of one item, from i up to the returned index. */
static uint32_t item_end(const struct settings *s, uint32_t i)
{
    const uint32_t first = i;
    while (i < s->list.n && s->list.v[i].block == s->list.v[first].block &&
           str_eq(s->list.v[i].item, s->list.v[first].item))
        i++;
    return i;
}

static uint32_t block_end(const struct settings *s, uint32_t i)
{
    const uint32_t block = s->list.v[i].block;
    while (i < s->list.n && s->list.v[i].block == block)
        i++;
    return i;
}

static bool is_column(const struct settings_block *block, struct str name)
{
    for (uint32_t k = 0; k < block->n_columns; k++)
        if (str_is(name, block->columns[k]))
            return true;
    return false;
}

/* What the heads of a block's table are, and what is told once instead of in each row. */
struct form {
    const struct settings *s;
    const struct settings_block *block;
    uint32_t from, to;
    bool has_also;   /* settings that no column has */
    struct str why;  /* the reason of all; empty: each has its own */
    bool has_reason; /* a column for them */
};

/* The value that every item of the block has under this name, if there are several items; NULL: they differ. */
static const struct setting *common(const struct form *f, struct str name)
{
    const struct setting *first = NULL;
    uint32_t n_items = 0, n = 0;
    for (uint32_t i = f->from; i < f->to; i++) {
        const struct setting *one = &f->s->list.v[i];
        n_items += i == f->from || !str_eq(one->item, one[-1].item);
        if (!str_eq(one->name, name))
            continue;
        n++;
        first = first ? first : one;
        if (one->is_open || !str_eq(one->value, first->value))
            return NULL;
    }
    return n == n_items && n > 1 ? first : NULL;
}

/* Is it told behind the columns of its row? */
static bool is_also(const struct form *f, const struct setting *one)
{
    return f->block->n_columns && !is_column(f->block, one->name) && !common(f, one->name);
}

static struct form form_of(const struct settings *s, uint32_t from, uint32_t to)
{
    struct form f = {
        .s = s, .block = &s->blocks.v[s->list.v[from].block], .from = from, .to = to, .why = s->list.v[from].reason
    };
    bool is_one = to - from > 1;
    for (uint32_t i = from; i < to; i++) {
        f.has_also |= is_also(&f, &s->list.v[i]);
        f.has_reason |= s->list.v[i].reason.n > 0;
        is_one &= str_eq(s->list.v[i].reason, f.why);
    }
    if (is_one)
        f.has_reason = false;
    else
        f.why = STR("");
    return f;
}

static void put_value(struct buf *b, const struct setting *s)
{
    if (!s->is_open) {
        put(b, s->value);
        return;
    }
    put_in(b, "<em class=\"open\">to fill in</em> ", s->value, "<span class=\"fill\"></span>");
}

static void put_head(struct buf *b, const struct form *f)
{
    buf_text(b, "<div class=\"wide\"><table><thead><tr><th class=\"t\" scope=\"col\">done</th>");
    if (f->block->of)
        put_in(b, "<th scope=\"col\">", str_from(f->block->of), "</th>");
    for (uint32_t k = 0; k < f->block->n_columns; k++)
        put_in(b, "<th scope=\"col\">", str_from(f->block->columns[k]), "</th>");
    if (!f->block->n_columns)
        buf_text(b, "<th scope=\"col\">setting</th><th scope=\"col\">value</th>");
    buf_text(b, f->has_also ? "<th scope=\"col\">and</th>" : "");
    buf_text(b, f->has_reason ? "<th scope=\"col\">why</th>" : "");
    buf_text(b, "</tr></thead><tbody>\n");
}

static const char TICK[] = "<tr><td class=\"t\"><span></span></td>";

static void put_why(struct buf *b, const struct form *f, struct str why)
{
    if (f->has_reason)
        put_in(b, "<td class=\"why\">", why, "</td>");
    buf_text(b, "</tr>\n");
}

static void plain_row(struct buf *b, const struct form *f, const struct setting *s)
{
    buf_text(b, TICK);
    if (f->block->of)
        put_in(b, "<th scope=\"row\">", s->item, "</th><td>");
    else
        buf_text(b, "<th scope=\"row\">");
    put(b, s->name);
    buf_text(b, f->block->of ? "</td><td>" : "</th><td>");
    put_value(b, s);
    buf_text(b, "</td>");
    put_why(b, f, s->reason);
}

/* What all rows have alike. */
static void put_common(struct buf *b, const struct form *f)
{
    uint32_t n = 0;
    for (uint32_t i = f->from; i < f->to && f->block->n_columns; i++) {
        const struct setting *one = &f->s->list.v[i];
        if (is_column(f->block, one->name) || common(f, one->name) != one)
            continue;
        buf_text(b, n++ ? "; " : "<p class=\"try\"><span></span><b>The same in each row: ");
        put_in(b, "", one->name, " ");
        put_in(b, "<i>", one->value, "</i>");
    }
    buf_text(b, n ? ".</b></p>\n" : "");
}

static void put_also(struct buf *b, const struct form *f, uint32_t from, uint32_t to)
{
    uint32_t n = 0;
    buf_text(b, "<td class=\"also\">");
    for (uint32_t i = from; i < to; i++) {
        const struct setting *one = &f->s->list.v[i];
        if (!is_also(f, one))
            continue;
        put_in(b, n++ ? "<br><b>" : "<b>", one->name, "</b> ");
        put_value(b, one);
    }
    buf_text(b, "</td>");
}

static void item_row(struct buf *b, const struct form *f, uint32_t from, uint32_t to)
{
    const struct settings *s = f->s;
    buf_text(b, TICK);
    put_in(b, "<th class=\"i\" scope=\"row\">", s->list.v[from].item, "</th>");
    for (uint32_t k = 0; k < f->block->n_columns; k++) {
        uint32_t n = 0;
        for (uint32_t i = from; i < to; i++) {
            if (!str_is(s->list.v[i].name, f->block->columns[k]))
                continue;
            if (n++)
                buf_text(b, "<br>");
            else
                put_in(b, "<td data-head=\"", str_from(f->block->columns[k]), "\">");
            put_value(b, &s->list.v[i]);
        }
        buf_text(b, n ? "</td>" : "<td></td>");
    }
    if (f->has_also)
        put_also(b, f, from, to);
    put_why(b, f, s->list.v[from].reason);
}

/* ---- blocks ---- */

static void put_block(struct buf *b, const struct settings *s, uint32_t from, uint32_t to)
{
    const uint32_t n = s->list.v[from].block;
    const struct settings_block *block = &s->blocks.v[n];
    const struct form f = form_of(s, from, to);
    buf_printf(b, "<h3 id=\"s%u\"><span class=\"n\">%u</span> ", (unsigned)n + 1, (unsigned)n + 1);
    put_in(b, "", block->title, "</h3>\n");
    put_in(b, "<p class=\"where\">", block->where, "");
    if (block->standard.n)
        put_in(b, " \u00b7 ", block->standard, "");
    buf_text(b, "</p>\n");
    if (block->intro.n)
        put_in(b, "<p class=\"intro\">", block->intro, "</p>\n");
    if (f.why.n)
        put_in(b, "<p class=\"intro why\">", f.why, ".</p>\n");
    put_common(b, &f);
    put_head(b, &f);
    for (uint32_t i = from; i < to;) {
        const uint32_t end = block->n_columns ? item_end(s, i) : i + 1;
        if (block->n_columns)
            item_row(b, &f, i, end);
        else
            plain_row(b, &f, &s->list.v[i]);
        i = end;
    }
    buf_text(b, "</tbody></table></div>\n");
    if (block->check.n)
        put_in(b, "<p class=\"try\"><span></span>See that it works: ", block->check, "</p>\n");
    if (block->instead.n)
        put_in(b, "<p class=\"else soft\">If it is not offered: ", block->instead, "</p>\n");
}

static uint32_t first_block(const struct settings *s, uint32_t thing)
{
    uint32_t n = 0;
    while (n < s->blocks.n && s->blocks.v[n].thing < thing)
        n++;
    return n;
}

static void put_contents(struct buf *b, const struct settings *s)
{
    buf_text(b, "<nav aria-label=\"Contents\"><ol>\n");
    for (uint32_t t = 0; t < s->things.n; t++) {
        const uint32_t first = first_block(s, t) + 1, last = first_block(s, t + 1);
        buf_printf(b, "<li><a href=\"#t%u\">", (unsigned)t + 1);
        put(b, s->things.v[t].words);
        if (first == last)
            buf_printf(b, "</a> <span>%u</span></li>\n", (unsigned)first);
        else
            buf_printf(b, "</a> <span>%u to %u</span></li>\n", (unsigned)first, (unsigned)last);
    }
    buf_text(b, "<li><a href=\"#known\">To be known</a></li>\n</ol></nav>\n");
}

/* ---- what is to be known ---- */

static void put_notes(struct buf *b, const char *head, const note_list *notes)
{
    if (!notes->n)
        return;
    buf_printf(b, "<h3>%s</h3>\n<ul class=\"notes\">\n", head);
    for (uint32_t i = 0; i < notes->n; i++)
        put_in(b, "<li>", notes->v[i].says, ".</li>\n");
    buf_text(b, "</ul>\n");
}

static void put_findings(struct buf *b, const struct layer2 *l2)
{
    if (!l2->findings.n)
        return;
    buf_text(b, "<h3>Of ports and SSIDs</h3>\n<ul class=\"notes\">\n");
    for (uint32_t i = 0; i < l2->findings.n; i++) {
        put_in(b, "<li>", l2->findings.v[i].says, "");
        put_in(b, ". To mend it: ", l2->findings.v[i].hint, ".</li>\n");
    }
    buf_text(b, "</ul>\n");
}

static void put_known(struct buf *b, const struct settings *s)
{
    buf_text(b, "<section id=\"known\"><h2>To be known</h2>\n");
    if (!s->x->plan->notes.n && !s->x->policy->notes.n && !s->x->l2->findings.n)
        buf_text(b, "<p>There is nothing more to be known.</p>\n");
    put_notes(b, "Of the addresses", &s->x->plan->notes);
    put_notes(b, "Of the rules", &s->x->policy->notes);
    put_findings(b, s->x->l2);
    buf_text(b, "</section>\n");
}

/* ---- the page ---- */

/* A thing of so many blocks begins a page of its own on paper: it is taken along to where the thing is. */
enum { OWN_PAGE_BLOCKS = 3 };

static void put_top(struct buf *b, const struct settings *s)
{
    uint32_t open = 0;
    for (uint32_t i = 0; i < s->list.n; i++)
        open += s->list.v[i].is_open;
    buf_text(b, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                "<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\n<title>");
    put_in(b, "", s->h->name, ": settings to type in</title>\n<style>\n");
    buf_text(b, STYLE);
    buf_text(b, "</style>\n</head>\n<body>\n<main>\n<header>\n");
    put_in(b, "<p class=\"soft\">", s->h->name, "</p>\n<h1>Settings to type in</h1>\n");
    buf_printf(
        b,
        "<p>Into any gateway, switch and access point, from the first step to the last, each with what it is for. "
        "The words are the standards\u2019; menus call them otherwise. Tick each row when it stands, and try what "
        "stands below before going on. No passphrase is on these pages.</p>\n<p class=\"soft\">%u steps, %u "
        "settings",
        (unsigned)s->blocks.n, (unsigned)s->list.n);
    if (open)
        buf_printf(b,
                   "; %u of them the house file leaves open: they are marked <em class=\"open\">to fill in</em>, with "
                   "what to find out",
                   (unsigned)open);
    buf_text(b, ".</p>\n</header>\n");
}

void settings_write_html(struct buf *out, const struct settings *s)
{
    put_top(out, s);
    put_contents(out, s);
    uint32_t thing = NO_REF;
    for (uint32_t i = 0; i < s->list.n;) {
        const uint32_t end = block_end(s, i);
        const uint32_t t = s->blocks.v[s->list.v[i].block].thing;
        if (t != thing) {
            const bool is_long = first_block(s, t + 1) - first_block(s, t) >= OWN_PAGE_BLOCKS;
            buf_printf(out, "%s<section id=\"t%u\"%s><h2>", thing == NO_REF ? "" : "</section>\n", (unsigned)t + 1,
                       is_long ? " class=\"long\"" : "");
            put_in(out, "", s->things.v[t].words, "</h2>\n");
            if (s->things.v[t].lead.n)
                put_in(out, "<p>", s->things.v[t].lead, "</p>\n");
            thing = t;
        }
        put_block(out, s, i, end);
        i = end;
    }
    buf_text(out, thing == NO_REF ? "" : "</section>\n");
    put_known(out, s);
    buf_text(out, "<footer><p>Made from the house file: change that, not this, and export again. What local law and "
                  "licensed trades decide comes before anything here.</p></footer>\n</main>\n</body>\n</html>\n");
}
