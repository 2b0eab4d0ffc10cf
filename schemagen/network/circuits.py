"""Closed circuits in which heat is carried: each loop from a giver of heat to a taker and back."""

from schemagen.network.network import Network, Pipe, PortId
from schemagen.network.sides import Sides
from schemagen.network.streams import inside


def find_circuits(network: Network, medium: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """Closed loops in the listed direction, each from a giver of heat to a taker next on its way and back.

    A loop is the tags that water passes, beginning with the giver. There is one for each store, separator or exchanger,
    and one for the emitter that is nearest.
    """
    sides = Sides(network, medium)
    givers = [tag for tag, part in network.parts.items() if part.kind.gives]
    return tuple(loop for tag in givers for loop in _loops(sides, tag))


def _loops(sides: Sides, tag: str) -> list[tuple[str, ...]]:
    """The loops of one giver."""
    network, ends = sides.network, sides.ends
    pipes = [p for name in network.parts[tag].kind.ports for p in network.pipes_at.get(PortId(tag, name), ())]
    pipes = [p for p in pipes if p.index in sides.among]
    out = sides.after([p for p in pipes if p.start.tag == tag], lambda p: ends.sort(p.start) in ("giver", "solar"))
    back = sides.before([p for p in pipes if p.end.tag == tag], lambda p: ends.sort(p.end) in ("giver", "solar"))
    leaves = {}
    for i in back:
        start = network.pipes[i].start
        if ends.sort(start) in ("store", "emitter"):
            leaves.setdefault(start.tag, []).append(i)
    loops: dict[str, tuple[str, ...]] = {}
    for i in out:
        end = network.pipes[i].end
        sort = ends.sort(end)
        key = end.tag if sort == "store" else sort
        if sort in ("store", "emitter") and key not in loops:
            home = next((j for j in leaves.get(end.tag, ()) if _joined(network, end, network.pipes[j].start)), None)
            if home is not None:
                loops[key] = (
                    *(p.start.tag for p in _trail(network, out, i)[::-1]),
                    *(p.start.tag for p in _trail(network, back, home)),
                )
    return list(loops.values())


def _trail(network: Network, came: dict[int, int | None], i: int) -> list[Pipe]:
    trail = [network.pipes[i]]
    while (before := came[trail[-1].index]) is not None:
        trail.append(network.pipes[before])
    return trail


def _joined(network: Network, a: PortId, b: PortId) -> bool:
    return b.port in inside(network.parts[a.tag].kind, a.port, True)
