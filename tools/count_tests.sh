#!/usr/bin/env bash
# Adds up the single tests of all test programs from meson's log and prints the closing line.
set -euo pipefail
log=$1
passed=$(grep -cE '^\[ +OK \]|^ok ' "$log" || true)
failed=$(grep -cE '^\[  FAILED  \] [a-z_0-9]+$|^not ok ' "$log" || true)
skipped=$(grep -cE '^ *skipped: ' "$log" || true)
grep -E '^ *skipped: ' "$log" | sort -u || true
echo "$passed passed, $failed failed, $skipped skipped"
