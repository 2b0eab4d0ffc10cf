"""In which pipes water can ever move: those on a closed way, counting the outside of the system as joined up.

Source: a pipe whose removal parts the network (a bridge) carries no steady flow; common practice of network analysis.
"""

from schemagen.network.groups import bridges
from schemagen.network.network import OUT, Network, PortId
from schemagen.parts.kind import OUTSIDE, PartKind, Passage


def find_moving(network: Network, medium: tuple[str, ...], section: tuple[str, ...]) -> tuple[bool, ...]:
    """For each pipe by index: True if water ever moves in it.

    Pipes to vessels, gauges, vents and drains never move. Discharge and condensate move when there is any, and
    filling pipes while the system is filled.
    """
    number: dict[PortId, int] = {OUT: 0}
    for port in network.ports():
        number[port] = len(number)
    edges = [(number[pipe.start], number[pipe.end]) for pipe in network.pipes]
    for part in network.parts.values():
        for passage in part.kind.passages:
            if _may_flow(part.kind, passage):
                edges.append((number[_end(part.tag, passage.a)], number[_end(part.tag, passage.b)]))
    still = bridges(len(number), edges)
    return tuple(
        medium[p.index] in ("discharge", "condensate") or section[p.index] == "filling" or not still[p.index]
        for p in network.pipes
    )


def _may_flow(kind: PartKind, passage: Passage) -> bool:
    """Passages of a steady flow: not heat links, and none at a dead end (relief inlets, surfaces, open vents)."""
    ends = [kind.ports[name] for name in (passage.a, passage.b) if name != OUTSIDE]
    return passage.sort != "heat" and all(end.role != "dead" for end in ends)


def _end(tag: str, name: str) -> PortId:
    return OUT if name == OUTSIDE else PortId(tag, name)
