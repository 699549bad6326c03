#!/usr/bin/env bash
# Validates every HTML file of a folder with html-validate. Needs npm and a registry; nothing is left behind.
# Exit status: 0 valid, 1 not, 2 wrong usage.
set -euo pipefail

[ "$#" -eq 1 ] && [ -d "$1" ] || { echo "usage: $0 FOLDER" >&2; exit 2; }
mapfile -d '' pages < <(find "$(realpath "$1")" -name '*.html' -print0 | sort -z)
[ "${#pages[@]}" -gt 0 ] || { echo "$1 holds no HTML files" >&2; exit 2; }

tools=$(mktemp -d)
trap 'rm -rf "$tools"' EXIT
npm install --silent --no-audit --no-fund --prefix "$tools" html-validate@9 >&2
cat > "$tools/.htmlvalidate.json" <<'JSON'
{"root": true, "extends": ["html-validate:recommended"],
 "rules": {"long-title": "off", "no-trailing-whitespace": "off", "no-inline-style": "error"}}
JSON
status=0
"$tools/node_modules/.bin/html-validate" --config "$tools/.htmlvalidate.json" "${pages[@]}" || status=1
[ "$status" -eq 0 ] && echo "${#pages[@]} pages are valid"
exit "$status"
