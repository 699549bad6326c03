#!/usr/bin/env bash
# Holds how many instructions a check takes against what is recorded: tests/benches/count.sh [--renew] [PROGRAM].
#
# Two plans are judged, one in which everything is stated and one draft with open checks, each as it is and without
# `plan: 1`: what does not say that it is a plan is read, with its schema and types, and not judged. Counts do not depend
# on how busy a machine is, but on the compiler, so they are held only by the one that they were recorded with. With another
# one only whole to reading is held, less narrowly, and that is said. PROGRAM is what `cargo build` makes: a thing done
# twice shows there as well, and it lies there in any case.
set -euo pipefail
cd "$(dirname "$0")/../.."
renew=0
[ "${1:-}" = --renew ] && { renew=1; shift; }
program=${1:-target/debug/testlamp}
record=tests/benches/counts.tsv
narrow=3 # percent, with the same compiler
wide=15 # percent, of whole to reading, with another
plans=(j-2057-everything-on-one-block j-2042-half-filled-draft)
at=target/count
mkdir -p "$at"

count() { # FILE: its instructions. One thread and one day, so that it is the same work each time.
  # A plan that cannot be judged, and one with findings, end with status 1.
  RAYON_NUM_THREADS=1 valgrind --tool=callgrind --callgrind-out-file="$at/out" "$program" check "$1" --format short \
    --house examples/house.yaml --as-of 2026-11-28 > "$at/report" 2> "$at/told" || [ "$?" = 1 ] || { cat "$at/told" >&2; exit 2; }
  sed -n 's/.*Collected : \([0-9]*\).*/\1/p' "$at/told"
}

# What is the heaviest, for whoever looks into it.
heaviest() { callgrind_annotate "$at/out" 2>/dev/null | sed -n 's/^ *\([0-9,]* ([ 0-9.]*%)\)  [^ ]*:\(.*\) \[.*/  \1 \2/p' | awk 'NR <= 12'; }

compiler=$(rustc -vV | sed -n 's/^release: //p;s/^host: //p' | tac | paste -sd' ')
kept=$(sed -n 's/^# compiler: //p' "$record" 2>/dev/null || true)
lines=() failed=0
for plan in "${plans[@]}"; do
  sed 's/^plan: 1$/#/' "examples/jobs/$plan.yaml" > "$at/$plan.yaml"
  reading=$(count "$at/$plan.yaml")
  whole=$(count "examples/jobs/$plan.yaml")
  lines+=("$plan"$'\t'"$reading"$'\t'"$whole")
  [ "$renew" = 0 ] || continue
  read -r _ was_reading was_whole < <(grep "^$plan"$'\t' "$record") || { echo "$plan is not in $record"; exit 2; }
  told() { # WHAT NOW BEFORE PERCENT
    awk -v what="$1" -v plan="$plan" -v now="$2" -v was="$3" -v most="$4" 'BEGIN {
      grown = (now / was - 1) * 100
      printf "%-32s %-20s %.4g, recorded %.4g: %+.1f %%\n", plan, what, now, was, grown
      if (grown < -most) print "  that is less: renew the record, so that it is held"
      exit grown > most }' && return 0
    echo "  $1 takes more than $4 % more instructions than recorded. Where that is meant, renew the record:"
    echo "  tests/benches/count.sh --renew. The heaviest now:"
    heaviest
    failed=1
  }
  if [ "$compiler" = "$kept" ]; then
    told "reading" "$reading" "$was_reading" "$narrow"
    told "judging" "$((whole - reading))" "$((was_whole - was_reading))" "$narrow"
  else
    echo "recorded with $kept, this is $compiler: counts are not held, only whole to reading"
    ratio() { awk -v one="$1" -v other="$2" 'BEGIN { print one / other }'; }
    told "whole to reading" "$(ratio "$whole" "$reading")" "$(ratio "$was_whole" "$was_reading")" "$wide"
  fi
done
if [ "$renew" = 1 ]; then
  {
    echo "# Instructions of a check, by tests/benches/count.sh: plan, reading, whole."
    echo "# compiler: $compiler"
    printf '%s\n' "${lines[@]}"
  } > "$record"
  cat "$record"
fi
exit "$failed"
