"""What one mistake explains: findings that are gone once a pipe joins two loose ends, or a kind is spelt right.

Source: diagnosis by repair. A supposed cause explains those findings that its repair takes away; common practice.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from schemagen.base.finding import Finding
from schemagen.checks.facts import Facts
from schemagen.checks.folding import tags_of
from schemagen.network.build import build
from schemagen.network.network import Network, Pipe, PortId
from schemagen.network.waters import find_waters
from schemagen.network.words import word

LOOSE_END = "port-left-open"
NAMED_WRONGLY = ("unknown-end", "unknown-word", "port-used-twice")
"""Checks of the list whose finding is the cause, if it names one of the two ends."""
MOST_LOOSE_ENDS = 6
MOST_WORK = 1500
"""Parts × trials beyond which no second pair is tried, so that long lists are checked twice at most."""

Judge = Callable[[Facts], Sequence[Finding]]


@dataclass(frozen=True, slots=True)
class Explained:
    """A cause, and the findings that it explains."""

    cause: Finding
    findings: tuple[Finding, ...]


def explain_misspelt_kinds(facts: Facts, findings: Sequence[Finding], judge: Judge) -> list[Explained]:
    """What kinds that nobody knows explain of these findings: what is not found with their near misses in their place.

    A finding falls to a misspelt part at which it is, else to the first of them.
    """
    spelt = _spelt(facts)
    causes = [f for f in findings if f.check == "unknown-word" and set(f.parts) & spelt.keys()]
    if not causes:
        return []
    parts = tuple(replace(line, kind=spelt.get(line.tag.strip(), line.kind)) for line in facts.job.parts)
    job = replace(facts.job, parts=parts)
    built = build(job, facts.library)
    right = replace(
        facts, job=job, network=built.network, waters=find_waters(built.network), list_findings=built.findings
    )
    after = {_key(f) for f in judge(right)}
    gone: dict[str, list[Finding]] = {}
    for finding in findings:
        if _key(finding) not in after and finding not in causes:
            here = next((f for f in causes if set(f.parts) & tags_of(finding)), causes[0])
            gone.setdefault(here.parts[0], []).append(finding)
    return [Explained(f, (f, *gone[f.parts[0]])) for f in causes if f.parts[0] in gone]


def _spelt(facts: Facts) -> dict[str, str]:
    """The kind that was probably meant, by the tag of each part whose kind nobody knows."""
    named = {tag for finding in facts.found_in_list("unknown-word") for tag in finding.parts}
    wrong = {
        line.tag.strip(): word(line.kind) for line in facts.job.parts
        if line.tag.strip() in named and word(line.kind) not in facts.library
    }  # fmt: skip
    return {tag: near[0] for tag, kind in wrong.items() if (near := facts.library.near(kind))}


def explain_loose_ends(
    facts: Facts, findings: Sequence[Finding], ends: Sequence[Finding], judge: Judge
) -> list[Explained]:
    """What missing pipes explain of these findings. `ends` are all findings on loose ends, those explained included.

    `judge` gives the findings of other facts. A pipe is supposed only if with it less is found and nothing new.
    """
    loose = [port for finding in ends if (port := _port(facts, finding))]
    explained = []
    while 0 < len(loose) <= MOST_LOOSE_ENDS:
        best = _best(facts, findings, loose, judge)
        if best is None:
            break
        repair, after = best
        gone = tuple(f for f in findings if _key(f) not in {_key(g) for g in after})
        explained.append(Explained(_cause(facts, repair, findings, gone), gone))
        facts, findings = repair.facts, after
        loose = [port for port in loose if port not in repair.ends]
    return explained


@dataclass(frozen=True, slots=True)
class _Repair:
    """Facts with one end put where it may belong; `ends` are the openings that got a pipe, `moved` where it was."""

    facts: Facts
    ends: tuple[PortId, ...]
    moved: PortId | None = None


def _best(facts: Facts, findings: Sequence[Finding], loose: list[PortId], judge: Judge):
    """The repair that leaves the fewest findings and brings no new one."""
    best, known, work = None, {_key(f) for f in findings}, 0
    for repair in _repairs(facts, findings, loose):
        work += len(facts.network.parts)
        if work > MOST_WORK and work > len(facts.network.parts):
            break
        after = judge(repair.facts)
        new = [f for f in after if _key(f) not in known and f.severity != "advice"]
        if not new and len(after) < len(best[1] if best else findings):
            best = repair, after
    return best


def _repairs(facts: Facts, findings: Sequence[Finding], loose: list[PortId]) -> Iterator[_Repair]:
    network = facts.network
    for a, b in combinations(loose, 2):
        if a.tag != b.tag and _fit(facts, a, b):
            start, end = (b, a) if facts.spec(a).role == "in" or facts.spec(b).role == "out" else (a, b)
            pipe = Pipe(len(network.pipes), start, end, network.parts[start.tag].line)
            yield _Repair(_with(facts, (*network.pipes, pipe)), (a, b))
    shared = {tag for f in findings if f.check == "port-used-twice" for tag in f.parts}
    for port, pipes in network.pipes_at.items():
        for pipe in pipes if port.tag in shared and len(pipes) > 1 else ():
            for a in loose:
                if network.far_end(pipe, port).tag != a.tag and _fit(facts, a, network.far_end(pipe, port)):
                    moved = replace(pipe, start=a) if pipe.start == port else replace(pipe, end=a)
                    others = tuple(moved if p is pipe else p for p in network.pipes)
                    yield _Repair(_with(facts, others), (a,), port)


def _with(facts: Facts, pipes: tuple[Pipe, ...]) -> Facts:
    old = facts.network
    network = Network(old.name, old.sheet, old.parts, pipes, old.fluids, old.named_states, old.accept)
    return replace(facts, network=network, waters=find_waters(network))


def _fit(facts: Facts, a: PortId, b: PortId) -> bool:
    """True if a pipe may run between two openings: not two inlets or outlets, and a medium that both may carry."""
    one, other = facts.spec(a), facts.spec(b)
    media = "X" in one.media or "X" in other.media or bool(set(one.media) & set(other.media))
    return media and not (one.role == other.role and one.role in ("in", "out"))


def _port(facts: Facts, finding: Finding) -> PortId | None:
    """The first opening that a finding names, if it is an opening of the network."""
    for text in finding.ports:
        tag, _, name = text.rpartition(".")
        if tag in facts.network.parts and name in facts.network.parts[tag].kind.ports:
            return PortId(tag, name)
    return None


def _cause(facts: Facts, repair: _Repair, findings: Sequence[Finding], gone: Sequence[Finding]) -> Finding:
    """The slip in the list that names one of the ends, or else a finding that says which pipe is missing."""
    names = {str(port) for port in repair.ends}
    for finding in findings:
        if finding.check in NAMED_WRONGLY and names & set(finding.ports):
            return finding
    if repair.moved:
        return next(f for f in findings if f.check == "port-used-twice" and repair.moved.tag in f.parts)
    a, b = repair.ends
    return replace(
        next(f for f in gone if f.check == LOOSE_END) if any(f.check == LOOSE_END for f in gone) else gone[0],
        check=LOOSE_END,
        severity="error",
        message=f"{a} and {b} have no pipe; one between them is probably missing",
        cure=f"write the connection [{a}, {b}], or connect each of them to where it belongs",
        parts=(a.tag, b.tag),
        pipes=(),
        ports=(str(a), str(b)),
        states=(),
        place=facts.network.parts[a.tag].line,
    )


def _key(finding: Finding) -> tuple[str, tuple[str, ...]]:
    """What makes two findings on different facts the same: the check and where it is marked."""
    return finding.check, (finding.parts or finding.ports)[:1]
