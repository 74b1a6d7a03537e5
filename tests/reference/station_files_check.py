#!/usr/bin/env python3
"""Opens every station's EPANET file as it was handed over, solves it, and compares with the layers.

    python3 tests/reference/station_files_check.py OUT [--limit-kpa 0.05]

For each parcel under OUT/parcels: every node of the laterals, every head's nozzle and flow, the pressure at the source,
before the valve, and on the mains. A node of the mains tells the station that leaves least on it, so the least over all
stations whose way leads through it is compared. Prints the worst difference of each parcel; leaves with 1 where it
exceeds the limit, where a station has no file, or where nothing at all was compared.

Needs `pip install owa-epanet`. Nothing is set in EPANET but what the files say.
"""

import argparse
import json
import sys
import tempfile
from pathlib import Path

from epanet import toolkit as en

KPA_PER_METRE = 9.80665
TRIALS = 500  # as the files say


def layer(folder, name):
    features = json.loads((folder / "layers" / f"{name}.geojson").read_text())["features"]
    return [feature["properties"] for feature in features]


def solved(path):
    """Pressure (kPa) and outflow (L/min) of every node by EPANET."""
    project = en.createproject()
    with tempfile.TemporaryDirectory() as place:
        en.open(project, str(path), str(Path(place) / "report.rpt"), "")
        en.solveH(project)
        if en.getstatistic(project, en.ITERATIONS) > TRIALS:
            raise RuntimeError(f"EPANET does not come to rest on {path.name}")
        nodes = range(1, en.getcount(project, en.NODECOUNT) + 1)
        found = {
            en.getnodeid(project, i): (
                en.getnodevalue(project, i, en.PRESSURE) * KPA_PER_METRE,
                en.getnodevalue(project, i, en.DEMAND),
            )
            for i in nodes
        }
        en.close(project)
    en.deleteproject(project)
    return found


class Worst:
    """The greatest difference met, and how many were looked at."""

    def __init__(self):
        self.kpa, self.lpm, self.where, self.count = 0.0, 0.0, "", 0

    def pressure(self, where, ours, theirs):
        self.count += 1
        off = abs(ours - theirs)
        # Written so that "not a number" counts as a difference.
        if not off <= self.kpa:
            self.kpa, self.where = off, f"{where}: {ours:.4f} ours, {theirs:.4f} EPANET"

    def flow(self, ours, theirs):
        off = abs(ours - theirs)
        if not off <= self.lpm:
            self.lpm = off


def check(folder, worst):
    design = json.loads((folder / "design.json").read_text())
    nodes = layer(folder, "nodes")
    heads = layer(folder, "heads")
    mains = {pipe["id"]: pipe for pipe in layer(folder, "mains")}
    valves = {station["valve_node"] for station in design["stations"]}
    source = design["supply"]["node"] if design["stations"] else None
    least = {}
    for station in design["stations"]:
        path = folder / "networks" / f"{station['id']}.inp"
        theirs = solved(path)
        for node in nodes:
            if node["station"] == station["id"]:
                worst.pressure(f"{path.stem} {node['id']}", node["pressure_kpa"], theirs[node["id"]][0])
        for head in heads:
            if head["station"] == station["id"]:
                pressure, outflow = theirs[head["id"]]
                worst.pressure(f"{path.stem} {head['id']}", head["pressure_kpa"], pressure)
                air = theirs.get(f"air-{head['id']}")
                worst.flow(head["flow_lpm"], air[1] if air else outflow)
        before = station["valve_node"] + "-in"
        worst.pressure(f"{path.stem} {before}", station["valve_in_kpa"], theirs[before][0])
        at_source = source + "-in" if source in valves else source
        worst.pressure(f"{path.stem} {source}", station["source_kpa"], theirs[at_source][0])
        way = {mains[main["pipe"]][end] for main in station["mains"] for end in ("from_node", "to_node")}
        for node in sorted(way - valves):
            least[node] = min(least.get(node, float("inf")), theirs[node][0])
    for node in nodes:
        if node["id"] in least:
            worst.pressure(f"main {node['id']}", node["pressure_kpa"], least[node["id"]])


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("out", type=Path)
    parser.add_argument("--limit-kpa", type=float, default=0.05)
    parser.add_argument("--limit-lpm", type=float, default=0.005)
    arguments = parser.parse_args()
    compared, bad = 0, 0
    for folder in sorted(path.parent for path in arguments.out.glob("parcels/*/design.json")):
        worst = Worst()
        try:
            check(folder, worst)
        except Exception as problem:  # EPANET's own errors have no class of their own
            bad += 1
            print(f"{folder.name}: NOT CHECKED: {problem!r}")
            continue
        compared += worst.count
        beyond = not (worst.kpa <= arguments.limit_kpa and worst.lpm <= arguments.limit_lpm)
        bad += beyond
        print(
            f"{folder.name}: {worst.count} pressures, worst {worst.kpa:.5f} kPa, {worst.lpm:.6f} L/min,"
            f" {'TOO FAR' if beyond else 'ok'} {worst.where}"
        )
    if compared == 0:
        print("nothing was compared", file=sys.stderr)
    sys.exit(1 if bad or compared == 0 else 0)


if __name__ == "__main__":
    main()
