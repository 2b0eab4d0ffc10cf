"""Counts, on seeded systems of 12 to 300 parts, what a drawing must never show.

    python tests/bench/never_faults.py [FIRST LAST] [--sheets N] [--at-once N]

The plan of each system is audited (parts and texts over each other, pipes through parts, on one line or too near …). Of
every Nth system the finished sheet, with its findings marked, is also read again from its SVG.
"""

import argparse
import random
import sys
from collections.abc import Sequence
from functools import partial
from multiprocessing import Pool
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

import never  # noqa: E402
from plan_audit import audit  # noqa: E402
from systems import job  # noqa: E402

from schemagen.output.as_svg import svg_text  # noqa: E402
from schemagen.pipeline import job_of  # noqa: E402


def faults_of(sheets: int, seed: int) -> tuple[int, int, Sequence[str]]:
    """The seed, the number of parts, and each fault; of every so many systems those on the sheet too."""
    made = job_of(job(seed, random.Random(seed).randint(12, 300)))
    found = [f"{what}: {where}" for what, where in audit(made.network, made.plan).faults]
    if seed % sheets == 0:
        found += [fault for sheet in made.sheets("fit") for fault in never.faults(svg_text(sheet))]
    return seed, len(made.network.parts), found


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("seeds", type=int, nargs="*", default=[0, 1000])
    arguments.add_argument("--sheets", type=int, default=10)
    arguments.add_argument("--at-once", type=int, default=1)
    given = arguments.parse_args()
    seeds = range(*given.seeds)
    parts = faulty = 0
    with Pool(given.at_once) as pool:
        for done, (seed, size, faults) in enumerate(pool.imap(partial(faults_of, given.sheets), seeds), 1):
            parts += size
            faulty += bool(faults)
            for fault in faults:
                print(f"system {seed}: {fault}", flush=True)
            if done % 100 == 0 or done == len(seeds):
                print(f"{done} systems, {parts} parts: {faulty} with faults", flush=True)


if __name__ == "__main__":
    main()
