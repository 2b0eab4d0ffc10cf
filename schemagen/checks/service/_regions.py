"""What the service checks ask: what shuts together, what drains, what vents, and which circuits are closed."""

from collections.abc import Iterator
from dataclasses import dataclass

from schemagen.checks.facts import Facts
from schemagen.network.network import Part, PortId
from schemagen.network.reach import Section
from schemagen.parts.kind import PartKind

_CLOSED = ("heating-water", "antifreeze-mix", "ground-brine")
_NO_SERVICE_VALVE = ("bypass-valve", "underfloor-manifold", "fill-and-flush-valves")


def shuts_by_hand(part: Part) -> bool:
    """True for a valve in line that a person can shut; a thermostatic radiator valve has a shut stop."""
    kind = part.kind
    by_hand = kind.moved_by == "hand" or kind.name == "thermostatic-radiator-valve"
    return by_hand and "shut" in kind.positions and kind.name not in _NO_SERVICE_VALVE


@dataclass(frozen=True)
class Region:
    """Openings that stay joined when every hand valve is shut, and what is among them."""

    ports: tuple[PortId, ...]
    sources: tuple[str, ...]
    takers: tuple[str, ...]
    stores: tuple[str, ...]
    elsewhere: bool


def regions(facts: Facts) -> tuple[dict[PortId, int], list[Region]]:
    """The regions between hand valves: the number of each opening's region, and the regions."""
    numbers, members = facts.reach.joined(lambda part, _: not shuts_by_hand(part))
    return numbers, [_region(facts, ports) for ports in members]


def _region(facts: Facts, ports: list[PortId]) -> Region:
    parts = facts.network.parts

    def tags(holds) -> tuple[str, ...]:
        return tuple(dict.fromkeys(p.tag for p in ports if holds(p, parts[p.tag].kind)))

    def is_body(port: PortId, kind: PartKind) -> bool:
        still = port.port in kind.takes or kind.ports[port.port].role == "dead"
        return bool(kind.store or kind.separates) and not still

    return Region(
        tuple(ports),
        sources=tags(lambda p, kind: p.port in kind.gives),
        takers=tags(lambda p, kind: p.port in kind.takes and kind.name != "underfloor-loop"),
        stores=tags(is_body),
        elsewhere=any(parts[p.tag].kind.name == "off-sheet-connector" for p in ports),
    )


def closed_circuits(facts: Facts) -> Iterator[Section]:
    """Pressure sections of heating, solar or brine water that hold a giver or a taker and are whole on this list."""
    for section in facts.reach.sections:
        if section.supply or section.elsewhere or len(section.ports) < 2:
            continue
        if any(_is_in_circuit(facts, port) for port in section.ports):
            yield section


def _is_in_circuit(facts: Facts, port: PortId) -> bool:
    """Not the tap side of an exchanger between valves that end a pressure, nor a pool's."""
    return is_heated(facts, port) and facts.is_piped(port) and facts.medium_at(port) in ("", *_CLOSED)


def is_heated(facts: Facts, port: PortId) -> bool:
    kind = facts.network.parts[port.tag].kind
    return port.port in kind.gives or port.port in kind.takes


def does(facts: Facts, tag: str, duty: str) -> bool:
    """True if a part drains or vents (`duty` "drain" or "vent"): by its kind, built in, or by an opening for it."""
    part = facts.network.parts[tag]
    if duty in part.kind.counts_as or duty in part.built_in or part.value(duty) is True:
        return True
    return duty in part.kind.ports and duty not in part.capped


def is_outdoors(text: str) -> bool:
    said = text.casefold()
    return "outdoor" in said or "outside" in said
