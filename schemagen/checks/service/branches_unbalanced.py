"""branches-unbalanced (advice)

What: two or more emitters or coils lie in parallel between the same flow and return, and one of them has no
    balancing valve, lockshield valve, flow limiter or manifold in its branch. Not asked for where the sheet says
    `layout: reverse-return`.
Why: water favours the shortest way round; far rooms stay cold until the near ones are throttled.
Cure: put a regulating valve into each branch.
Source: CIBSE Commissioning Code W and BS EN 14336, titles seen, clauses from memory

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      R1: {kind: radiator}
      R2: {kind: radiator}
      T2: {kind: tee}
    connections:
      - {run: [B1.flow, T1, R1, T2, B1.return]}
      - {run: [T1, R2, T2]}

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      R1: {kind: radiator}
      LS1: {kind: lockshield-valve}
      R2: {kind: radiator}
      LS2: {kind: lockshield-valve}
      T2: {kind: tee}
    connections:
      - {run: [B1.flow, T1, R1, LS1, T2, B1.return]}
      - {run: [T1, R2, LS2, T2]}
"""

from schemagen.checks.fault import Fault
from schemagen.network.groups import Groups
from schemagen.network.network import PortId
from schemagen.network.reach import is_wet

_VALVES = ("balancing-valve", "lockshield-valve")
_TURNING = ("diverter-valve", "mid-position-valve", "heating-mixing-valve", "four-port-mixing-valve", "loading-valve")
_BUILT_IN = ("balancing", "lockshield", "flow-limiter")


def check(facts):
    if "reverse" in facts.network.sheet.get("layout", "").casefold():
        return
    headers = _headers(facts)
    parallel: dict[tuple[int, int], list[tuple[str, bool]]] = {}
    for part in facts.takers:
        if _is_left_free(part):
            continue
        for way in facts.waterways(part):
            ends = [p for p in way if p.port in part.kind.takes and facts.is_piped(p)]
            if len(ends) == 2 and headers[ends[0]] != headers[ends[1]]:
                between = tuple(sorted((headers[ends[0]], headers[ends[1]])))
                parallel.setdefault(between, []).append((part.tag, _is_regulated(facts, ends)))
    for branches in parallel.values():
        free = [tag for tag, regulated in branches if not regulated]
        if len(branches) > 1 and free:
            named = ", ".join(free[:4]) + (" …" if len(free) > 4 else "")
            yield Fault(
                f"{len(branches)} branches lie in parallel, and the flow through {named} cannot be set",
                f"put a balancing or lockshield valve into the branch of {free[0]}"
                + (" and of the others" if len(free) > 1 else ""),
                parts=free,
            )


def _is_left_free(part) -> bool:
    """A gravity circuit and a heat leak want no valve; a source that takes heat is balanced with its own circuit."""
    by_gravity = part.value("gravity") or part.value("heat-leak") or part.kind.name == "heat-leak-radiator"
    return bool(by_gravity) or bool(part.kind.giver and part.kind.name != "heat-interface-unit")


def _headers(facts) -> dict[PortId, int]:
    """Openings joined without passing anything that takes, gives, drives or parts the water, or turns it elsewhere."""
    groups: Groups[PortId] = Groups(facts.network.ports())
    for pipe in facts.network.pipes:
        if facts.waters.carries[pipe.index]:
            groups.join(pipe.start, pipe.end)
    for part in facts.network.parts.values():
        kind = part.kind
        if kind.taker or kind.giver or kind.driver or kind.separates or kind.name in (*_TURNING, "bypass-valve"):
            continue
        for passage in kind.passages:
            if is_wet(kind, passage):
                groups.join(PortId(part.tag, passage.a), PortId(part.tag, passage.b))
    return groups.numbered()[0]


def _is_regulated(facts, ends) -> bool:
    tags = {ends[0].tag} | {port.tag for end in ends for port in facts.run_from(end)}
    return any(_regulates(facts.network.parts[tag]) for tag in tags)


def _regulates(part) -> bool:
    return part.kind.name in _VALVES or "balancing" in part.kind.counts_as or bool(set(part.built_in) & set(_BUILT_IN))
