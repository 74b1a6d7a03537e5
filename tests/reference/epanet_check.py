#!/usr/bin/env python3
"""Rebuilds every station from the layers that were handed over and solves it again in EPANET.

    python3 tests/reference/epanet_check.py OUT [--limit-kpa 0.1]

For each parcel under OUT/parcels: the laterals from the valve's node outwards with every head as an emitter, and the
mains from the source to the valve. Then each set of stations that the peak day opens at once, as one network from the
source to every head: its least margin in kPa and its flow in L/min, to the same number. Prints the worst difference of each parcel; leaves with 1 where it exceeds the
limit, where figures are missing, or where nothing at all could be compared.

Needs `pip install owa-epanet`. EPANET rounds its cubic foot, so a relative 1e-5 of each pipe's loss is expected; what it
rounds in fittings is made good by telling it as much more.
"""

import argparse
import json
import math
import sys
import tempfile
from collections import Counter
from pathlib import Path

from epanet import toolkit as en

KPA_PER_METRE = 9.80665
# EPANET takes 0.02517 K q^2/d^4 in feet for 8 K q^2/(pi^2 g d^4).
FITTING_SCALE = 8.0 / (math.pi**2 * KPA_PER_METRE / 0.3048) / 0.02517
LPM_PER_LPS = 60.0

EPANET_VISCOSITY = 1.1e-5 * 0.3048**2  # of water at 20 C, m2/s
EPANET_GRAVITY = 32.2 * 0.3048

OPTIONS = """[OPTIONS]
 UNITS LPS
 TRIALS 500
 ACCURACY 0.00001
 HEADERROR 0.0000001
 FLOWCHANGE 0.0000001
 EMITTER EXPONENT 0.5
[TIMES]
 DURATION 0
[REPORT]
 STATUS NO
 SUMMARY NO
[END]
"""


class Missing(Exception):
    """A figure that the layers should hold and do not."""


def figure(properties, name):
    value = properties.get(name)
    if value is None:
        raise Missing(f"{properties.get('layer')} {properties.get('id')}: no {name}")
    return float(value)


def layer(folder, name):
    path = folder / "layers" / f"{name}.geojson"
    if not path.exists():
        return []
    features = json.loads(path.read_text())["features"]
    return [feature["properties"] for feature in features]


class HazenWilliams:
    """Friction as EPANET itself has it."""

    options = " HEADLOSS H-W"
    smooth = 150.0

    def roughness(self, pipe):
        return figure(pipe, "roughness_c")

    def length_m(self, pipe, _flow_lps):
        return figure(pipe, "length_m")


class DarcyWeisbach:
    """Colebrook's factor; EPANET has Swamee and Jain's, and its own gravity, so lengths are fitted to the flows found."""

    def __init__(self, viscosity_m2_s):
        self.viscosity = viscosity_m2_s
        self.smooth = 0.0015
        self.options = f" HEADLOSS D-W\n VISCOSITY {viscosity_m2_s / EPANET_VISCOSITY!r}"

    def roughness(self, pipe):
        return figure(pipe, "roughness_mm")

    def length_m(self, pipe, flow_lps):
        inside_m = figure(pipe, "inside_mm") / 1e3
        rough = figure(pipe, "roughness_mm") / 1e3 / inside_m
        reynolds = max(4e-3 * abs(flow_lps) / (math.pi * inside_m * self.viscosity), 1e-6)
        ours = factor(reynolds, rough, colebrook)
        theirs = factor(reynolds, rough, swamee_jain)
        return figure(pipe, "length_m") * ours / theirs * EPANET_GRAVITY / KPA_PER_METRE


def swamee_jain(reynolds, rough):
    return 0.25 / math.log10(rough / 3.7 + 5.74 / reynolds**0.9) ** 2


def colebrook(reynolds, rough):
    """By fixed point: each step gains a digit and more."""
    root = 1.0 / math.sqrt(swamee_jain(reynolds, rough))
    for _ in range(40):
        root = -2.0 * math.log10(rough / 3.7 + 2.51 * root / reynolds)
    return 1.0 / root**2


def factor(reynolds, rough, turbulent):
    """Laminar to 2000, turbulent from 4000, between them the cubic that meets value and slope of both (Dunlop)."""
    if reynolds <= 2000.0:
        return 64.0 / reynolds
    if reynolds >= 4000.0:
        return turbulent(reynolds, rough)
    t, width = (reynolds - 2000.0) / 2000.0, 2000.0
    f0, s0 = 64.0 / 2000.0, -64.0 / 2000.0**2 * width
    f1 = turbulent(4000.0, rough)
    s1 = (turbulent(4000.04, rough) - turbulent(3999.96, rough)) / 0.08 * width
    cubic, square = 2.0 * (f0 - f1) + s0 + s1, 3.0 * (f1 - f0) - 2.0 * s0 - s1
    return f0 + t * (s0 + t * (square + t * cubic))


def law_of(design):
    """The law that design.json tells."""
    told = design["friction"]
    if told["law"] == "hazen_williams":
        return HazenWilliams()
    if told["law"] == "darcy_weisbach" and told["factor"] == "colebrook":
        return DarcyWeisbach(float(told["viscosity_m2_s"]))
    raise Missing(f"unknown law of friction: {told}")


class Model:
    """One network in EPANET: node and pipe ids of the layers, numbered for EPANET."""

    def __init__(self, law):
        self.law = law
        self.pipes = []
        self.numbers = {}
        self.sections = {"RESERVOIRS": [], "JUNCTIONS": [], "EMITTERS": [], "PIPES": [], "VALVES": []}

    def add_reservoir(self, node, head_m):
        self.numbers[node] = f"N{len(self.numbers)}"
        self.sections["RESERVOIRS"].append(f"{self.numbers[node]} {head_m!r}")

    def add_junction(self, node, elevation_m, demand_lps=0.0):
        self.numbers[node] = f"N{len(self.numbers)}"
        self.sections["JUNCTIONS"].append(f"{self.numbers[node]} {elevation_m!r} {demand_lps!r}")

    def add_emitter(self, node, coefficient):
        self.sections["EMITTERS"].append(f"{self.numbers[node]} {coefficient!r}")

    def add_pipe(self, pipe):
        ends = [self.numbers[pipe[end]] for end in ("from_node", "to_node")]
        length_m = max(figure(pipe, "length_m"), 1e-4)
        self.sections["PIPES"].append(
            f"P{len(self.pipes)} {ends[0]} {ends[1]} {length_m!r} "
            f"{figure(pipe, 'inside_mm')!r} {self.law.roughness(pipe)!r} {FITTING_SCALE * figure(pipe, 'minor_k')!r} OPEN"
        )
        self.pipes.append(pipe)

    def add_joint(self, near, far):
        """A link that loses nothing: EPANET wants none of its regulators at a reservoir."""
        ends = f"{self.numbers[near]} {self.numbers[far]}"
        self.sections["PIPES"].append(f"J{len(self.sections['PIPES'])} {ends} 0.0001 1000 {self.law.smooth!r} 0 OPEN")

    def add_valve(self, near, far, loss_m, flow_lpm, held_m):
        """A valve that loses `loss_m` at a flow when open, and holds `held_m` behind it where it regulates."""
        velocity = flow_lpm / LPM_PER_LPS / 1e3 / (math.pi * 0.1**2 / 4)
        minor = FITTING_SCALE * loss_m * 2 * KPA_PER_METRE / velocity**2
        ends = f"{self.numbers[near]} {self.numbers[far]}"
        what = f"TCV {minor!r} 0" if held_m is None else f"PRV {held_m!r} {minor!r}"
        self.sections["VALVES"].append(f"V{len(self.sections['VALVES'])} {ends} 100 {what}")

    def text(self):
        parts = ["[TITLE]", "rebuilt from layers"]
        for name, lines in self.sections.items():
            parts += [f"[{name}]", *lines]
        return "\n".join(parts) + "\n" + OPTIONS.replace("UNITS LPS", f"UNITS LPS\n{self.law.options}")


class Solved:
    """The model opened and solved; closes with the block."""

    def __init__(self, model, folder):
        self.model, self.folder = model, Path(folder)

    def __enter__(self):
        path = self.folder / "station.inp"
        path.write_text(self.model.text())
        self.project = en.createproject()
        en.open(self.project, str(path), str(self.folder / "station.rpt"), "")
        en.setoption(self.project, en.EMITBACKFLOW, 0)  # a head draws nothing in
        en.solveH(self.project)
        return self

    def __exit__(self, *_):
        en.close(self.project)
        en.deleteproject(self.project)

    def index(self, node):
        return en.getnodeindex(self.project, self.model.numbers[node])

    def head_m(self, node):
        return en.getnodevalue(self.project, self.index(node), en.HEAD)

    def outflow_lpm(self, node):
        return en.getnodevalue(self.project, self.index(node), en.DEMAND) * LPM_PER_LPS

    def pressure_m(self, node):
        return en.getnodevalue(self.project, self.index(node), en.PRESSURE)

    def fit_length(self, number, pipe):
        """Sets a pipe's length by the law at the flow found; gives by how much it changed, relative."""
        index = en.getlinkindex(self.project, f"P{number}")
        flow_lps = en.getlinkvalue(self.project, index, en.FLOW)
        before = en.getlinkvalue(self.project, index, en.LENGTH)
        after = max(self.model.law.length_m(pipe, flow_lps), 1e-4)
        if abs(after / before - 1.0) > 1e-9:
            en.setlinkvalue(self.project, index, en.LENGTH, after)
        return abs(after / before - 1.0)

    def set_emitter(self, node, coefficient):
        en.setnodevalue(self.project, self.index(node), en.EMITTER, coefficient)


class HeadLaw:
    """A head: nozzle `q_ref (p/p_ref)^x` behind a joint whose loss grows with the square of the flow."""

    def __init__(self, head):
        self.flow_ref = figure(head, "flow_ref_lpm")
        self.pressure_ref = figure(head, "pressure_ref_kpa")
        self.exponent = figure(head, "flow_exponent")
        joint_flow = figure(head, "joint_flow_lpm")
        joint_loss = figure(head, "joint_loss_kpa")
        self.joint = joint_loss / joint_flow**2 if joint_flow > 0 else 0.0

    def nozzle_kpa(self, flow_lpm):
        return self.pressure_ref * (max(flow_lpm, 0.0) / self.flow_ref) ** (1.0 / self.exponent)

    def flow_lpm(self, node_kpa):
        """Flow at a pressure at ground level before the joint, by halving."""
        least, most = 0.0, self.flow_ref * (max(node_kpa, 0.0) / self.pressure_ref) ** self.exponent
        for _ in range(200):
            middle = 0.5 * (least + most)
            if self.nozzle_kpa(middle) + self.joint * middle**2 < node_kpa:
                least = middle
            else:
                most = middle
        return 0.5 * (least + most)

    def coefficient(self, node_m):
        """EPANET's emitter coefficient, L/s per √m, that gives this head's flow at a pressure."""
        node_m = max(node_m, 1e-3)
        return self.flow_lpm(node_m * KPA_PER_METRE) / LPM_PER_LPS / math.sqrt(node_m)


def without_dead_ends(pipes, kept):
    """Pipes without those that lead nowhere but to a dead end: nothing runs in them, and many of them keep EPANET from
    its accuracy (it warns, and is off by some centipascals and more)."""
    pipes = list(pipes)
    while True:
        met = Counter(pipe[end] for pipe in pipes for end in ("from_node", "to_node"))
        dead = {node for node, count in met.items() if count == 1} - kept
        left = [pipe for pipe in pipes if pipe["from_node"] not in dead and pipe["to_node"] not in dead]
        if len(left) == len(pipes):
            return pipes
        pipes = left


class Worst:
    """The greatest difference met, and how many were looked at."""

    def __init__(self):
        self.kpa, self.where, self.count = 0.0, "", 0

    def compare(self, where, ours_kpa, theirs_kpa):
        self.count += 1
        off = abs(ours_kpa - theirs_kpa)
        # Written so that "not a number" counts as a difference.
        if not off <= self.kpa:
            self.kpa, self.where = off, f"{where}: {ours_kpa:.4f} ours, {theirs_kpa:.4f} EPANET"


class Parcel:
    def __init__(self, folder):
        self.folder = folder
        self.design = json.loads((folder / "design.json").read_text())
        self.nodes = {node["id"]: node for node in layer(folder, "nodes")}
        self.heads = layer(folder, "heads")
        self.mains = layer(folder, "mains")
        self.law = law_of(self.design)
        self.laterals = layer(folder, "laterals")

    def check(self, worst):
        for station in self.design.get("stations") or []:
            self.check_laterals(station, worst)
            self.check_mains(station, worst)
        for together in (self.design.get("schedule") or {}).get("together") or []:
            self.check_together(together, worst)

    def invert_m(self, node):
        if node not in self.nodes:
            raise Missing(f"no node {node}")
        return figure(self.nodes[node], "invert_m")

    def check_laterals(self, station, worst):
        pipes = [pipe for pipe in self.laterals if pipe["station"] == station["id"]]
        heads = {head["node"]: head for head in self.heads if head["station"] == station["id"]}
        laws = {node: HeadLaw(head) for node, head in heads.items()}
        valve = station["valve_node"]
        ends = {pipe[end] for pipe in pipes for end in ("from_node", "to_node")}
        strays = (set(heads) - ends) | ({valve} & set(heads))
        if strays or not heads:
            raise Missing(f"station {station['id']}: heads not on its laterals: {sorted(map(str, strays))}")
        model = Model(self.law)
        model.add_reservoir(valve, self.invert_m(valve) + figure(self.nodes[valve], "pressure_kpa") / KPA_PER_METRE)
        for node in sorted(ends - {valve}, key=str):
            level = figure(heads[node], "ground_m") if node in heads else self.invert_m(node)
            model.add_junction(node, level)
            if node in heads:
                model.add_emitter(node, laws[node].coefficient(laws[node].pressure_ref / KPA_PER_METRE))
        for pipe in pipes:
            model.add_pipe(pipe)
        with tempfile.TemporaryDirectory() as place, Solved(model, place) as solved:
            settle(solved, laws)
            for node in sorted(ends - {valve}, key=str):
                theirs = (solved.head_m(node) - self.invert_m(node)) * KPA_PER_METRE
                worst.compare(f"node {node}", figure(self.nodes[node], "pressure_kpa"), theirs)
            for node, head in heads.items():
                theirs = laws[node].nozzle_kpa(solved.outflow_lpm(node))
                worst.compare(f"head {head['id']}", figure(head, "pressure_kpa"), theirs)

    def check_mains(self, station, worst):
        sources = [node["id"] for node in self.nodes.values() if node["kind"] == "source"]
        ends = {pipe[end] for pipe in self.mains for end in ("from_node", "to_node")}
        valve = station["valve_node"]
        used = [source for source in sources if source in ends or source == valve]
        if len(used) != 1:
            raise Missing(f"{len(used)} sources on the mains instead of one")
        source = used[0]
        if source == valve:
            worst.compare(f"valve {valve}", figure(station, "valve_in_kpa"), figure(station, "source_kpa"))
            return
        model = Model(self.law)
        model.add_reservoir(source, self.invert_m(source) + figure(station, "source_kpa") / KPA_PER_METRE)
        pipes = without_dead_ends(self.mains, {source, valve})
        ends = {pipe[end] for pipe in pipes for end in ("from_node", "to_node")}
        for node in sorted((ends | {valve}) - {source}, key=str):
            demand = figure(station, "flow_lpm") / LPM_PER_LPS if node == valve else 0.0
            model.add_junction(node, self.invert_m(node), demand)
        for pipe in pipes:
            model.add_pipe(pipe)
        with tempfile.TemporaryDirectory() as place, Solved(model, place) as solved:
            settle(solved, {})
            theirs = (solved.head_m(valve) - self.invert_m(valve)) * KPA_PER_METRE
            worst.compare(f"valve {valve}", figure(station, "valve_in_kpa"), theirs)


    def check_together(self, together, worst):
        stations = [station for station in self.design["stations"] if station["id"] in together["stations"]]
        if len(stations) != len(together["stations"]):
            raise Missing(f"stations {together['stations']} are not all there")
        model, laws, margins = Model(self.law), {}, {}
        source = next(node["id"] for node in self.nodes.values() if node["kind"] == "source")
        model.add_reservoir(source, self.invert_m(source) + figure(together, "source_kpa") / KPA_PER_METRE)
        ends = {pipe[end] for pipe in self.mains for end in ("from_node", "to_node")}
        for node in sorted(ends - {source}, key=str):
            model.add_junction(node, self.invert_m(node))
        for pipe in self.mains:
            model.add_pipe(pipe)
        for station in stations:
            self.add_station(model, station, source, laws, margins)
        with tempfile.TemporaryDirectory() as place, Solved(model, place) as solved:
            settle(solved, laws)
            flow = sum(solved.outflow_lpm(node) for node in laws)
            least = min(laws[node].nozzle_kpa(solved.outflow_lpm(node)) - margins[node] for node in laws)
            worst.compare(f"margin of {together['stations']}", figure(together, "pressure_least_margin_kpa"), least)
            worst.compare(f"flow of {together['stations']}", figure(together, "flow_lpm"), flow)

    def add_station(self, model, station, source, laws, margins):
        """Valve, laterals and heads; the node behind the valve is one of its own."""
        pipes = [pipe for pipe in self.laterals if pipe["station"] == station["id"]]
        heads = {head["node"]: head for head in self.heads if head["station"] == station["id"]}
        valve, before = station["valve_node"], station["valve_node"]
        behind = ("behind", valve)
        if valve == source:
            before = ("before", valve)
            model.add_junction(before, self.invert_m(valve))
            model.add_joint(source, before)
        model.add_junction(behind, self.invert_m(valve))
        held = station["regulated_kpa"]
        flow_lpm, loss_kpa = map(float, station["valve_open_lpm_kpa"])
        model.add_valve(before, behind, loss_kpa / KPA_PER_METRE, flow_lpm, None if held is None else held / KPA_PER_METRE)
        for node in sorted({pipe[end] for pipe in pipes for end in ("from_node", "to_node")} - {valve}, key=str):
            model.add_junction(node, figure(heads[node], "ground_m") if node in heads else self.invert_m(node))
        for node, head in heads.items():
            laws[node] = HeadLaw(head)
            margins[node] = figure(head, "pressure_min_kpa")
            model.add_emitter(node, laws[node].coefficient(laws[node].pressure_ref / KPA_PER_METRE))
        for pipe in pipes:
            at = {end: behind if pipe[end] == valve else pipe[end] for end in ("from_node", "to_node")}
            model.add_pipe({**pipe, **at})


def settle(solved, laws):
    """EPANET has one exponent for all emitters: other laws are met by adjusting coefficients to the pressures found.

    So are lengths of pipe, where the law of friction is not quite EPANET's.
    """
    for _ in range(100):
        moved = 0.0
        for node, law in laws.items():
            pressure = solved.pressure_m(node)
            index = solved.index(node)
            before = en.getnodevalue(solved.project, index, en.EMITTER)
            after = law.coefficient(pressure)
            moved = max(moved, abs(after / before - 1.0))
            solved.set_emitter(node, after)
        for number, pipe in enumerate(solved.model.pipes):
            moved = max(moved, solved.fit_length(number, pipe))
        if moved < 1e-7:
            return
        en.solveH(solved.project)
    raise Missing("EPANET's emitters and lengths could not be fitted to the design's laws")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("out", type=Path)
    parser.add_argument("--limit-kpa", type=float, default=0.1)
    arguments = parser.parse_args()
    compared, bad = 0, 0
    for folder in sorted(path.parent for path in arguments.out.glob("parcels/*/design.json")):
        worst = Worst()
        try:
            Parcel(folder).check(worst)
        except (Missing, KeyError, ZeroDivisionError) as problem:
            bad += 1
            print(f"{folder.name}: NOT CHECKED: {problem!r}")
            continue
        except Exception as problem:  # EPANET's own errors have no class of their own
            bad += 1
            print(f"{folder.name}: EPANET refused it: {problem}")
            continue
        compared += worst.count
        beyond = not worst.kpa <= arguments.limit_kpa
        bad += beyond
        verdict = "TOO FAR" if beyond else "ok"
        print(f"{folder.name}: {worst.count} pressures, worst {worst.kpa:.5f} kPa, {verdict} {worst.where}")
    if compared == 0:
        print("nothing was compared", file=sys.stderr)
    sys.exit(1 if bad or compared == 0 else 0)


if __name__ == "__main__":
    main()
