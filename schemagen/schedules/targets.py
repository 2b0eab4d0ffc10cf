"""Places that somebody may want to shut off, and what each has to be parted from.

Water comes from mains and cisterns, and in a heating circuit from its stores too.
"""

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from schemagen.checks.facts import Facts
from schemagen.network.network import Part, PortId
from schemagen.operation.states import is_tap
from schemagen.parts.kind import OUTSIDE
from schemagen.schedules.naming import name_of
from schemagen.schedules.supplies import is_main, supply_ports
from schemagen.schedules.valve_graph import ValveGraph
from schemagen.schedules.waterways import Sort, Waterway, waterways_of

CIRCUITS = {
    "heating": ("primary-flow", "primary-return", "heating-flow", "heating-return"),
    "solar": ("solar-flow", "solar-return"),
    "brine": ("brine-flow", "brine-return"),
    "pool": ("pool-flow", "pool-return"),
}
"""Sections that people call one circuit."""


@dataclass(frozen=True)
class Target:
    """A place to be parted from `ends`: its openings and, for a circuit, all of its pipes."""

    job: str
    sort: Sort
    tags: tuple[str, ...]
    starts: tuple[PortId, ...]
    ends: tuple[PortId, ...]


def targets(facts: Facts, graph: ValveGraph) -> Iterator[Target]:
    """The places of a network that somebody may want to shut off."""
    supplies = tuple(supply_ports(facts.network))
    mains = tuple(port for port in supplies if is_main(facts.network.parts[port.tag]))
    yield from _house(facts, mains)
    yield from _drinking(facts, graph, supplies)
    yield from _places(facts, supplies)
    yield from _circuits(facts, supplies)
    yield from _parts(facts, supplies)


def _house(facts: Facts, mains: tuple[PortId, ...]) -> Iterator[Target]:
    draws = tuple(PortId(t, n) for t, p in facts.network.parts.items() for n in _draws(p))
    if mains and draws:
        yield Target("The whole house", "house", (), mains, draws)


def _draws(part: Part) -> Iterator[str]:
    """Openings by which a part draws cold water, or hot water made of it."""
    kind = part.kind
    if is_tap(part) and "drain" not in kind.counts_as:
        yield from (p.a for p in kind.passages if p.b == OUTSIDE)
    yield from (name for name in kind.ports if name in ("cold-in", "supply"))


def _drinking(facts: Facts, graph: ValveGraph, supplies: tuple[PortId, ...]) -> Iterator[Target]:
    fed = set(graph.pieces_of(supplies))
    for job, sort, sections in (
        ("Leak on the cold side", "cold", ("cold",)),
        ("Leak on the hot side", "hot", ("hot", "circulation", "tempered")),
    ):
        pipes = [p for p in facts.network.pipes if facts.waters.section[p.index] in sections]
        starts = tuple(p.start for p in pipes if sort == "hot" or graph.piece[p.start] not in fed)
        if starts and supplies:
            yield Target(job, sort, (), starts, supplies)


def _circuits(facts: Facts, supplies: tuple[PortId, ...]) -> Iterator[Target]:
    """Circuits by the water that they share; with several of a sort the first source or store of each tells them."""
    for word, sections in CIRCUITS.items():
        bodies: dict[int, list[PortId]] = {}
        for pipe in facts.network.pipes:
            if facts.waters.section[pipe.index] in sections:
                bodies.setdefault(facts.waters.body[pipe.index], []).append(pipe.start)
        for starts in bodies.values():
            which = _beginning(facts, starts) if len(bodies) > 1 else ""
            said = f"Leak on the {word} pipes{f' at {which}' if which else ''}"
            yield Target(said, "circuit", (), tuple(starts), supplies)


def _places(facts: Facts, supplies: tuple[PortId, ...]) -> Iterator[Target]:
    """Places with taps and heat of their own, such as flats, if there are several."""
    waterways = list(waterways_of(facts))
    place = {tag: part.place for tag, part in facts.network.parts.items()}
    sorts: dict[str, set[str]] = {}
    for sort, tag, _ in waterways:
        sorts.setdefault(place[tag], set()).add(sort)
    homes = [name for name, has in sorts.items() if name and "outlet" in has and has & {"emitter", "source", "coil"}]
    for name in homes if len(homes) > 1 else ():
        starts = tuple(port for _, tag, ports in waterways if place[tag] == name for port in ports)
        ends = tuple(p for sort, tag, ports in waterways if place[tag] != name and sort != "pump" for p in ports)
        tags = tuple(dict.fromkeys(port.tag for port in starts))
        yield Target(f"Everything in {name}", "place", tags, starts, (*supplies, *ends))


def _beginning(facts: Facts, starts: Iterable[PortId]) -> str:
    parts = facts.network.parts
    tags = dict.fromkeys(p.tag for p in starts)
    chosen = [t for t in tags if parts[t].kind.gives or parts[t].kind.separates] or list(tags)
    place = f", {parts[chosen[0]].place}" if parts[chosen[0]].place else ""
    return f"{chosen[0]}{place}"


def _parts(facts: Facts, supplies: tuple[PortId, ...]) -> Iterator[Target]:
    waterways = list(waterways_of(facts))
    for sort, job in _JOBS.items():
        for its_sort, tag, ports in waterways:
            if its_sort == sort:
                said = job.format(name_of(facts.network, tag), side=_side(ports))
                yield Target(said, sort, (tag,), ports, _ends(waterways, tag, ports, sort, supplies))


_JOBS: Mapping[Sort, str] = {
    "outlet": "Leak at {}",
    "emitter": "{} off or leaking",
    "store": "Leak at {}, or out of service",
    "coil": "Work on the {side} of {}",
    "source": "Work on {}",
    "pump": "Work on {}",
    "filter": "Work on {}",
}
"""The order of parts, and what the job is called."""


def _side(ports: Sequence[PortId]) -> str:
    """What the openings of one side have in common: "upper coil", "primary side"."""
    common = os.path.commonprefix([port.port for port in ports]).rpartition("-")[0].replace("-", " ")
    return common if common.endswith("coil") else f"{common or 'heating'} side"


def _ends(
    waterways: list[Waterway], tag: str, ports: tuple[PortId, ...], sort: Sort, supplies: tuple[PortId, ...]
) -> tuple[PortId, ...]:
    """Supplies, and every other source, store, header and emitter: each holds water that would run out."""
    if sort == "outlet":
        return supplies
    holders = [
        port
        for its_sort, other, others in waterways
        if its_sort in ("source", "store", "header", "emitter", "coil") and (other, others) != (tag, ports)
        for port in others
    ]
    return (*supplies, *holders)
