"""How many seeded mistakes the checks find: python tests/bench/faults.py [--seeds N] [--kind SLUG] [--all]

Every kind of mistake at every place of the correct examples and of seeded correct systems. A mistake counts as found
if one of the first two findings that it brings names a part at which it sits.
"""

import argparse
import sys
import time
from collections import Counter, defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from sound_systems import sound_job  # noqa: E402

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

EXAMPLES = sorted((Path(__file__).parent.parent.parent / "examples").glob("0[1-8]_*"))


def facts_of(job_list) -> Facts:
    built = build(job_list, shipped_library())
    return Facts(job_list, shipped_library(), built.network, find_waters(built.network), built.findings)


def found(edit: Edit, findings: tuple[Finding, ...]) -> Finding | None:
    """The one of the first two findings that names a place of the mistake."""
    return next((f for f in findings[:2] if tags_of(f) & set(edit.at)), None)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--kind", default="")
    parser.add_argument("--all", action="store_true", help="show every mistake, not the misses alone")
    said = parser.parse_args()
    systems = [(path.stem[:2], facts_of(read(path).list)) for path in EXAMPLES]
    systems += [(f"s{seed}", facts_of(sound_job(seed))) for seed in range(said.seeds)]
    tried, hit, by, count, misses = Counter(), Counter(), defaultdict(Counter), Counter(), []
    begun = time.perf_counter()
    for name, facts in systems:
        if clean := check(facts).findings:
            print(f"{name} is not clean: {[(f.check, f.severity, f.parts) for f in clean]}")
        for kind in all_faults():
            if not kind.slug.startswith(said.kind):
                continue
            for edit in kind.places(facts):
                findings = check(with_fault(facts, edit)).findings
                one = found(edit, findings)
                tried[kind] += 1
                hit[kind] += one is not None
                count[kind] += len(findings)
                by[kind][one.check if one else "-"] += 1
                if one is None or said.all:
                    misses.append((kind.slug, name, edit, findings))
    for slug, name, edit, findings in misses:
        print(f"{slug:30} {name:4} {edit.told} {edit.at}")
        for f in findings[:4]:
            print(f"{'':36}{f.severity} {f.check}: {f.message[:110]}")
    print()
    for kind in all_faults():
        if tried[kind] or not said.kind:
            checks = ", ".join(f"{c} {n}" for c, n in by[kind].most_common(4))
            mean = count[kind] / max(tried[kind], 1)
            print(f"{kind.category:9}{kind.slug:32}{hit[kind]:5}/{tried[kind]:<5}{mean:5.1f}  {checks}")
    for category in ("topology", "safety", "data", "control"):
        print(f"{category:9} {share(hit, tried, category)}")
    total = sum(tried.values())
    print(f"all       {share(hit, tried, '')}; {sum(count.values()) / max(total, 1):.2f} findings per mistake")
    print(f"{len(all_faults())} kinds, {sum(1 for k in all_faults() if not tried[k])} of them nowhere; "
          f"{total} mistakes in {time.perf_counter() - begun:.0f} s")  # fmt: skip


def share(hit: Counter, tried: Counter, category: str) -> str:
    kinds = [k for k in tried if not category or k.category == category]
    n, of = sum(hit[k] for k in kinds), sum(tried[k] for k in kinds)
    return f"{n}/{of} = {100 * n / max(of, 1):.1f} %"


if __name__ == "__main__":
    main()
