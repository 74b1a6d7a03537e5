#!/usr/bin/env bash
# Opens a finished output folder in QGIS, without a display: tools/gis_check.sh OUT
# Says so and ends well where QGIS cannot be had.
set -euo pipefail

can() { /usr/bin/python3 -c 'import qgis.core' 2>/dev/null; }
can || tools/packages.sh python3-qgis qgis-providers || true
if ! can; then
    echo "NOT CHECKED in a GIS: QGIS and its Python are not here and cannot be installed." >&2
    exit 0
fi
/usr/bin/python3 tests/reference/gis_check.py "$1"
