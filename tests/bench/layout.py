"""Measures our layout beside general graph-drawing engines, on the same networks, with one meter, in one run.

    python tests/bench/layout.py [--elk FOLDER] [--seeds N] [--sizes 40 80] [--grow]

--elk FOLDER   a folder that holds node_modules/elkjs (npm install elkjs)
--seeds N      also N seeded systems of each size
--grow         time and memory of our own layout from 200 to 20,000 parts
Crossings, bends per pipe, straight share, hard faults, area in thousands of square modules, seconds in process.
"""

import argparse
import math
import resource
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(ROOT / "tests" / "bench")]

import peers  # noqa: E402
from plan_audit import Audit, audit  # noqa: E402
from systems import system  # noqa: E402

from schemagen.layout.lay_out import lay_out  # noqa: E402
from schemagen.network.network import Network  # noqa: E402
from schemagen.pipeline import read  # noqa: E402
from schemagen.routing.route import route  # noqa: E402

ENGINES = ("ours", "dot-ortho", "dot-captions", "elkjs")


def ours(network, waters):
    start = time.perf_counter()
    plan = route(lay_out(network, waters), network, waters)
    return plan, time.perf_counter() - start


def only_wet(network: Network) -> Network:
    tags = peers.wet(network)
    return Network(network.name, network.sheet, {t: network.parts[t] for t in tags}, network.pipes)


def row(name: str, engine: str, a: Audit, seconds: float) -> str:
    return (
        f"{name:<34} {engine:<12} crossings {a.crossings:4}  bends/pipe {a.bends_per_pipe:.2f}"
        f"  straight {a.straight_share:.2f}  faults {len(a.faults):4}  area {a.area / 100_000:7.1f}  {seconds:.2f} s"
    )


def compare(systems, modules) -> None:
    totals = {engine: [0, 0, 0, 0, 0, 0] for engine in ENGINES}
    for name, network, waters in systems:
        network = only_wet(network)
        runs = {
            "ours": ours(network, waters),
            "dot-ortho": peers.dot(network, waters, captions=False),
            "dot-captions": peers.dot(network, waters, captions=True),
            "elkjs": peers.elk(network, waters, modules),
        }
        for engine, run in runs.items():
            if run is None:
                print(f"{name:<34} {engine:<12} absent")
                continue
            a = audit(network, run[0])
            print(row(name, engine, a, run[1]))
            for i, v in enumerate((a.crossings, a.bends, a.pipes, a.straight, len(a.faults), a.area)):
                totals[engine][i] += v
    for engine, (crossings, bends, pipes, straight, faults, area) in totals.items():
        if pipes:
            print(
                f"{'total':<34} {engine:<12} crossings {crossings:4}  bends/pipe {bends / pipes:.2f}"
                f"  straight {straight / pipes:.2f}  faults {faults:4}  area {area / 100_000:7.1f}"
            )


def grow() -> None:
    earlier = None
    for size in (200, 1000, 5000, 20_000):
        network, waters = system(1, size)
        _, seconds = ours(network, waters)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        power = ""
        if earlier is not None:
            power = f"  growth N^{math.log(seconds / earlier[1]) / math.log(size / earlier[0]):.2f}"
        print(f"{len(network.parts):6} parts  {seconds:7.2f} s  {memory:6.0f} MB{power}")
        earlier = size, seconds


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--elk", type=Path)
    arguments.add_argument("--seeds", type=int, default=0)
    arguments.add_argument("--sizes", type=int, nargs="*", default=[40, 80])
    arguments.add_argument("--grow", action="store_true")
    given = arguments.parse_args()
    jobs = ((path.name, read(path)) for path in sorted((ROOT / "examples").iterdir()) if path.name[:2].isdigit())
    systems = [(name, job.network, job.waters) for name, job in jobs]
    systems += [
        (f"seed {seed}, {size} parts", *system(seed, size))
        for size in given.sizes
        for seed in range(1, given.seeds + 1)
    ]
    compare(systems, given.elk)
    if given.grow:
        grow()


if __name__ == "__main__":
    main()
