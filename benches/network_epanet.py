"""Times of whole networks against EPANET, in one run on one machine.

Run: python3 benches/network_epanet.py        (needs: pip install owa-epanet)

Both sides solve the same networks from nothing, again and again; medians are told. Ours is the whole of `solve`: check,
order, iteration to 1e-9 m³/s and 1e-6 m, memory taken and given back. Of EPANET four parts are told apart: reading its
file (`open`, not counted), `openH` (its ordering and memory), `initH` with `runH` (the iteration), and `solveH`, its
steady solve: all of these, its results put into a file of its own, and memory given back. Ratios are those of the
iteration alone, which favours EPANET; with `openH`, which is what ours does; and of `solveH`. Its accuracy is once its
default of 0.001, in its favour, and once as tight as ours.
"""

import json
import pathlib
import statistics
import subprocess
import tempfile
import time

from epanet import toolkit as en

BENCH = ["cargo", "bench", "--quiet", "--locked", "--bench", "network", "--"]
TIMES = 101


class Solved:
    """One network, solved again and again by EPANET."""

    def __init__(self, path, tight):
        self.project = en.createproject()
        start = time.perf_counter()
        en.open(self.project, str(path), str(path) + ".rpt", "")
        self.read_s = time.perf_counter() - start
        en.setoption(self.project, en.EMITBACKFLOW, 0)
        en.setoption(self.project, en.TRIALS, 500)
        if tight:
            en.setoption(self.project, en.ACCURACY, 1e-7)
            en.setoption(self.project, en.HEADERROR, 1e-6)
        rounds = [self.once() for _ in range(TIMES)]
        self.open_s, self.run_s = (statistics.median(part) for part in zip(*rounds))
        en.closeH(self.project)
        self.solve_s = statistics.median(self.whole() for _ in range(TIMES))
        self.once()
        self.steps = int(en.getstatistic(self.project, en.ITERATIONS))
        self.heads = {
            int(en.getnodeid(self.project, i)): en.getnodevalue(self.project, i, en.HEAD)
            for i in range(1, en.getcount(self.project, en.NODECOUNT) + 1)
        }
        en.closeH(self.project)
        en.close(self.project)
        en.deleteproject(self.project)

    def once(self):
        """Seconds of `openH`, and of `initH` and `runH`."""
        try:
            en.closeH(self.project)
        except Exception:  # the first time nothing is open
            pass
        start = time.perf_counter()
        en.openH(self.project)
        opened = time.perf_counter()
        en.initH(self.project, en.INITFLOW)
        en.runH(self.project)
        return opened - start, time.perf_counter() - opened

    def whole(self):
        """Seconds of `solveH`."""
        start = time.perf_counter()
        en.solveH(self.project)
        return time.perf_counter() - start

    def off_m(self, ours):
        """Greatest difference in head; EPANET rounds its constants by up to 1e-3 of a loss."""
        return max(abs(self.heads[node] - head) for node, head in enumerate(ours["heads_m"]))


def main():
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        root = pathlib.Path(__file__).parent.parent
        subprocess.run([*BENCH, "write", str(folder)], check=True, cwd=root)
        told = json.loads((folder / "ours.json").read_text())
        print("milliseconds, medians;         ours | EPANET: read  openH   runH  solveH | times as fast: runH  with openH  solveH")
        for number, ours in enumerate(told):
            print(f"{ours['name']}: {ours['steps']} steps, {ours['head_residual_m']:.0e} m")
            for tight in (False, True):
                solved = Solved(folder / f"{number}.inp", tight)
                name = "accuracy 1e-7" if tight else "accuracy 0.001"
                own, run, whole = ours["seconds"], solved.run_s, solved.solve_s
                both = solved.open_s + run
                print(
                    f"  {name:15} {solved.steps:3} steps {1e3 * own:10.3f} | {1e3 * solved.read_s:12.3f} "
                    f"{1e3 * solved.open_s:6.3f} {1e3 * run:6.3f} {1e3 * whole:7.3f} | {run / own:19.1f} {both / own:11.1f} {whole / own:7.1f}"
                    f"   heads within {solved.off_m(ours):.4f} m"
                )


main()
