#!/usr/bin/env bash
# Opens pages in a real browser and on paper: tests/paper/look.sh FOLDER PAGE…
# Fails on a message of the browser, a request of any kind, a page that is wider than its screen, and a row or a heading
# that paper cuts. The pictures are left in FOLDER. Installs what it needs (Debian packages, one Python package).
set -euo pipefail
cd "$(dirname "$0")/../.."

missing=()
command -v chromium >/dev/null 2>&1 || missing+=(chromium)
command -v pdftotext >/dev/null 2>&1 || missing+=(poppler-utils)
python3 -c 'import ensurepip, venv' 2>/dev/null || missing+=(python3 python3-venv)
if [ "${#missing[@]}" -gt 0 ]; then
  apt-get update -q
  apt-get install -y -q --no-install-recommends "${missing[@]}"
fi
browser=target/browser
if ! "$browser/bin/python" -c 'import websocket' >/dev/null 2>&1; then
  python3 -m venv "$browser"
  for pause in 5 20 0; do
    "$browser/bin/pip" install --quiet websocket-client==1.8.0 && break
    [ "$pause" = 0 ] && exit 1
    sleep "$pause"
  done
fi
"$browser/bin/python" tests/paper/look.py "$@"
