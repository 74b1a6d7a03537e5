#!/usr/bin/env bash
# Opens a finished output folder in QGIS, without a display: tools/gis_check.sh OUT
# Says so and ends well where QGIS cannot be had.
set -euo pipefail

# Whether QGIS starts at all.
can() { /usr/bin/python3 tests/reference/gis_check.py --starts >/dev/null 2>&1; }
can || tools/packages.sh python3-qgis qgis-providers || true
if ! can; then
    echo "NOT CHECKED in a GIS: QGIS and its Python are not here and cannot be installed." >&2
    exit 0
fi
/usr/bin/python3 tests/reference/gis_check.py "$1"
