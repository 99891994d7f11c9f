#!/usr/bin/env bash
# Checks that need no build: layers, formatting, length of files.
set -euo pipefail
cd "$(dirname "$0")/.."
bad=0
git rev-parse --git-dir >/dev/null 2>&1 || {
    echo "format and length are not checked: this is no git checkout" >&2
    exit 0
}
tools/layers.sh || bad=1
if ! badly=$(git ls-files '*.c' '*.h' | xargs clang-format --dry-run --Werror 2>&1); then
    printf '%s\n' "$badly" | head -n 20
    echo "run ./run format" >&2
    bad=1
fi
while read -r lines file; do
    [ "$file" = total ] && continue
    [ "$lines" -le 800 ] || grep -qs "$file" docs/long-files.md || {
        echo "$file has $lines lines: split it, or say why in docs/long-files.md" >&2
        bad=1
    }
done < <(git ls-files '*.c' '*.h' '*.ts' | xargs wc -l)
exit "$bad"
