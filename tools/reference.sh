#!/bin/sh
# The slow checks from outside: makes every committed reference table anew and compares it with the file, and solves the
# full-wave scenes again (some minutes each).  Needs Debian's python3-scipy, python3-mpmath, python3-meep and python3-matplotlib.
#
#   tools/reference.sh            all
#   tools/reference.sh tables     only the tables (seconds)
#   tools/reference.sh scenes     only the full-wave scenes
set -eu
cd "$(dirname "$0")/.."
python=/usr/bin/python3
export OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT INT TERM

tables() {
    $python tools/fit_transition.py check src/radio/wedge_fit.h
    $python tools/fit_transition.py check src/radio/beam_bent_fit.h
    $python tests/reference/make_wedge_check.py >"$work/wedge"
    $python tests/reference/same_numbers.py tests/reference/wedge_check.csv "$work/wedge"
    # Writes slab_check.csv and multilayer_check.csv beside itself.
    cp tests/reference/make_slab_check.py tests/reference/building_materials.csv "$work"
    (cd "$work" && $python make_slab_check.py)
    for table in slab_check multilayer_check; do
        $python tests/reference/same_numbers.py tests/reference/$table.csv "$work/$table.csv"
    done
}

scenes() {
    $python tests/reference/fdtd_scenes.py check
}

case "${1:-all}" in
all) tables && scenes ;;
tables) tables ;;
scenes) scenes ;;
*)
    sed -n '2,8s/^# \{0,1\}//p' "$0"
    exit 2
    ;;
esac
