"""vent-obstructed (error)

What: in an open-vented circuit the way from a source's flow to the open vent can be shut, or there is no vent; the same
    at the hot outlet of a vented store. The vent of a store falls on its way; a warning if that of a source does.
Why: the open vent is the emergency chimney for steam: no valve, no pump, always uphill.
Cure: run it without a valve, rising from the flow.
Source: the vent rises all the way and carries no valve or pump: trade pages and a textbook, seen; BS EN 12828 national
    annex, from memory
Caution: pressure

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      V1: {kind: isolating-valve}
      A1: {kind: open-vent-end}
      F1: {kind: feed-and-expansion-cistern, at: P1.in, capped: [supply, overflow]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, T1, P1, R1, B1.return]
      - [T1, V1, A1.port]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      A1: {kind: open-vent-end}
      F1: {kind: feed-and-expansion-cistern, at: P1.in, capped: [supply, overflow]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, T1, P1, R1, B1.return]
      - [T1, A1.port]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.heated_circuits import heated_circuits, in_the_way, names
from schemagen.network.network import PortId
from schemagen.network.rises import falls, heights_along, shortest_way

_STORES = ("vented-cylinder", "single-feed-cylinder")


def check(facts):
    for circuit in heated_circuits(facts):
        if circuit.section.open and not circuit.section.elsewhere:
            for source in circuit.sources:
                starts = [p for p in source.body if facts.spec(p).role != "in"]
                yield from _vent(facts, source.tag, starts, circuit.vents, "warning")
    for store in facts.parts(*_STORES):
        outlet = PortId(store.tag, "hot-out")
        section = facts.section(outlet)
        if facts.is_piped(outlet) and not section.elsewhere:
            ends = [port for port in section.ports if facts.network.parts[port.tag].kind.name == "open-vent-end"]
            yield from _vent(facts, store.tag, [outlet], ends, "error")


def _vent(facts, tag: str, starts, ends, when_falling):
    """What is wrong with the vent that starts at one of these openings."""
    ways = [way for start in starts if (way := _plain_way(facts, start, ends))]
    if not ways and starts:
        between = in_the_way(facts, starts, ends)
        said = (
            f"{names(between)} can shut the open vent of {tag}" if between else f"no open vent rises from {starts[0]}"
        )
        yield Fault(
            said,
            f"lead an open vent without a valve or pump from {starts[0]} to an open-vent-end, rising all the way",
            parts=(tag, *(part.tag for part in between)),
            ports=(starts[0],),
        )
    elif ways and falls(heights_along(facts.network, ways[0])):
        yield Fault(
            f"the open vent of {tag} falls on its way to {ways[0][-1].tag}",
            "lay it so that it rises all the way",
            parts=(tag, ways[0][-1].tag),
            severity=when_falling,
        )


def _plain_way(facts, start: PortId, ends) -> list[PortId]:
    """A way that cannot be shut; the body of a store is no part of a vent pipe, that of a boiler is."""

    def passes(here: PortId, to: PortId) -> bool:
        return not facts.network.parts[here.tag].kind.store and to in facts.reach.fixed(here)

    return shortest_way(facts.reach, start, frozenset(ends), passes)
