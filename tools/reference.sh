#!/usr/bin/env bash
# Designs the sample campus, solves every station again with EPANET (rebuilt from the layers, and as its own file), counts
# the take-off again from the layers, opens the pages in a browser and the layers in a GIS.
set -euo pipefail

out=out/reference
tools/python.sh || exit 0

# Parcels that fail are no matter here; their stations are not there to be compared.
status=0
target/release/swardline design sample-parcels/project.toml --out "$out" --networks --quiet || status=$?
[ "$status" -le 1 ] || exit "$status"
target/python/bin/python tests/reference/epanet_check.py "$out" --limit-kpa 0.05
target/python/bin/python tests/reference/station_files_check.py "$out" --limit-kpa 0.05
target/python/bin/python tests/reference/takeoff_recount.py "$out"
tools/report_check.sh "$out"
tools/gis_check.sh "$out"
