#include "cli/command.h"

#include <stddef.h>
#include <string.h>

#include "reach/export.h"

#define AT(member) offsetof(struct args, member)
#define OPTS(list) list, RT_COUNT(list)

#define OPT_ESTIMATE                                                            \
    {                                                                           \
        "estimate", OPT_WORD, AT(estimate), "careful|middle|hopeful",           \
            "wall losses to judge at; else as the house file says", 0, 0, false \
    }
#define OPT_ORDER                                                                                \
    {                                                                                            \
        "order", OPT_INT, AT(order), "N", "reflections followed, 0 to 3; default 2", 0, 3, false \
    }
#define OPT_NO_DIFFRACTION                                                                                    \
    {                                                                                                         \
        "no-diffraction", OPT_FLAG, AT(no_diffraction), NULL, "leave out waves bent round edges", 0, 0, false \
    }
#define OPT_CELL                                                                                          \
    {                                                                                                     \
        "cell", OPT_NUM, AT(cell_m), "M", "side of a grid cell in metres; default 0.25", 0.05, 2.0, false \
    }
#define OPT_DEVICE                                                                                                 \
    {                                                                                                              \
        "device", OPT_TEXT, AT(device), "KIND", "whose radio: phone, laptop, television ...; default phone", 0, 0, \
            false                                                                                                  \
    }
#define OPT_AVAILABILITY                                                                  \
    {                                                                                     \
        "availability", OPT_NUM, AT(availability), "SHARE",                               \
            "share of places in which a level must hold; default 0.90", 0.5, 0.999, false \
    }

static const struct opt COMMON[] = {
    { "json", OPT_FLAG, AT(json), NULL, "print JSON with stable keys (docs/json.md)", 0, 0, false },
    { "threads", OPT_INT, AT(threads), "N", "processors to use; results do not depend on it; default all", 1, 256,
      false },
    { "help", OPT_FLAG, AT(help), NULL, "show how the command is used", 0, 0, false },
};

static const struct opt CHECK[] = {
    { "failures", OPT_FLAG, AT(failures), NULL, "judge every promise again after each single failure", 0, 0, false },
    { "mend", OPT_FLAG, AT(mend), NULL,
      "with --failures: try parts in hand for the worst, and give the cheapest that helps", 0, 0, false },
    OPT_ESTIMATE,
    OPT_CELL,
    OPT_ORDER,
    OPT_NO_DIFFRACTION
};

static const struct opt DESIGN[] = {
    { "out", OPT_TEXT, AT(out), "FILE", "where the designed house goes; with --compare a folder for the drawings", 0, 0,
      false },
    { "anew", OPT_FLAG, AT(anew), NULL, "as if nothing were bought: equipment, cables and batteries are left out first",
      0, 0, false },
    { "own-mounts", OPT_FLAG, AT(own_mounts), NULL,
      "only the mounts of the file; else ceilings and walls are proposed too", 0, 0, false },
    { "radar", OPT_FLAG, AT(radar), NULL, "channels on which radar has to be watched for may be used", 0, 0, false },
    { "phases", OPT_FLAG, AT(phases), NULL, "split what is bought over the file's phases, the first promises first", 0,
      0, false },
    { "seconds", OPT_NUM, AT(seconds), "S", "time to search; the best found by then is taken; default 30", 1, 36000,
      false },
    { "compare", OPT_TEXT, AT(compare), "HOUSE", "design nothing: put the two houses side by side", 0, 0, false },
};

static const struct opt SIGNAL[] = {
    { "floor", OPT_TEXT, AT(floor), "FLOOR", "the floor, by its name in the house file", 0, 0, true },
    { "at", OPT_POINT, AT(at_m), "X,Y[,Z]", "the spot in metres; Z above the floor, default 1.2", -1e4, 1e4, true },
    { "paths", OPT_INT, AT(paths), "N",
      "paths shown for each radio, strongest first; 0 for all; default 4 (all with --json)", 0, 1e6, false },
    OPT_DEVICE,
    OPT_AVAILABILITY,
    OPT_ESTIMATE,
    OPT_ORDER,
    OPT_NO_DIFFRACTION,
};

static const struct opt DRAW[] = {
    { "out", OPT_TEXT, AT(out), "FOLDER", "where the drawings go; default `drawings`", 0, 0, false },
    { "what", OPT_WORDS, AT(what), "signal|rate|second|cable|cabinet|ports|week|load|spectrum|failures",
      "which drawings, parted by commas; default all", 0, 0, false },
    { "bands", OPT_WORDS, AT(bands), "2.4|5|6", "which bands, parted by commas; default all there are", 0, 0, false },
    { "floor", OPT_TEXT, AT(floor), "FLOOR", "only this floor", 0, 0, false },
    { "format", OPT_WORDS, AT(format), "svg|png", "which files, parted by commas; default both", 0, 0, false },
    { "all-heights", OPT_FLAG, AT(all_heights), NULL, "a sheet for each height at which something is promised", 0, 0,
      false },
    OPT_DEVICE,
    OPT_AVAILABILITY,
    OPT_ESTIMATE,
    OPT_CELL,
    OPT_ORDER,
    OPT_NO_DIFFRACTION,
};

static const struct opt BOOK[] = {
    { "what", OPT_WORD, AT(what), "book|labels|household|cards",
      "which paper: the book; labels for cables and ports; a page for the household, which network for what; cards to "
      "join the Wi-Fi; default book",
      0, 0, false },
    { "with-secrets", OPT_FLAG, AT(with_secrets), NULL,
      "for cards: put the passphrases in (a file of mode 0600), and make those that are missing", 0, 0, false },
    { "out", OPT_TEXT, AT(out), "FILE",
      "where it goes: a file; for svg and png a folder, where earlier pages are replaced", 0, 0, false },
    { "format", OPT_WORD, AT(format), "pdf|svg|png", "one PDF, or a picture of each page; default pdf", 0, 0, false },
    { "dpi", OPT_NUM, AT(dpi), "N", "for png: pixels an inch, 50 to 600; default 150", 50, 600, false },
    { "paper", OPT_WORD, AT(paper), "a4|letter", "the paper; default what is the custom of the house's country", 0, 0,
      false },
    { "date", OPT_TEXT, AT(date), "DATE", "the day of the hand-over, as 2026-11-25; left out: a line to write it on", 0,
      0, false },
    { "by", OPT_TEXT, AT(by), "NAME", "who hands over; left out: a line to write it on", 0, 0, false },
    { "device", OPT_TEXT, AT(device), "KIND", "the kind of device whose signal and rate are drawn; default phone", 0, 0,
      false },
    { "rehearse", OPT_FLAG, AT(rehearses), NULL,
      "try the rules on this kernel first, and say in the book what came of it", 0, 0, false },
    { "labels", OPT_TEXT, AT(labels), "SHEET",
      "the sheet of labels in millimetres: 3x8,63.5x33.9 (columns x rows, width x height), then its edge and its gaps "
      "if "
      "it is not in the middle (docs/labels.md)",
      0, 0, false },
    { "skip", OPT_INT, AT(skip), "N", "labels of the first sheet that are used already", 0, 9999, false },
};

static const struct opt PROVE[] = {
    { "ruleset", OPT_TEXT, AT(ruleset), "FILE",
      "judge this listing of a kernel's rules (TZ=UTC nft -j list ruleset) in place of the compiled ones", 0, 0,
      false },
    { "against", OPT_TEXT, AT(against), "HOUSE", "say what differs from the rules of this house file", 0, 0, false },
};

static const struct opt ASK[] = {
    { "from", OPT_TEXT, AT(from), "WHO", "who begins: a device, group, person, segment, internet, anyone", 0, 0, true },
    { "to", OPT_TEXT, AT(to), "WHOM", "with whom: likewise, or gateway, or an internet name", 0, 0, true },
    { "service", OPT_TEXT, AT(service), "SERVICE", "for what, by its name; left out: for anything", 0, 0, false },
    { "when", OPT_TEXT, AT(when), "TIME", "\"Tue 21:05\" or \"2027-03-28 02:30\", by the house's clock; default now", 0,
      0, false },
};

static const struct opt EXPORT[] = {
    { "to", OPT_WORD, AT(what), EXPORT_FORM_NAMES, EXPORT_FORMS_SAY, 0, 0, true },
    { "out", OPT_TEXT, AT(out), "FOLDER", "where the files go; an earlier export there is replaced", 0, 0, true },
    { "with-secrets", OPT_FLAG, AT(with_secrets), NULL,
      "put the passphrases in (files of mode 0600), and make those that are missing", 0, 0, false },
    OPT_ESTIMATE,
    OPT_CELL,
    OPT_ORDER,
    OPT_NO_DIFFRACTION,
};

static const struct opt SERVE[] = {
    { "port", OPT_INT, AT(port), "PORT", "the port to listen at; default any that is free", 1, 65535, false },
    { "listen", OPT_TEXT, AT(listen), "ADDRESS",
      "listen at this address of the machine too, for a telephone in the house; needs a password and is not encrypted",
      0, 0, false },
    { "password-file", OPT_TEXT, AT(password_file), "FILE",
      "with --listen: the password is the file's first line; without it one is made and printed", 0, 0, false },
    { "name", OPT_TEXT, AT(name), "NAMES",
      "with --listen: names by which browsers may call this machine, parted by commas", 0, 0, false },
    { "no-open", OPT_FLAG, AT(no_open), NULL, "print the link only, open no browser", 0, 0, false },
    { "page", OPT_TEXT, AT(page), "FOLDER", "take the page's files from here", 0, 0, false },
};

static const struct opt SCHEMA[] = {
    { "parts", OPT_FLAG, AT(parts), NULL, "the schema of a parts file in place of a house file", 0, 0, false },
};

static const struct opt HELP[] = {
    { "form", OPT_WORD, AT(form), "text|man|bash|markdown", "write the whole help in this form", 0, 0, false },
};

static const struct command COMMANDS[] = {
    { "check", cmd_check, "HOUSE", true, OPTS(CHECK), "Evaluate every promise of a house",
      "Reads the house file, computes whether each promise is kept, and says by how much and why.  The exit status is "
      "0 if "
      "all are kept, 1 if one is broken or unknown, 2 if the file is wrong or something failed.",
      "check houses/larch_end.house.yaml" },
    { "design", cmd_design, "HOUSE", true, OPTS(DESIGN), "Find the least costly equipment that keeps the promises",
      "Chooses access points and their places, channels, switches, cables, battery and disks, judges every promise on "
      "the whole, and "
      "writes the house with them in it, all else in the file as it was.  Says what was chosen and why, what the "
      "dearest promises "
      "cost, how near the price is to the least there can be, and which promises cannot be kept.  Equipment of the "
      "file stays where "
      "it is unless it says `movable: true`.  The exit status is that of check.",
      "design houses/quay_flat.house.yaml --out designed.house.yaml" },
    { "signal", cmd_signal, "HOUSE", true, OPTS(SIGNAL), "Show every path of signal to a spot",
      "For each radio of the house: the level at the spot, what is promised of it, the rate that follows, and the "
      "paths by "
      "which it arrives with the loss of every wall on the way.",
      "signal houses/larch_end.house.yaml --floor first --at 2.5,4" },
    { "draw", cmd_draw, "HOUSE", true, OPTS(DRAW), "Draw signal, cables, ports, load, spectrum and failures",
      "Writes a sheet for each floor, drawing and band, for each cabinet, for the ports, the week, the load, the "
      "spectrum and what fails, as SVG "
      "(true to scale on "
      "paper) and PNG.  Spots that break a "
      "promise "
      "are marked with what is wrong there.",
      "draw houses/larch_end.house.yaml --out drawings" },
    { "book", cmd_book, "HOUSE", true, OPTS(BOOK), "Write the hand-over book, to print",
      "Promises first, each with its evidence; then floor by floor what hangs where; cables, ports, addresses, who may "
      "talk to "
      "whom, the week, the bill; what to test on the day, what to do when something breaks, and how to grow.  Or "
      "labels "
      "for cables, outlets and ports.  A PDF for paper, or each page as a picture.",
      "book houses/quay_flat.house.yaml --out quay_flat.pdf" },
    { "prove", cmd_prove, "HOUSE", true, OPTS(PROVE), "Prove who can reach whom, for every packet",
      "Compiles the statements of the house into rules, and proves for every packet, IPv4 and IPv6, and every minute "
      "of the "
      "week who may begin a conversation with whom; judges the promises apart, reach and hours, with a packet that "
      "shows it "
      "where one is broken; names rules that are never reached or change nothing.  The exit status is that of check.",
      "prove houses/larch_end.house.yaml" },
    { "ask", cmd_ask, "HOUSE", true, OPTS(ASK), "May these two talk, which rule decides, and which way does it go",
      "Answers allowed, refused, some (this may be begun and that not, with an example of both), or unfiltered: "
      "devices "
      "of one segment talk without the gateway's rules ever seeing it.  For anything it is asked what may be begun, as "
      "in "
      "the table of prove.",
      "ask houses/larch_end.house.yaml --from tom_tablet --to internet --service https --when \"Tue 21:05\"" },
    { "export", cmd_export, "HOUSE", true, OPTS(EXPORT), "Write the files that gateways and access points take",
      "Writes one folder, whole or not at all.  In the form linux README.txt says what each file is and in which order "
      "they are put to use; the form sheet is in the order of the work.  Passphrases live in a file of their own "
      "beside "
      "the house file, mode 0600, and come along only when asked for.",
      "export houses/larch_end.house.yaml --to linux --out network" },
    { "rehearse", cmd_rehearse, "HOUSE", true, NULL, 0, "Try the rules on this kernel with real packets",
      "Puts the house's network up in namespaces of this kernel, which nothing leaves and which are gone after any "
      "end: "
      "every device with its addresses, a gateway with the exported rules, an internet.  All try to reach all, in both "
      "versions of IP, and each verdict of the kernel is held against the proof's.  Hours are moved around now; the "
      "clock is left alone.  The exit status is 0 if they agree to the last packet, 1 if not, 2 if it could not be "
      "done.",
      "rehearse houses/larch_end.house.yaml" },
    { "serve", cmd_serve, "HOUSE or FOLDER", false, OPTS(SERVE), "Open the house in the browser",
      "Starts a server on this machine alone and prints the link that lets one browser in.  In the browser the house "
      "is drawn and "
      "changed, its promises are judged as it changes, and every step can be undone.  Nothing outside the folder is "
      "read or "
      "written.  Ctrl-C stops it.  With --listen a telephone in the house can be used too, with a password: nothing of "
      "that is "
      "encrypted, so do it in your own house alone, and stop it afterwards.",
      "serve houses/larch_end.house.yaml" },
    { "schema", cmd_schema, NULL, false, OPTS(SCHEMA), "Print the JSON Schema of a house file",
      "An editor that knows JSON Schema (2020-12) completes and checks a house file with it while it is typed.",
      "schema" },
    { "parts", cmd_parts, "FILE", true, NULL, 0, "List the parts at hand",
      "FILE is a house file, whose parts file is then listed, or a parts file (NAME.parts.yaml).",
      "parts parts/demo.parts.yaml" },
    { "help", cmd_help, "COMMAND", false, OPTS(HELP), "Show help, for all commands or one", NULL, "help signal" },
    { "version", cmd_version, NULL, false, NULL, 0, "Print the version", NULL, "version" },
};

const struct command *commands(size_t *n)
{
    *n = RT_COUNT(COMMANDS);
    return COMMANDS;
}

const struct command *command_find(const char *name)
{
    for (size_t i = 0; i < RT_COUNT(COMMANDS); i++)
        if (strcmp(COMMANDS[i].name, name) == 0)
            return &COMMANDS[i];
    return NULL;
}

const struct opt *common_opts(size_t *n)
{
    *n = RT_COUNT(COMMON);
    return COMMON;
}
