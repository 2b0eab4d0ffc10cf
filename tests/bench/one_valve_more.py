"""How much of a drawing changes if the list gets one valve more.

    python tests/bench/one_valve_more.py [--edits N]

In each example, N pipes spread over the list get an isolating valve each, one at a time. Of all pairs of the old parts,
the share is printed that stands the other way round afterwards: left for right, or above for below. A star marks valves
that bring a new finding, such as one in an open vent.
"""

import argparse
import statistics
import sys
from dataclasses import replace
from itertools import combinations
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT)]

from schemagen.base.geometry import Box  # noqa: E402
from schemagen.base.place import Place  # noqa: E402
from schemagen.joblist.joblist import Entry, JobList, PartLine  # noqa: E402
from schemagen.layout.lay_out import lay_out  # noqa: E402
from schemagen.pipeline import Job, job_of, read  # noqa: E402

VALVE = "ZZ1"


def with_valve(listed: JobList, at: tuple[int, int]) -> JobList:
    """The list with a valve in one connection, before the stop of that number; in the place of both its neighbours."""
    n, m = at
    line = listed.connections[n]
    where = {p.tag: next((e.text for e in p.entries if e.key == "place"), "") for p in listed.parts}
    places = {where.get(stop.partition(".")[0], "") for stop in line.stops[m - 1 : m + 1]}
    entries = [Entry("place", place, Place("edit")) for place in places if len(places) == 1 and place]
    valve = PartLine(VALVE, "isolating-valve", tuple(entries), Place("edit"))
    longer = replace(line, stops=(*line.stops[:m], VALVE, *line.stops[m:]))
    lines = (*listed.connections[:n], longer, *listed.connections[n + 1 :])
    return replace(listed, parts=(*listed.parts, valve), connections=lines)


def laid_out(job: Job) -> dict[str, Box]:
    return {part.tag: part.box for part in lay_out(job.network, job.waters).parts}


def turned_round(before: dict[str, Box], after: dict[str, Box]) -> float:
    """The share of pairs in which what stood wholly on one side of the other now stands wholly on the opposite side."""
    pairs = list(combinations(sorted(before.keys() & after.keys()), 2))
    return sum(_opposite(before, after, *pair) for pair in pairs) / len(pairs)


def _sides(at: dict[str, Box], a: str, b: str) -> tuple[int, int]:
    p, q = at[a], at[b]
    return (q.x >= p.right) - (p.x >= q.right), (q.y >= p.bottom) - (p.y >= q.bottom)


def _opposite(before: dict[str, Box], after: dict[str, Box], a: str, b: str) -> bool:
    return any(was * now < 0 for was, now in zip(_sides(before, a, b), _sides(after, a, b), strict=True))


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--edits", type=int, default=6)
    given = arguments.parse_args()
    every, sound = [], []
    for path in sorted(p for p in (ROOT / "examples").iterdir() if p.name[:2].isdigit()):
        job = read(path)
        listed = job.list
        spots = [(n, m) for n, line in enumerate(listed.connections) for m in range(1, len(line.stops))]
        before, found = laid_out(job), len(job.findings)
        step = max(1, len(spots) // given.edits)
        said = []
        for spot in spots[step // 2 :: step][: given.edits]:
            longer = job_of(with_valve(listed, spot))
            share, new = turned_round(before, laid_out(longer)), len(longer.findings) > found
            every.append(share)
            sound += [] if new else [share]
            said.append(f"{share:6.1%}{'*' if new else ' '}")
        print(f"{path.name:<36} " + " ".join(said), flush=True)
    for name, shares in (("edits", every), ("of them without a new finding", sound)):
        print(f"{len(shares)} {name}: mean {statistics.mean(shares):.2%}, median {statistics.median(shares):.2%}")


if __name__ == "__main__":
    main()
