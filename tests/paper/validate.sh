#!/usr/bin/env bash
# Validates HTML files, and those of folders, with html-validate. Needs npm; what it fetches is kept in target/.
# Exit status: 0 valid, 1 not, 2 wrong usage.
set -euo pipefail

[ "$#" -gt 0 ] || { echo "usage: $0 FILE-OR-FOLDER…" >&2; exit 2; }
[ -z "$(for named in "$@"; do [ -e "$named" ] || echo "$named"; done)" ] || { echo "not all of it is there: $*" >&2; exit 2; }
mapfile -d '' places < <(realpath -z "$@")
mapfile -d '' pages < <(find "${places[@]}" -name '*.html' -print0 | sort -z)
[ "${#pages[@]}" -gt 0 ] || { echo "no HTML files in $*" >&2; exit 2; }
cd "$(dirname "$0")/../.."

tools=target/validator
if ! "$tools/node_modules/.bin/html-validate" --version >/dev/null 2>&1; then
  mkdir -p "$tools"
  for pause in 5 20 0; do
    npm install --silent --no-audit --no-fund --prefix "$tools" html-validate@9.7.1 >&2 && break
    [ "$pause" = 0 ] && exit 1
    sleep "$pause"
  done
fi
cat > "$tools/.htmlvalidate.json" <<'JSON'
{"root": true, "extends": ["html-validate:recommended"],
 "rules": {"long-title": "off", "no-trailing-whitespace": "off", "no-inline-style": "error"}}
JSON
"$tools/node_modules/.bin/html-validate" --config "$tools/.htmlvalidate.json" "${pages[@]}" || exit 1
echo "${#pages[@]} pages are valid"
