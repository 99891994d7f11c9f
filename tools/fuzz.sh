#!/bin/sh
# Feeds every reader of foreign bytes with mutated files, under clang's address and undefined-behaviour sanitizers.
#
#   tools/fuzz.sh [SECONDS [TARGET...]]     SECONDS for each target (60), targets: house parts regdb edit ruleset zone table policy
#   tools/fuzz.sh merge [TARGET...]         takes over into tests/fuzz/corpus what runs so far found to be new, minimised
#
# Everything that is made goes to build-fuzz/; an input that fails is kept there as crash_TARGET-*.  Put such a file into
# tests/fuzz/corpus/TARGET/ once the fault is mended: the tests replay it.
set -eu
cd "$(dirname "$0")/.."
seconds=60
case "${1:-}" in
merge | [0-9]*) seconds=$1; shift ;;
esac
[ $# -gt 0 ] || set -- house parts regdb edit ruleset zone table policy

build=build-fuzz
cc=${FUZZ_CC:-clang}
mkdir -p "$build/obj"
cat >"$build/flags" <<END
-std=gnu17 -g -O1 -fno-omit-frame-pointer -ffp-contract=off -Wall -Wextra -Werror
-fsanitize=address,undefined -fno-sanitize-recover=all
-Isrc -Itests/fuzz -include base/banned.h -D_GNU_SOURCE -DRT_FUZZ '-DRT_VERSION="fuzz"'
$(pkg-config --cflags libfyaml jansson)
END

# The readers and what they rest on; nothing that draws or computes fields.
library="$(tools/sources_in.sh src/base src/house src/data src/reach) src/radio/regdb.c"
sources="$library tests/fuzz/fuzz.c"
for target in "$@"; do
    sources="$sources tests/fuzz/fuzz_$target.c"
done
# shellcheck disable=SC2016
printf '%s\n' $sources | xargs -P "$(nproc)" -I{} sh -c \
    'exec "$0" "@$1/flags" -fsanitize=fuzzer-no-link -c "$2" -o "$1/obj/$(echo "$2" | tr / _).o"' "$cc" "$build" {}

# Words worth trying: the keys of the tables and what YAML is made of.
{
    grep -oh '\b[a-z][a-z0-9]*\(_[a-z0-9]*\)\+\b' src/house/*.c | LC_ALL=C sort -u | sed 's/.*/"&: "/' | head -600
    printf '"%s"\n' ': ' '- ' '? ' '{ ' ' }' '[' ']' ', ' '&a ' '*a' '<<: ' '|+\x0a' '>-\x0a' '---\x0a' '...\x0a' '\x0d\x0a' \
        match op left right payload protocol field meta key set range prefix concat vmap jump goto return accept drop elem \
        ct limit dnat redirect mangle target family table chain handle expr hook prio policy daddr iifname \
        '.nan' '.inf' '1e999' '"20:30\"' '!!str ' '/-' '~1' '===\x0a' 'set /' 'add /' 'remove /' 'rename /'
} | grep -v '^""' | sed 's/^""20/"\\"20/' >"$build/fuzz.dict"

status=0
for target in "$@"; do
    objects=$(for s in $library tests/fuzz/fuzz.c "tests/fuzz/fuzz_$target.c"; do echo "$build/obj/$(echo "$s" | tr / _).o"; done)
    "$cc" -fsanitize=fuzzer,address,undefined $objects -o "$build/fuzz_$target" $(pkg-config --libs libfyaml jansson) -lm
    found=$build/corpus/$target committed=tests/fuzz/corpus/$target more=
    mkdir -p "$found" "$committed"
    case $target in
    house) more=houses ;;
    parts) more=parts ;;
    ruleset) more=tests/reference/rulesets ;;
    esac
    if [ "$seconds" = merge ]; then
        rm -rf "$build/merged" && mkdir "$build/merged"
        "$build/fuzz_$target" -merge=1 -max_len=8192 "$build/merged" "$committed" "$found" 2>"$build/$target.log"
        # Files that stand already stay; of the new ones some forty are taken, small and large ones alike.
        n=$(ls "$build/merged" | wc -l)
        ls -rS "$build/merged" | awk -v step=$((n / 40 + 1)) 'NR % step == 0' | while read -r f; do
            [ -e "$committed/$f" ] || cp "$build/merged/$f" "$committed/$f"
        done
        echo "$target: $(ls "$committed" | wc -l) files, $(du -bs "$committed" | cut -f1) bytes"
        continue
    fi
    if ASAN_OPTIONS=detect_leaks=1 UBSAN_OPTIONS=print_stacktrace=1 nice "$build/fuzz_$target" \
        -max_total_time="$seconds" -max_len=8192 -timeout=20 -rss_limit_mb=3000 -dict="$build/fuzz.dict" \
        -artifact_prefix="$build/crash_$target-" "$found" "$committed" $more >"$build/$target.log" 2>&1; then
        echo "$target: $(sed -n 's/^Done \(.*\) second.*/\1 s/p' "$build/$target.log"), nothing found"
    else
        echo "$target: FOUND something, see $build/$target.log"
        grep -m3 -E 'ERROR|SUMMARY|fuzz target:|runtime error' "$build/$target.log" || tail -n 5 "$build/$target.log"
        status=1
    fi
done
exit $status
