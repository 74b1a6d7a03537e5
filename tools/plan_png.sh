#!/bin/sh
# Renders the plan of a parcel's report, its A3 sheet, as a PNG, for a README or a message.
#   tools/plan_png.sh OUT PARCEL FILE [WIDTH]
# OUT is the folder `swardline design` wrote, PARCEL an id in it, FILE the PNG to make, WIDTH its width in pixels (1400).
# Needs python3 without packages, and chromium. With pngquant the file gets a third as large.
set -eu
[ $# -ge 3 ] || { sed -n '2,5s/^# \{0,1\}//p' "$0" >&2; exit 2; }
report="$1/parcels/$2/report.html"
png="$3"
width="${4:-1400}"
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

# The plan alone on a page, with the styles and the shapes that it calls up; prints the height it needs.
height=$(python3 - "$report" "$folder/plan.html" "$width" <<'PY'
import re
import sys

page = open(sys.argv[1], encoding="utf-8").read()
pieces = [re.search(pattern, page, re.DOTALL) for pattern in (
    r"<style>.*?</style>", r'<svg class="shapes".*?</svg>', r'<svg [^>]*class="drawing" viewBox="0 0 ([\d.]+) ([\d.]+)"[^>]*aria-labelledby="plan-A3-t .*?</svg>')]
if not all(pieces):
    sys.exit(f"{sys.argv[1]}: no plan in it")
bare = "<style>body{max-width:none;margin:0;padding:0}</style>"
with open(sys.argv[2], "w", encoding="utf-8") as file:
    file.write('<!DOCTYPE html><html data-theme="light"><meta charset="utf-8">' + pieces[0][0] + bare + pieces[1][0] + pieces[2][0])
wide, high = pieces[2].groups()
print(round(int(sys.argv[3]) * float(high) / float(wide)))
PY
)
browser=$(command -v chromium || command -v chromium-browser) || {
    echo "chromium is not here" >&2
    exit 1
}
"$browser" --headless --no-sandbox --hide-scrollbars --window-size="$width,$height" \
    --screenshot="$png" "file://$folder/plan.html" >/dev/null 2>&1

if command -v pngquant >/dev/null; then
    pngquant --force --strip --output "$png" 128 "$png"
fi
