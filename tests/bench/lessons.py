"""Seeded fault-finding papers by the hundred: python tests/bench/lessons.py [--papers N] [--drawn]

For each: is exactly one finding made, and at the place of the mistake? With --drawn every paper is drawn as well.
"""

import argparse
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from schemagen.checks.check import check  # noqa: E402
from schemagen.checks.folding import tags_of  # noqa: E402
from schemagen.lessons.seeded_faults import seeded_fault  # noqa: E402
from schemagen.lessons.symptoms import symptoms  # noqa: E402
from schemagen.pipeline import lesson, read  # noqa: E402

EXAMPLES = sorted((Path(__file__).parent.parent.parent / "examples").glob("0[1-8]_*"))


def one(task: tuple[int, int, bool]) -> list[tuple]:
    """The papers of one example: its name, difficulty asked and got, kind, findings, whether at its place, symptoms."""
    number, count, drawn = task
    path = EXAMPLES[number]
    facts, rows = read(path)._facts, []
    for seed in range(count):
        asked = 1 + seed % 3
        seeded = seeded_fault(facts, seed, 1, asked)
        found = check(seeded.facts).findings
        at = bool(tags_of(found[0]) & set(seeded.edit.at))
        told = len(symptoms(facts.operation, seeded.facts.operation))
        if drawn:
            lesson(path, seed, 1, asked)
        rows.append((path.stem[:2], asked, seeded.kind.difficulty, seeded.kind.slug, len(found), at, told))
    return rows


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--papers", type=int, default=200)
    parser.add_argument("--drawn", action="store_true")
    said = parser.parse_args()
    begun = time.perf_counter()
    each = -(-said.papers // len(EXAMPLES))
    with ProcessPoolExecutor() as pool:
        rows = [row for some in pool.map(one, [(n, each, said.drawn) for n in range(len(EXAMPLES))]) for row in some]
    exact = sum(row[4] == 1 and row[5] for row in rows)
    print(f"{exact} of {len(rows)} papers: exactly one finding, at the place of the mistake")
    print(f"{sum(row[1] == row[2] for row in rows)} have the difficulty that was asked for")
    print(f"{sum(row[6] > 0 for row in rows)} have symptoms that follow from the states")
    kinds, pairs = Counter(row[3] for row in rows), {(row[0], row[3]) for row in rows}
    print(f"{len(kinds)} kinds of mistakes; most often: {kinds.most_common(5)}")
    print(f"{len(pairs)} different pairs of system and kind; {time.perf_counter() - begun:.0f} s")


if __name__ == "__main__":
    main()
