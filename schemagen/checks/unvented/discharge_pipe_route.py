"""discharge-pipe-route (error)

What: the discharge pipe D2 can be shut off, carries anything else, or does not end at a safe visible outlet (into a
    waste stack only through a mechanical trap and a branch of its own). A warning if it starts with less than 300 mm
    of straight drop, falls flatter than 1 in 200, or rises.
Why: steam and water near boiling need a straight start, a falling pipe and a safe, visible end.
Cure: re-route it, in metal or in plastic rated for the heat.
Source: Approved Document G (England), 3.56, 3.57 and 3.60 to 3.63, seen in makers' reproductions
Caution: unvented-store

Wrong:
    parts:
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      S1: {kind: temperature-and-pressure-relief-valve}
      N1: {kind: tundish}
      V1: {kind: isolating-valve}
      O1: {kind: safe-outlet}
    connections:
      - [C1.relief-tapping, S1.inlet]
      - [S1.outlet, N1.in]
      - [N1.out, V1, O1.in]

Right:
    parts:
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      S1: {kind: temperature-and-pressure-relief-valve}
      N1: {kind: tundish}
      O1: {kind: safe-outlet}
    connections:
      - [C1.relief-tapping, S1.inlet]
      - [S1.outlet, N1.in]
      - {run: [N1.out, O1.in], drop: 300 mm, fall: 1:200}
"""

from schemagen.base.units import quantity
from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.unvented._discharge import can_shut, d1_of, d2_of, pipes_on, tundishes
from schemagen.checks.unvented._stores import ELSEWHERE, relief_outlets

FOLDS = ("blind-end",)
LEAST_DROP_M = 0.3
LEAST_FALL = 1 / 200


def check(facts):
    reliefs = set(relief_outlets(facts))
    for tundish in tundishes(facts):
        run = d2_of(facts, tundish)
        if facts.is_piped(run.start):
            yield from _route(facts, run, reliefs)
            yield from _geometry(facts, run)
    for outlet in relief_outlets(facts):
        run = d1_of(facts, outlet)
        if run.end == outlet and facts.is_piped(outlet):
            yield from _route(facts, run, reliefs)


def _route(facts, run, reliefs):
    parts = facts.network.parts
    if shut := can_shut(facts, run):
        yield _fault(facts, run, f"can be shut off by {shut[0]}", f"take {shut[0]} out", shut[0])
    others = [port for port in run.ports if port not in reliefs and _adds_other_water(facts, port)]
    if others:
        said = f"also carries what comes from {others[0]}"
        yield _fault(facts, run, said, f"give {others[0]} a drain of its own", others[0].tag)
    ends = [parts[tag] for tag in run.tags if parts[tag].kind.name != "tundish" and _is_end(parts[tag])]
    if any(part.kind.name == ELSEWHERE for part in ends):
        yield Unknown((run.start.tag,), f"where {run.start} leads")
        return
    bad = [part for part in ends if not _is_safe(part)]
    if bad or not ends:
        yield _fault(facts, run, _where(bad), _cure(run, bad), *[part.tag for part in bad])


def _is_end(part) -> bool:
    return any(p.b == "outside" for p in part.kind.passages) or part.kind.name == ELSEWHERE


def _is_safe(part) -> bool:
    if part.kind.name == "waste-stack":
        return part.value("trap") == "mechanical" and part.value("own-branch") is True
    return part.kind.name == "safe-outlet"


def _where(bad) -> str:
    if not bad:
        return "does not end where it can be seen and is safe"
    if bad[0].kind.name == "waste-stack":
        return f"ends in {bad[0].tag} without a mechanical trap and a branch of its own"
    return f"ends at {bad[0].tag} ({bad[0].kind.title}), not at a safe visible outlet"


def _cure(run, bad) -> str:
    if bad and bad[0].kind.name == "waste-stack":
        return f"end it at a safe-outlet, or write `trap: mechanical` and `own-branch: yes` at {bad[0].tag}"
    return f"lead {run.start} down to a safe-outlet"


def _adds_other_water(facts, port) -> bool:
    """True for condensate, overflows and heating relief valves that run into this pipe."""
    spec, kind = facts.spec(port), facts.network.parts[port.tag].kind
    return spec.role == "out" and bool(set(spec.media) & set("DK")) and kind.name != "tundish"


def _geometry(facts, run):
    pipes = pipes_on(facts, run)
    if not pipes:
        return
    drop = pipes[0].values.get("drop")
    if drop is None:
        yield Unknown((run.start.tag,), f"`drop:` of the pipe from {run.start}")
    elif drop < LEAST_DROP_M - 1e-9:
        said = f"drops {quantity(drop, 'mm')} before its first bend, less than {quantity(LEAST_DROP_M, 'mm')}"
        yield _warning(facts, run, said, "let it fall 300 mm straight down from the tundish")
    falls = [pipe.values["fall"] for pipe in pipes if "fall" in pipe.values]
    if not falls:
        yield Unknown((run.start.tag,), f"`fall:` of the pipe from {run.start}")
    elif min(falls) < LEAST_FALL - 1e-9:
        yield _warning(facts, run, "falls flatter than 1 in 200", "give it a fall of 1 in 200 or more")
    heights = [height for pipe in pipes for height in pipe.values.get("heights", ())]
    if any(b > a for a, b in zip(heights, heights[1:], strict=False)):
        yield _warning(facts, run, "rises on its way", "let it fall all the way")


def _warning(facts, run, said: str, cure: str) -> Fault:
    fault = _fault(facts, run, said, cure)
    return Fault(fault.message, fault.cure, fault.parts, fault.pipes, fault.ports, severity="warning")


def _fault(facts, run, said: str, cure: str, *others: str) -> Fault:
    return Fault(
        f"the discharge pipe from {run.start} {said}",
        cure,
        parts=(run.start.tag, *others),
        pipes=pipes_on(facts, run) or [p for p in [facts.pipe_at(run.start)] if p],
        ports=(run.start,),
    )
