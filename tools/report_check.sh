#!/usr/bin/env bash
# Opens the pages of a finished output folder in a browser and looks at them: tools/report_check.sh OUT
# Needs the Python of tools/python.sh, Chromium and poppler; says so and ends well where they cannot be had.
set -euo pipefail
out=$1

# One that starts: a stub that would install it first is none.
browser() {
    local name
    for name in chromium chromium-browser google-chrome; do
        if "$name" --version >/dev/null 2>&1; then
            command -v "$name"
            return
        fi
    done
    return 1
}
if ! browser >/dev/null || ! command -v pdftotext >/dev/null; then
    tools/packages.sh chromium poppler-utils || true
fi
if ! browser >/dev/null || ! command -v pdftotext >/dev/null; then
    echo "NOT CHECKED in a browser: Chromium and poppler-utils are not here and cannot be installed." >&2
    exit 0
fi
target/python/bin/python tests/reference/report_check.py "$out" --browser "$(browser)"
