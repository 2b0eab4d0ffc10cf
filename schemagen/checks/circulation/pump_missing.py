"""pump-missing (error)

What: a closed circuit with something that gives heat and something that takes it has no pump; a separator, store or buffer between two circuits parts them.
Why: a separator stops the first pump from pushing the second circuit; that circuit needs its own.
Cure: add a pump in the named circuit, or write `gravity: yes` if it is meant to circulate by warmth alone.
Source: hydraulic separation as explained in trade articles; common practice

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      L1: {kind: low-loss-header, capped: [vent, drain]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, L1.primary-flow]
      - [L1.primary-return, B1.return]
      - [L1.secondary-flow, R1.a]
      - [R1.b, L1.secondary-return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      L1: {kind: low-loss-header, capped: [vent, drain]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, L1.primary-flow]
      - [L1.primary-return, B1.return]
      - [L1.secondary-flow, P1.in]
      - [P1.out, R1.a]
      - [R1.b, L1.secondary-return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.groups import Groups
from schemagen.network.network import PortId
from schemagen.network.reach import is_wet
from schemagen.parts.kind import OUTSIDE

FOLDS = ("source-on-without-flow", "part-never-flows", "loop-without-driver")


def check(facts):
    for ports in _circuits(facts):
        parts = {port.tag: facts.network.parts[port.tag] for port in ports}
        takers = [t for t, p in parts.items() if any(PortId(t, n) in ports and _moves(facts, PortId(t, n)) for n in p.kind.takes)]
        givers = [t for t, p in parts.items() if any(PortId(t, n) in ports for n in p.kind.gives)]
        parted = [t for t, p in parts.items() if p.kind.separates or p.kind.store]
        if not takers or not (givers or parted) or _leaves(facts, ports) or _is_driven(facts, parts, ports):
            continue
        named = ", ".join(takers[:4]) + (" …" if len(takers) > 4 else "")
        yield Fault(
            f"no pump moves the water through {named}",
            f"put a pump into the circuit between {(givers or parted)[0]} and {takers[0]}",
            parts=(*takers, *givers, *parted),
            pipes=[pipe for pipe in facts.network.pipes if pipe.start in ports and facts.waters.carries[pipe.index]],
        )


def _circuits(facts) -> list[set[PortId]]:
    """Closed waters, cut at separators: the two sides of such a part are told apart by their openings' names."""
    groups: Groups[PortId] = Groups(facts.network.ports())
    for pipe in facts.network.pipes:
        groups.join(pipe.start, pipe.end)
    for part in facts.network.parts.values():
        for passage in part.kind.passages:
            cut = part.kind.separates and _side(passage.a) != _side(passage.b)
            if is_wet(part.kind, passage) and not cut:
                groups.join(PortId(part.tag, passage.a), PortId(part.tag, passage.b))
    return [set(ports) for ports in groups.numbered()[1] if len(ports) > 2]


def _side(name: str) -> str:
    """"primary" of "primary-flow" or "primary-in"; "" for an opening that belongs to no side."""
    side, _, end = name.rpartition("-")
    return side if end in ("flow", "return", "in", "out") else ""


def _moves(facts, port: PortId) -> bool:
    pipe = facts.pipe_at(port)
    return pipe is not None and facts.waters.carries[pipe.index]


def _leaves(facts, ports: set[PortId]) -> bool:
    """True if the water is open to the outside: a supply, a cistern, or pipework that goes on elsewhere."""
    return any(
        passage.b == OUTSIDE and PortId(tag, passage.a) in ports and facts.network.parts[tag].kind.name != "open-vent-end"
        for tag in dict.fromkeys(port.tag for port in ports)
        for passage in facts.network.parts[tag].kind.passages
        if passage.sort != "air-gap" and facts.network.parts[tag].kind.ports[passage.a].role != "dead"
    )


def _is_driven(facts, parts, ports: set[PortId]) -> bool:
    for tag, part in parts.items():
        if part.value("gravity") or part.kind.driver == "pump" or "pump" in part.built_in and part.kind.family == "movers":
            return True
        if facts.drives(part) and any(PortId(tag, name) in ports for name in part.kind.gives):
            return True
    return any(pipe.values.get("gravity") for pipe in facts.network.pipes if pipe.start in ports)
