#!/usr/bin/env bash
# Reads every #include of src/ and fails where a folder includes from one that tools/layers.txt does not allow it.
set -euo pipefail
cd "$(dirname "$0")/.."
bad=0
while read -r folder _ allowed; do
    [[ -z "$folder" || "$folder" == \#* || ! -d "src/$folder" ]] && continue
    while IFS=: read -r file line include; do
        from=${include#*\"}
        from=${from%%/*}
        [[ "$from" == "$folder" || " $allowed " == *" $from "* ]] && continue
        echo "$file:$line: src/$folder may not include from src/$from" >&2
        bad=1
    done < <(grep -HnE '^#include "[a-z]+/' "src/$folder"/*.[ch] 2>/dev/null || true)
done <tools/layers.txt
exit "$bad"
