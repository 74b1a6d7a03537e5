#!/usr/bin/env python3
"""Solves every station of a swardline output again with EPANET, from the written layers alone.

  python tests/reference/solve_again.py OUT [--keep FOLDER]     ends with 1 where the two do not agree

The network is rebuilt from `nodes`, `mains`, `laterals`, `heads` and the pressure at the source in `design.json`: pipes by
Hazen-Williams with their fittings, valves by their loss or the pressure they hold, heads as emitters behind riser and joint.
Then pressure at every node and flow at every head are compared. Solver: EPANET 2.3 (public domain; Rossman et al. 2020,
EPA/600/R-20/133), through the package owa-epanet.
"""
import argparse
import json
import math
import pathlib
import sys
import tempfile
import warnings

from epanet import toolkit

KPA_PER_METRE = 9.80665
GRAVITY_M_S2 = 9.80665
# A stub stands for riser and joint, or for a valve: all its loss is local.
STUB_MM = 50.0
STUB_M = 0.001
STUB_C = 150.0
# Written lengths are rounded up to a millimetre and EPANET's constants to four digits; more than this is a difference.
MOST_KPA = 0.15
MOST_FLOW_SHARE = 0.001


def layer(folder, name):
    text = (folder / "layers" / f"{name}.geojson").read_text(encoding="utf-8")
    return [feature["properties"] for feature in json.loads(text)["features"]]


def stub_k(loss_kpa, flow_lpm):
    """Loss coefficient with which a stub loses `loss_kpa` at `flow_lpm`."""
    velocity_m_s = flow_lpm / 60_000 / (math.pi / 4 * (STUB_MM / 1000) ** 2)
    return loss_kpa / KPA_PER_METRE * 2 * GRAVITY_M_S2 / velocity_m_s**2


class Parcel:
    """What the files of one parcel say of its pipes."""

    def __init__(self, folder):
        self.figures = json.loads((folder / "design.json").read_text(encoding="utf-8"))
        self.nodes = {node["id"]: node for node in layer(folder, "nodes")}
        self.mains = layer(folder, "mains")
        self.laterals = layer(folder, "laterals")
        self.heads = layer(folder, "heads")

    def source(self):
        return self.figures["supply"]["node"]


class Model:
    """An EPANET input file for one station. Names are numbers: EPANET allows no long ones."""

    def __init__(self, parcel, station):
        self.parcel, self.station = parcel, station
        self.names = {}
        # Heights above the source: EPANET loses digits where heads are large and pipes stand still.
        self.base_m = parcel.nodes[parcel.source()]["invert_m"]
        self.rows = {key: [] for key in ("JUNCTIONS", "RESERVOIRS", "PIPES", "VALVES", "EMITTERS")}
        self.heads = [head for head in parcel.heads if head["station"] == station["id"]]
        # Mains that stand still are left out: nothing is lost in them, and EPANET balances badly what does not flow.
        flowing = {main["pipe"] for main in station["mains"]}
        self.mains = [pipe for pipe in parcel.mains if pipe["id"] in flowing]
        self.laterals = [pipe for pipe in parcel.laterals if pipe["station"] == station["id"]]
        self.ends = {pipe[end] for pipe in self.mains + self.laterals for end in ("from_node", "to_node")}
        self.add_nodes()
        self.add_pipes()
        self.add_valve()
        for head in self.heads:
            self.add_head(head)

    def name(self, key):
        return self.names.setdefault(key, f"n{len(self.names)}")

    def add(self, section, *cells):
        self.rows[section].append(" ".join(str(cell) for cell in cells))

    def junction(self, key, height_m):
        self.add("JUNCTIONS", self.name(key), repr(height_m - self.base_m), 0)

    def add_nodes(self):
        source = self.parcel.source()
        for node in self.parcel.nodes.values():
            if node["id"] not in self.ends:
                continue
            if node["id"] == source:
                self.add("RESERVOIRS", self.name(source), repr(self.station["source_kpa"] / KPA_PER_METRE))
            else:
                self.junction(node["id"], node["invert_m"])

    def add_pipes(self):
        valve = self.station["valve_node"]
        for pipe in self.mains:
            # The main ends before the valve, the laterals begin behind it.
            start, end = (("before", n) if n == valve else n for n in (pipe["from_node"], pipe["to_node"]))
            self.pipe(pipe, start, end)
        for pipe in self.laterals:
            self.pipe(pipe, pipe["from_node"], pipe["to_node"])

    def pipe(self, pipe, start, end):
        self.add("PIPES", self.name(("pipe", pipe["id"])), self.name(start), self.name(end), pipe["length_m"],
                 pipe["inside_mm"], pipe["roughness_c"], pipe["minor_k"], "Open")

    def stub(self, key, start, end, k):
        self.add("PIPES", self.name(key), self.name(start), self.name(end), STUB_M, STUB_MM, STUB_C, repr(k), "Open")

    def add_valve(self):
        station, valve = self.station, self.station["valve_node"]
        height_m = self.parcel.nodes[valve]["invert_m"]
        before = ("before", valve)
        if valve == self.parcel.source():
            raise ValueError("a valve at the source itself is not foreseen here")
        self.junction(before, height_m)
        if station["regulated_kpa"] is None:
            self.stub("valve", before, valve, stub_k(station["valve_loss_kpa"], station["flow_lpm"]))
        else:
            held_m = station["regulated_kpa"] / KPA_PER_METRE
            self.add("VALVES", self.name("valve"), self.name(before), self.name(valve), STUB_MM, "PRV", repr(held_m), 0)

    def add_head(self, head):
        nozzle = ("nozzle", head["id"])
        self.junction(nozzle, head["ground_m"])
        self.stub(("joint", head["id"]), head["node"], nozzle, stub_k(head["joint_loss_kpa"], head["joint_flow_lpm"]))
        reference_m = head["pressure_ref_kpa"] / KPA_PER_METRE
        coefficient = head["flow_ref_lpm"] / reference_m ** head["flow_exponent"]
        self.add("EMITTERS", self.name(nozzle), repr(coefficient))

    def text(self):
        exponents = {head["flow_exponent"] for head in self.heads}
        if len(exponents) != 1:
            raise ValueError(f"EPANET knows one exponent a network, this station has {sorted(exponents)}")
        parts = [f"[{key}]\n" + "\n".join(rows) for key, rows in self.rows.items()]
        options = ["Units LPM", "Headloss H-W", f"Emitter Exponent {exponents.pop()}", "Accuracy 0.00001", "Trials 500"]
        return "\n".join(parts) + "\n[OPTIONS]\n" + "\n".join(options) + "\n[TIMES]\nDuration 0\n[END]\n"


def solve(text, folder):
    """Pressure (kPa) by node and flow (L/min) by link, as EPANET finds them."""
    files = [str(folder / f"station.{end}") for end in ("inp", "rpt", "out")]
    pathlib.Path(files[0]).write_text(text, encoding="utf-8")
    project = toolkit.createproject()
    try:
        toolkit.open(project, *files)
        # EPANET warns of a network it could not balance; then there is nothing to compare with.
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            toolkit.solveH(project)
        nodes = range(1, toolkit.getcount(project, toolkit.NODECOUNT) + 1)
        links = range(1, toolkit.getcount(project, toolkit.LINKCOUNT) + 1)
        pressure = {toolkit.getnodeid(project, i): toolkit.getnodevalue(project, i, toolkit.PRESSURE) * KPA_PER_METRE
                    for i in nodes}
        flow = {toolkit.getlinkid(project, i): toolkit.getlinkvalue(project, i, toolkit.FLOW) for i in links}
        return pressure, flow
    finally:
        toolkit.close(project)
        toolkit.deleteproject(project)


def differences(parcel, station, model, pressure, flow):
    """What is compared, how far it is off, and how far it may be."""
    for node in parcel.nodes.values():
        if node["station"] == station["id"] and node["pressure_kpa"] is not None:
            yield node["id"], node["pressure_kpa"] - pressure[model.name(node["id"])], MOST_KPA
    before = ("before", station["valve_node"])
    yield "before the valve", station["valve_in_kpa"] - pressure[model.name(before)], MOST_KPA
    for head in model.heads:
        yield f"nozzle of {head['id']}", head["pressure_kpa"] - pressure[model.name(("nozzle", head["id"]))], MOST_KPA
        solved_lpm = flow[model.name(("joint", head["id"]))]
        yield f"flow of {head['id']} (share)", head["flow_lpm"] / solved_lpm - 1, MOST_FLOW_SHARE


def check(folder, scratch):
    """Number of comparisons, and lines about those that fail."""
    parcel = Parcel(folder)
    compared, wrong, worst_kpa = 0, [], 0.0
    for station in parcel.figures["stations"]:
        model = Model(parcel, station)
        pressure, flow = solve(model.text(), scratch)
        for what, off, most in differences(parcel, station, model, pressure, flow):
            compared += 1
            if most == MOST_KPA:
                worst_kpa = max(worst_kpa, abs(off))
            if not abs(off) <= most:
                wrong.append(f"{folder.name}: {station['id']}: {what}: off by {off:.4f}")
    return compared, wrong, worst_kpa


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("out", type=pathlib.Path)
    arguments.add_argument("--keep", type=pathlib.Path, help="folder for the last EPANET input and report")
    asked = arguments.parse_args()
    folders = sorted(path.parent for path in asked.out.glob("parcels/*/design.json"))
    if not folders:
        sys.exit(f"no parcels in {asked.out}")
    total, failures = 0, []
    with tempfile.TemporaryDirectory() as temporary:
        scratch = asked.keep or pathlib.Path(temporary)
        scratch.mkdir(parents=True, exist_ok=True)
        for folder in folders:
            compared, wrong, worst_kpa = check(folder, scratch)
            total += compared
            failures += wrong
            print(f"{folder.name:20} {compared:6} compared  {len(wrong):4} differ  greatest {worst_kpa:.3f} kPa")
    for line in failures[:40]:
        print(line)
    print(f"{total} values of {len(folders)} parcels compared with EPANET: {len(failures)} differ")
    # With nothing compared nothing was shown.
    sys.exit(1 if failures or total == 0 else 0)


if __name__ == "__main__":
    main()
