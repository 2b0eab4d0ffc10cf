"""Questions about circulation that several checks of this group ask."""

from collections.abc import Iterable

from schemagen.network.network import Part, PortId
from schemagen.parts.kind import OUTSIDE

WORKING = ("named", "call", "all-calls")
"""Sorts of states in which somebody wants heat."""

_OPEN_WHEN_IN_USE = ("thermostatic-radiator-valve", "zone-valve", "radiator-valve", "lockshield-valve")


def side_of(name: str) -> str:
    """ "primary" of "primary-flow" or "primary-in"; "" for an opening that belongs to no side."""
    side, _, end = name.rpartition("-")
    return side if end in ("flow", "return", "in", "out") else ""


def circuits(facts) -> list[set[PortId]]:
    """Closed waters, cut at separators: the two sides of such a part are told apart by their openings' names."""
    _, groups = facts.reach.joined(lambda part, p: not (part.kind.separates and side_of(p.a) != side_of(p.b)))
    return [set(ports) for ports in groups if len(ports) > 2]


def carries(facts, port: PortId) -> bool:
    """True if water ever moves in the pipe of an opening."""
    pipe = facts.pipe_at(port)
    return pipe is not None and facts.waters.carries[pipe.index]


def leaves(facts, ports: set[PortId]) -> bool:
    """True if the water is open to the outside: a supply, a cistern, or pipework that goes on elsewhere."""
    for tag in dict.fromkeys(port.tag for port in ports):
        kind = facts.network.parts[tag].kind
        for passage in kind.passages:
            steady = passage.sort != "air-gap" and kind.ports[passage.a].role != "dead" and kind.name != "open-vent-end"
            if passage.b == OUTSIDE and steady and PortId(tag, passage.a) in ports:
                return True
    return False


def is_driven(facts, tags: Iterable[str], ports: set[PortId]) -> bool:
    """True if a pump stands in this water, or it is said to circulate by gravity."""
    for tag in tags:
        part = facts.network.parts[tag]
        if part.value("gravity") or part.kind.driver == "pump":
            return True
        if facts.drives(part) and any(PortId(tag, name) in ports for name in (*part.kind.gives, *part.kind.takes)):
            return True
    return any(pipe.values.get("gravity") for pipe in facts.network.pipes if pipe.start in ports)


def bodies(facts) -> frozenset[str]:
    """Tags of what ends a side: heat sources, separators and stores."""
    return frozenset(p.tag for p in facts.network.parts.values() if p.kind.gives or p.kind.separates or p.kind.store)


def hot_ends(facts, but: str = "") -> list[PortId]:
    """Where hot heating water starts: outlets of sources, of separators and stores towards their load,
    and of exchangers on the sides that no other of these heats."""
    out = _source_ends(facts, but) + [port for port in facts.once(_exchanged) if port.tag != but]
    return [port for port in out if facts.is_piped(port)]


def _exchanged(facts) -> list[PortId]:
    """Openings of plate exchangers on the sides that no source, separator or store heats."""
    exchangers = list(facts.parts("plate-heat-exchanger"))
    stop = bodies(facts) | {part.tag for part in facts.takers}
    heated = facts.reach.downstream_of_all(_source_ends(facts), without=stop) if exchangers else frozenset()
    sides = [
        [PortId(part.tag, name) for name in part.kind.ports if name.startswith(side)]
        for part in exchangers
        for side in ("left", "right")
    ]
    return [port for ports in sides if heated.isdisjoint(ports) for port in ports]


def _source_ends(facts, but: str = "") -> list[PortId]:
    out = [port for giver in facts.givers if giver.tag != but for port in facts.outlet_ports(giver)]
    for part in facts.network.parts.values():
        if part.tag == but or not (part.kind.separates or part.kind.store == "heating"):
            continue
        names = [n for n in part.kind.ports if n in ("secondary-flow", "load-flow", "load-2-flow", "top", "buffer-top")]
        out += [port for n in names if _gives_here(facts, part, port := PortId(part.tag, n))]
    return out


def _gives_here(facts, part: Part, port: PortId) -> bool:
    """A two-pipe buffer gives what it is given: hot water starts at its top only if the list leads it from there."""
    pipe = facts.pipe_at(port)
    return part.kind.name != "buffer-two-pipe" or (pipe is not None and pipe.start == port)


def hot_side(facts, but: str = "") -> frozenset[PortId]:
    """Ports that hot water reaches before it has passed a taker, a source or a store.

    `but`: a part not passed either.
    """
    valves = list(facts.parts("heating-mixing-valve", "loading-valve", "four-port-mixing-valve"))
    stop = bodies(facts) | {part.tag for part in (*facts.takers, *valves)} | {but}
    mixed = [PortId(v.tag, "mixed") for v in valves if v.kind.name == "heating-mixing-valve" and v.tag != but]
    return facts.reach.downstream_of_all([*hot_ends(facts, but), *mixed], without=stop)


def loads(facts, but: str = "") -> list[PortId]:
    """Openings of what takes heat, or of what stands for more beyond: takers, other separators, ends off the sheet."""
    out = [PortId(p.tag, n) for p in facts.takers for n in p.kind.takes]
    for part in facts.network.parts.values():
        if part.tag != but and (part.kind.separates or part.kind.name in ("mixing-set", "off-sheet-connector")):
            out += facts.wet_ports(part)
    return [port for port in out if port.tag != but]


def wide_headers(facts) -> dict[PortId, int]:
    """A number per port, the same for ports joined by pipes and plain parts with the valves of emitters open."""
    return facts.reach.grouped(lambda part, _: part.kind.plain or part.kind.name in _OPEN_WHEN_IN_USE)


def off(part: Part, state) -> bool:
    return part.tag not in state.pumps_on and part.tag not in state.sources_on
