"""How long states and the network solve take, and whether hard networks settle: prints, asserts nothing.

    python tests/bench/solve.py [--seeds 1000]
"""

import argparse
import random
import sys
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[1]), str(Path(__file__).resolve().parents[2])]

from networks import head_pump, random_pairs, rough_network, tube  # noqa: E402
from systems import system  # noqa: E402

from schemagen.base.bad_input import BadInput  # noqa: E402
from schemagen.operation.hydraulics import solve  # noqa: E402
from schemagen.operation.links import Link  # noqa: E402
from schemagen.operation.operate import operate  # noqa: E402
from schemagen.pipeline import read  # noqa: E402
from schemagen.sizing.design import Design  # noqa: E402
from schemagen.sizing.plant import Plant  # noqa: E402

ROOT = Path(__file__).resolve().parents[2]


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--seeds", type=int, default=1000)
    seeds = options.parse_args().seeds
    _hard_networks(seeds)
    _large_network()
    _houses()
    _zones()
    _worked_house()


def _hard_networks(seeds: int) -> None:
    failed, steps, began = [], 0, time.perf_counter()
    for seed in range(seeds):
        try:
            steps = max(steps, solve(rough_network(seed), {"b0n0": 1e5}).steps)
        except BadInput as bad:
            failed.append((seed, str(bad)))
    took = time.perf_counter() - began
    print(f"{seeds} hard networks: {len(failed)} failed, at most {steps} steps, {1e3 * took / seeds:.1f} ms each")
    for seed, why in failed:
        print(f"  seed {seed}: {why}")


def _large_network() -> None:
    r = random.Random(5)
    pairs = random_pairs(r, 1400, 599)
    links = [Link(f"l{i}", a, b, tube(r.uniform(1, 20), 20.2, 2)) for i, (a, b) in enumerate(pairs)]
    links.append(Link("pump", "n1399", "n0", head_pump(6, 10)))
    print(f"{len(links)} links: {_fastest(lambda: solve(links, {'n0': 1e5})):.3f} s for one state")


def _houses() -> None:
    for seed in range(3):
        network, waters = system(seed, 40)

        def run(network=network, waters=waters):
            operation = operate(network)
            flows = [operation.flow(state) for state in operation.states]
            design = Design(Plant(network, waters, operation))
            return flows, [design.real(state) for state in operation.states]

        count = len(operate(network).states)
        print(f"house of {len(network.parts)} parts, {count} states, flows and design: {_fastest(run):.3f} s")


def _zones(zones: int = 20) -> None:
    from fragments import built

    parts = ["system-boiler B1 output: 40 kW", *(f"tee T{n}; tee U{n}" for n in range(1, zones + 1))]
    pipes = ["B1.flow - T1.a", "U1.a - B1.return"]
    for n in range(1, zones + 1):
        parts.append(f"zone-valve Z{n}; heating-zone H{n} output: 2 kW; room-thermostat A{n} switches: Z{n}, B1")
        pipes.append(f"T{n}.branch - Z{n}.in; Z{n}.out - H{n}.in; H{n}.out - U{n}.branch")
        pipes.append(f"T{n}.b - T{n + 1}.a; U{n + 1}.a - U{n}.b" if n < zones else f"T{n}.b - U{n}.b")
    network = built(f"parts: {'; '.join(parts)}\npipes: {'; '.join(pipes)}").network

    def run():
        operation = operate(network)
        return [operation.flow(state) for state in operation.states]

    states = operate(network).states
    alike = sum(len(s.alike) for s in states)
    print(f"{zones} zone valves: {len(states)} states told, {alike} merged, {_fastest(run):.3f} s")


def _worked_house() -> None:
    job = read(ROOT / "tests/worked/house.yaml")

    def run():
        operation = operate(job.network)
        design = Design(Plant(job.network, job.waters, operation))
        return [design.real(state) for state in operation.states]

    print(f"worked house, {len(job.states)} states, each solved as a real network: {_fastest(run):.3f} s")


def _fastest(run, times: int = 3) -> float:
    """The shortest of a few runs [s]."""
    took = []
    for _ in range(times):
        began = time.perf_counter()
        run()
        took.append(time.perf_counter() - began)
    return min(took)


if __name__ == "__main__":
    main()
