#!/usr/bin/env bash
# Adds up the single tests of all test programs from meson's log, repeats what failed, and prints the closing line.
set -euo pipefail
log=$1
passed=$(grep -cE '^\[ +OK \]|^ok ' "$log" || true)
failed=$(grep -cE '^\[  FAILED  \] [a-z_0-9]+$|^(not ok|NOT OK) ' "$log" || true)
skipped=$(grep -cE '^ *skipped: ' "$log" || true)
grep -E '^ *skipped: ' "$log" | sort -u || true
# Of each program that did not end well: the checks that failed, and its last lines.
awk '
    function show(    i) {
        if (result != "" && result !~ /exit status (0|77)$/) {
            print "\nfailed: " name " (" result ")"
            for (i = 1; i <= lines - 20; i++) if (line[i] ~ /NOT OK|not ok|FAILED/) print "    " line[i]
            for (i = lines > 20 ? lines - 19 : 1; i <= lines; i++) print "    " line[i]
        }
        result = ""; lines = 0
    }
    /^=+ [0-9]+\/[0-9]+ =+$/ { show(); next }
    /^test: /   { name = $2 " " $3 " " $4; next }
    /^result: / { result = $0; sub(/^result: */, "", result); next }
    /^(start time|duration|command): / { next }
    { line[++lines] = $0 }
    END { show() }' "$log"
echo "$passed passed, $failed failed, $skipped skipped"
