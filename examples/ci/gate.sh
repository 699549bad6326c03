#!/bin/sh
# The gate of a shop, for any CI that runs a shell: gate.sh [FOLDER OF JOBS [FOLDER FOR REPORTS]]
# Ends with testlamp's own status: 0 open, 1 shut, 2 wrong usage, 3 something could not be read, 4 nothing to check.
set -u
jobs=${1:-jobs}
reports=${2:-reports}
known=known-findings.jsonl

mkdir -p "$reports" || exit 2
# Findings of jobs that were finished before they were checked, where the shop keeps such a list.
set --
[ -f "$known" ] && set -- --baseline "$known"

testlamp check "$jobs" --format short --output json="$reports/report.json" --record "$reports/record.jsonl" "$@"
