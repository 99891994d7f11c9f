#!/bin/sh
# Prints the C sources in the given folders of the project, sorted, one a line.
cd "$(dirname "$0")/.." || exit 1
for folder in "$@"; do
    ls "$folder"/*.c 2>/dev/null
done | LC_ALL=C sort
