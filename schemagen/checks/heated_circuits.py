"""Heated circuits under one pressure: what heats them, and where their pressure and swelling can go."""

import heapq
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from schemagen.checks.facts import Facts
from schemagen.network.network import Part, PortId
from schemagen.network.reach import Section
from schemagen.parts.kind import OUTSIDE

CIRCUIT_MEDIA = ("heating-water", "antifreeze-mix", "ground-brine")
FEED_CISTERN = "feed-and-expansion-cistern"
DRAIN_BACK = "drain-back-vessel"
_BY_HAND, _BY_ITSELF = 1, 1000
"""Weights of what stands in the way: a thousand hand valves are a lesser evil than one part that shuts by itself."""


@dataclass(frozen=True)
class Source:
    """What heats a circuit: a heat source, the other side of an exchanger, or an immersion heater in a store.

    `body` are its piped openings to the circuit. A ground loop is harmless: it never gets hot.
    """

    part: Part
    body: tuple[PortId, ...]

    @property
    def tag(self) -> str:
        return self.part.tag

    @property
    def harmless(self) -> bool:
        return self.part.kind.name == "ground-loop"

    @property
    def uncontrolled(self) -> bool:
        return self.part.kind.giver == "uncontrolled"


@dataclass(frozen=True)
class Circuit:
    """One pressure section of heating, solar or brine water with what heats it.

    reliefs, vessels  openings of relief valves and expansion vessels, and bodies of parts that have one inside
    gauges, fills     pressure gauges and filling points, and bodies of parts that have one inside
    vents, feeds      ends of open vents, cold feeds of cisterns
    bubble            openings of single-feed cylinders, which fill and vent the circuit through a bubble of air
    """

    section: Section
    medium: str
    sources: tuple[Source, ...]
    reliefs: tuple[PortId, ...]
    vessels: tuple[PortId, ...]
    gauges: tuple[PortId, ...]
    fills: tuple[PortId, ...]
    vents: tuple[PortId, ...]
    feeds: tuple[PortId, ...]
    bubble: tuple[PortId, ...]

    @property
    def sealed(self) -> bool:
        return not (self.section.open or self.bubble)

    @property
    def tags(self) -> tuple[str, ...]:
        return tuple(source.tag for source in self.sources)


def heated_circuits(facts: Facts) -> tuple[Circuit, ...]:
    """Every heated circuit, in the order of the list; not what is open to a main or to taps."""
    return facts.once(_circuits)


def _circuits(facts: Facts) -> tuple[Circuit, ...]:
    sections = ((facts.reach.sections[number], tuple(sources)) for number, sources in _sources(facts).items())
    return tuple(_circuit(facts, section, sources) for section, sources in sections if not section.supply)


def _sources(facts: Facts) -> dict[int, list[Source]]:
    found: dict[int, list[Source]] = {}
    for giver in facts.givers:
        _add(facts, found, giver, giver.kind.gives)
    own = set(found)
    second: dict[int, list[Source]] = {}
    for part, names in _heated_by_link(facts):
        _add(facts, second, part, names)
    return found | {number: sources for number, sources in second.items() if number not in own}


def _heated_by_link(facts: Facts) -> Iterator[tuple[Part, tuple[str, ...]]]:
    """Exchangers, side by side, and heating stores in which an immersion heater sits."""
    for part in facts.network.parts.values():
        if not part.kind.store and not part.kind.gives and any(p.sort == "heat" for p in part.kind.passages):
            yield part, part.kind.takes
    for heater in facts.parts("immersion-heater"):
        host = facts.network.host_of(heater.tag)
        store = facts.network.parts[host.tag] if host else None
        if store and store.kind.store == "heating":
            yield store, tuple(store.kind.ports)


def _add(facts: Facts, found: dict[int, list[Source]], part: Part, names: Collection[str]) -> None:
    bodies: dict[int, list[PortId]] = {}
    for name in names:
        port = PortId(part.tag, name)
        if facts.medium_at(port) in CIRCUIT_MEDIA:
            bodies.setdefault(facts.section(port).number, []).append(port)
    for number, ports in bodies.items():
        found.setdefault(number, []).append(Source(part, tuple(ports)))


def _circuit(facts: Facts, section: Section, sources: tuple[Source, ...]) -> Circuit:
    uses = ("relief", "vessel", "gauge", "fill", "vent", "feed", "bubble")
    kept: dict[str, list[PortId]] = {use: [] for use in uses}
    for port in section.ports:
        part = facts.network.parts[port.tag]
        for use in _uses(facts, part, port):
            kept[use].append(port)
    return Circuit(
        section,
        facts.medium_at(sources[0].body[0]),
        sources,
        *(tuple(kept[use]) for use in uses),
    )


def _uses(facts: Facts, part: Part, port: PortId) -> Iterator[str]:
    kind, name = part.kind, part.kind.name
    body = port.port in kind.gives if kind.gives else kind.ports[port.port].role != "dead"
    if name == "relief-valve" and port.port == "inlet" or body and relieves(facts, part):
        yield "relief"
    if is_vessel(part) and port.port == "port" or name == DRAIN_BACK or body and "vessel" in part.built_in:
        yield "vessel"
    if name == "pressure-gauge" or body and "gauge" in part.built_in:
        yield "gauge"
    if "fill" in kind.counts_as or name == "disconnecting-preventer" or body and "fill" in part.built_in:
        yield "fill"
    if name == "open-vent-end":
        yield "vent"
    if name == FEED_CISTERN and port.port == "cold-feed":
        yield "feed"
    if any(p.sort == "air-gap" and p.b == port.port and kind.store for p in kind.passages):
        yield "bubble"


def relieves(facts: Facts, part: Part) -> bool:
    """True for a part with a relief valve inside: said so, or its discharge is piped."""
    return "relief" in part.built_in or facts.is_piped(PortId(part.tag, "relief-outlet"))


def is_vessel(part: Part) -> bool:
    return part.kind.name in ("expansion-vessel", "solar-expansion-vessel", "wholesome-expansion-vessel")


def opening_of(facts: Facts, section: Section) -> str:
    """The first part by which a section is open to the air, "" if it is sealed."""
    for port in section.ports:
        part = facts.network.parts[port.tag]
        if any(p.a == port.port and p.b == OUTSIDE and p.sort == "both" for p in part.kind.passages):
            return port.tag
    return ""


def always_reaches(
    facts: Facts, body: Collection[PortId], ends: Collection[PortId], takers: bool = False, pumps: bool = False
) -> bool:
    """True if pressure gets from the body to one of the ends, whatever stands shut, stuck or blocked."""
    goal = frozenset(ends)
    return any(not goal.isdisjoint(facts.reach.fixed(port, takers, pumps)) for port in body)


def in_the_way(facts: Facts, starts: Collection[PortId], ends: Collection[PortId], easy: bool = False) -> list[Part]:
    """What can shut, stick or be blocked on the freest way from starts to ends, in order; [] if there is no way.

    `easy`: takers and pumps do not count. Hand valves that are not locked count little, all else much.
    """
    came: dict[PortId, PortId | None] = {}
    heap: list[tuple[int, int, PortId, PortId | None]] = [(0, n, port, None) for n, port in enumerate(starts)]
    goal, count = frozenset(ends), len(heap)
    while heap:
        cost, _, port, before = heapq.heappop(heap)
        if port in came:
            continue
        came[port] = before
        if port in goal:
            return _blockers(facts, came, port, easy)
        onward = [(cost, other) for other in facts.reach.piped_to[port]]
        onward += [(cost + _weight(facts, port, way.to, easy), way.to) for way in facts.reach.ways[port]]
        for weight, other in onward:
            if other not in came:
                heapq.heappush(heap, (weight, count := count + 1, other, port))
    return []


def _weight(facts: Facts, a: PortId, b: PortId, easy: bool) -> int:
    if b in facts.reach.fixed(a, takers=easy, pumps=easy):
        return 0
    return _BY_HAND if facts.network.parts[a.tag].kind.moved_by == "hand" else _BY_ITSELF


def _blockers(facts: Facts, came: dict[PortId, PortId | None], end: PortId, easy: bool) -> list[Part]:
    tags: dict[str, None] = {}
    port, before = end, came[end]
    while before is not None:
        if port.tag == before.tag and _weight(facts, before, port, easy):
            tags[port.tag] = None
        port, before = before, came[before]
    return [facts.network.parts[tag] for tag in reversed(tags)]


def cut_off(
    facts: Facts, sources: Collection[Source], ends: Collection[PortId], easy: bool = False
) -> Iterator[tuple[list[Source], list[Part]]]:
    """Sources that something can part from all of these ends, gathered by what is in the way; see `in_the_way`."""
    found: dict[tuple[str, ...], tuple[list[Source], list[Part]]] = {}
    for source in sources:
        if source.harmless or always_reaches(facts, source.body, ends, takers=easy, pumps=easy):
            continue
        if between := in_the_way(facts, source.body, ends, easy):
            found.setdefault(tuple(part.tag for part in between), ([], between))[0].append(source)
    yield from found.values()


def names(parts: Collection[Part | Source]) -> str:
    """The tags of parts as words: "V1", "V1 and P1"."""
    tags = [part.tag for part in parts]
    return " and ".join(filter(None, (", ".join(tags[:-1]), *tags[-1:])))
