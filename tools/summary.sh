#!/usr/bin/env bash
# Prints the columns of OUT/summary.csv that a person reads first, and where to look. Usage: tools/summary.sh OUT
set -euo pipefail
out=$1

# Names and messages may hold commas in quotes, so fields are split outside quotes only.
awk '
function fields(line,   n, i, c, quoted, text) {
    n = 1; text = ""; quoted = 0
    for (i = 1; i <= length(line); i++) {
        c = substr(line, i, 1)
        if (c == "\"") quoted = !quoted
        else if (c == "," && !quoted) { cell[n++] = text; text = "" }
        else text = text c
    }
    cell[n] = text
    return n
}
BEGIN { wanted = split("parcel status turf_ha heads stations du_median pressure_min_kpa trench_m drains peak_window_h cost warnings errors", show, " ") }
{ count = fields($0) }
NR == 1 { for (i = 1; i <= count; i++) at[cell[i]] = i }
{
    for (i = 1; i <= wanted; i++) {
        value = NR == 1 ? show[i] : (show[i] in at ? cell[at[show[i]]] : "")
        printf i == 1 ? "%-16s" : "%*s", i == 1 ? value : length(show[i]) + 2, value
    }
    printf "\n"
}' "$out/summary.csv"

echo
echo "Plan and report of each parcel:  $out/parcels/*/report.html (open in a browser)"
echo "Layers for any GIS viewer:       $out/parcels/*/design.gpkg and $out/parcels/*/layers/*.geojson"
echo "What needs a human eye:          the columns warnings, errors and first_finding of $out/summary.csv"
