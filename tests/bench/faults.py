"""How many seeded mistakes the checks find: python tests/bench/faults.py [--seeds N] [--most N] [--kind SLUG]

Every kind of mistake at every place of the correct examples and of seeded correct systems. A mistake counts as found
if one of the first two findings that it brings names a part at which it sits.
"""

import argparse
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from itertools import islice
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from schemagen.base.finding import Finding  # noqa: E402
from schemagen.checks.check import check  # noqa: E402
from schemagen.checks.facts import Facts  # noqa: E402
from schemagen.checks.folding import tags_of  # noqa: E402
from schemagen.faults.all_faults import all_faults  # noqa: E402
from schemagen.faults.fault_kind import Edit, with_fault  # noqa: E402
from schemagen.network.build import build  # noqa: E402
from schemagen.network.waters import find_waters  # noqa: E402
from schemagen.parts.library import shipped_library  # noqa: E402
from schemagen.pipeline import read  # noqa: E402
from tests.sound_systems import sound_job  # noqa: E402

EXAMPLES = sorted((Path(__file__).parent.parent.parent / "examples").glob("0[1-8]_*"))


def facts_of(job_list) -> Facts:
    built = build(job_list, shipped_library())
    return Facts(job_list, shipped_library(), built.network, find_waters(built.network), built.findings)


def found(edit: Edit, findings: tuple[Finding, ...]) -> Finding | None:
    """The one of the first two findings that names a place of the mistake."""
    return next((f for f in findings[:2] if tags_of(f) & set(edit.at)), None)


def tried(facts: Facts, only: str, most: int | None) -> tuple[list, list]:
    """What is found in the system as it is; and every mistake made in it with what is found then."""
    clean = [(f.check, f.severity, f.message) for f in check(facts).findings]
    rows = []
    for kind in all_faults():
        if kind.slug.startswith(only):
            for edit in islice(kind.places(facts), most):
                findings = check(with_fault(facts, edit)).findings
                one = found(edit, findings)
                said = [(f.severity, f.check, f.message) for f in findings]
                rows.append((kind.slug, kind.category, edit.told, edit.at, one and one.check, said))
    return clean, rows


def system(name: str) -> Facts:
    return facts_of(sound_job(int(name[1:])) if name[0] == "s" else read(EXAMPLES[int(name) - 1]).list)


def one_system(task: tuple[str, str, int | None]) -> tuple[list, list]:
    return tried(system(task[0]), *task[1:])


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--most", type=int, help="places of each kind in one system; all if not given")
    parser.add_argument("--kind", default="")
    parser.add_argument("--all", action="store_true", help="show every mistake, not the misses alone")
    said = parser.parse_args()
    names = [path.stem[:2] for path in EXAMPLES] + [f"s{seed}" for seed in range(said.seeds)]
    begun, rows = time.perf_counter(), []
    with ProcessPoolExecutor() as pool:
        results = pool.map(one_system, [(name, said.kind, said.most) for name in names])
        for name, (clean, more) in zip(names, results, strict=True):
            for finding in clean:
                print(f"{name} is not clean: {finding}")
            rows += more
            for slug, _, told, at, one, findings in more:
                if one is None or said.all:
                    print(f"{slug:30} {name:4} {told} {at}")
                    for severity, check_slug, message in findings[:4]:
                        print(f"{'':36}{severity} {check_slug}: {message[:110]}")
    print()
    for kind in all_faults():
        mine = [row for row in rows if row[0] == kind.slug]
        if mine or not said.kind:
            by = Counter(row[4] or "-" for row in mine)
            checks = ", ".join(f"{slug} {n}" for slug, n in by.most_common(4))
            print(f"{kind.category:9}{kind.slug:32}{share(mine):28}{mean(mine):5.1f}  {checks}")
    for category in ("topology", "safety", "data", "control"):
        print(f"{category:9}{share([row for row in rows if row[1] == category])}")
    nowhere = sum(1 for kind in all_faults() if not any(row[0] == kind.slug for row in rows))
    print(f"all      {share(rows)}; {mean(rows):.2f} findings per mistake")
    print(f"{len(all_faults())} kinds, {nowhere} of them nowhere; {time.perf_counter() - begun:.0f} s")


def share(rows: list) -> str:
    hit = sum(row[4] is not None for row in rows)
    return f"{hit}/{len(rows)} = {100 * hit / max(len(rows), 1):.1f} %"


def mean(rows: list) -> float:
    return sum(len(row[5]) for row in rows) / max(len(rows), 1)


if __name__ == "__main__":
    main()
