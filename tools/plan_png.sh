#!/bin/sh
# Cuts the plan out of a parcel's report and renders it as a PNG, for a README or a message.
#   tools/plan_png.sh OUT PARCEL FILE [WIDTH]
# OUT is the folder `swardline design` wrote, PARCEL an id in it, FILE the PNG to make, WIDTH its width in pixels (1400).
# Needs python3 without packages, and rsvg-convert (librsvg2-bin) or chromium. With pngquant the file gets a third as large.
set -eu
[ $# -ge 3 ] || { sed -n '2,5s/^# \{0,1\}//p' "$0" >&2; exit 2; }
report="$1/parcels/$2/report.html"
png="$3"
width="${4:-1400}"
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

python3 - "$report" "$folder/plan.svg" <<'PY'
import sys

page = open(sys.argv[1], encoding="utf-8").read()
start = page.find("<svg", page.find('class="plan"'))
end = page.find("</svg>", start)
if start < 0 or end < 0:
    sys.exit(f"{sys.argv[1]}: no plan in it")
with open(sys.argv[2], "w", encoding="utf-8") as file:
    file.write(page[start : end + len("</svg>")])
PY

if command -v rsvg-convert >/dev/null; then
    rsvg-convert --width "$width" --keep-aspect-ratio "$folder/plan.svg" --output "$png"
else
    browser=$(command -v chromium || command -v chromium-browser) || {
        echo "neither rsvg-convert nor chromium is here" >&2
        exit 1
    }
    height=$(python3 - "$folder/plan.svg" "$width" <<'PY'
import re
import sys

wide, high = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', open(sys.argv[1], encoding="utf-8").read()).groups()
print(round(int(sys.argv[2]) * float(high) / float(wide)))
PY
    )
    "$browser" --headless --no-sandbox --hide-scrollbars --window-size="$width,$height" \
        --screenshot="$png" "file://$folder/plan.svg" >/dev/null 2>&1
fi

if command -v pngquant >/dev/null; then
    pngquant --force --strip --output "$png" 128 "$png"
fi
