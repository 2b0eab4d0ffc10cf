"""Which parts share a sheet: a system that is too large for one is cut at its natural joints.

Natural joints are the outlines of places and the few pipes by which a zone, a dwelling or a plant hangs on the rest.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from schemagen.layout.canonical import in_canonical_order
from schemagen.layout.contract import Block, contract
from schemagen.layout.lay_out import standing_in
from schemagen.network.network import Network
from schemagen.network.waters import Waters

AIR = 20
"""Units of room that a piece needs round it."""

JOINT = 40
"""Side of the room that a lone tee needs, in units."""

PIPES_FOR_A_SHEET = 6
"""Cut pipes that an empty sheet is worth: a sheet half full is as bad as three pipes more that are cut."""

SEEDS = 24
"""Pieces, the farthest from the heat source, from which a sheet is grown on trial."""


@dataclass(frozen=True)
class Piece:
    """What stays together, and the room it needs in square units."""

    tags: tuple[str, ...]
    room: int


@dataclass(frozen=True)
class _Map:
    """Pieces, how many pipes join each pair, how far each is from the heat source, and whether heat is made in it."""

    pieces: tuple[Piece, ...]
    joins: tuple[Mapping[int, int], ...]
    far: tuple[int, ...]


def room_needed(network: Network, waters: Waters) -> int:
    """The room that all pieces of a network need together, in square units; a drawing takes several times as much."""
    return sum(piece.room for piece in _pieces(*in_canonical_order(network, waters.section)[:2], 0))


def divide(network: Network, waters: Waters, room: int) -> tuple[tuple[str, ...], ...]:
    """The tags on each sheet, the heat source's first, if the pieces of a sheet may need `room` square units.

    After: every part is on exactly one sheet; a place is on one sheet if its pieces need no more than that; what hangs
    on a part, or acts on one and has no pipe, is on that part's sheet. Tags and the order of the list change nothing.
    """
    network, section, _ = in_canonical_order(network, waters.section)
    here = _map(network, _pieces(network, section, room))
    whole = sum(piece.room for piece in here.pieces)
    even = min(room, 1.1 * whole / max(1, ceil(whole / room)))
    groups = sorted(_groups(here, even), key=lambda group: (min(here.far[v] for v in group), min(group)))
    order = {tag: n for n, tag in enumerate(network.parts)}
    return tuple(tuple(sorted((t for v in group for t in here.pieces[v].tags), key=order.get)) for group in groups)


def _pieces(network: Network, section: Sequence[str], room: int) -> tuple[Piece, ...]:
    """Whole places, as long as `room` is enough for each, and blocks; what has no pipe goes with what it acts on."""
    inside: dict[str, list[str]] = {}
    for tag in network.parts:
        inside.setdefault(standing_in(network, tag), []).append(tag)
    out: list[Piece] = []
    loose: list[str] = []
    for place, tags in inside.items():
        blocks = contract(network, tags)
        if place and sum(map(_room_of, blocks)) <= room:
            out.append(Piece(tuple(tags), sum(map(_room_of, blocks))))
            continue
        for block in blocks:
            if block.ends:
                out.append(Piece(block.tags, _room_of(block)))
            else:
                loose += block.tags
    return _with_loose(network, out, loose)


def _room_of(block: Block) -> int:
    if not block.shapes:
        return JOINT * JOINT
    box = block.shapes[0].bounds()
    return (box.w + AIR) * (box.h + AIR)


def _with_loose(network: Network, pieces: list[Piece], loose: Sequence[str]) -> tuple[Piece, ...]:
    """Parts without pipes join the piece of the first thing they act on or sit on; else a piece of their own."""
    where = {tag: n for n, piece in enumerate(pieces) for tag in piece.tags}
    tags: list[list[str]] = [list(piece.tags) for piece in pieces]
    alone = []
    for tag in loose:
        host = network.host_of(tag)
        targets = (*network.parts[tag].value("switches", ()), *((host.tag,) if host else ()))
        at = next((where[t] for t in targets if t in where), None)
        if at is None:
            alone.append(Piece((tag,), JOINT * JOINT))
        else:
            tags[at].append(tag)
    return (*(Piece(tuple(own), piece.room) for own, piece in zip(tags, pieces, strict=True)), *alone)


def _map(network: Network, pieces: tuple[Piece, ...]) -> _Map:
    where = {tag: n for n, piece in enumerate(pieces) for tag in piece.tags}
    joins: list[dict[int, int]] = [{} for _ in pieces]
    for pipe in network.pipes:
        a, b = where[pipe.start.tag], where[pipe.end.tag]
        if a != b:
            joins[a][b] = joins[a].get(b, 0) + 1
            joins[b][a] = joins[b].get(a, 0) + 1
    return _Map(pieces, tuple(joins), _far(network, pieces, joins))


def _far(network: Network, pieces: Sequence[Piece], joins: Sequence[Mapping[int, int]]) -> tuple[int, ...]:
    """Joints between each piece and the nearest in which heat is made; what no pipe joins to one is farthest."""
    makers = [n for n, piece in enumerate(pieces) if any(_makes_heat(network, tag) for tag in piece.tags)]
    far = dict.fromkeys(makers, 0)
    queue = list(makers)
    for v in queue:
        for w in sorted(joins[v]):
            if w not in far:
                far[w] = far[v] + 1
                queue.append(w)
    return tuple(far.get(v, len(pieces)) for v in range(len(pieces)))


def _makes_heat(network: Network, tag: str) -> bool:
    kind = network.parts[tag].kind
    return kind.giver == "controlled" and not kind.taker and network.host_of(tag) is None


def _groups(here: _Map, room: float) -> Iterator[list[int]]:
    """Sheet after sheet is cut off the rest, from the far ends inwards, until the rest is one sheet."""
    left = dict.fromkeys(range(len(here.pieces)))
    spare = sum(piece.room for piece in here.pieces)
    while spare > room and len(left) > 1:
        seeds = sorted(left, key=lambda v: (-here.far[v], v))[:SEEDS]
        group = min((_grown(here, left, seed, room) for seed in seeds), key=lambda found: found[0])[1]
        yield group
        for v in group:
            del left[v]
            spare -= here.pieces[v].room
    if left:
        yield list(left)


def _grown(here: _Map, left: Mapping[int, None], seed: int, room: float) -> tuple[float, list[int]]:
    """The best sheet that grows from a seed, piece by piece where it cuts fewest pipes, and how bad it is."""
    group: list[int] = []
    within: set[int] = set()
    links: dict[int, int] = {seed: 0}
    degree = {}
    cut, filled = 0, 0
    best: tuple[float, list[int]] = (float("inf"), [seed])
    while links:
        for v in links:
            if v not in degree:
                degree[v] = sum(n for w, n in here.joins[v].items() if w in left)
        v = min(links, key=lambda v: (degree[v] - 2 * links[v], -links[v], -here.far[v], v))
        if group and filled + here.pieces[v].room > room:
            del links[v]
            continue
        cut += degree[v] - 2 * links.pop(v)
        group.append(v)
        within.add(v)
        filled += here.pieces[v].room
        for w, n in here.joins[v].items():
            if w in left and w not in within:
                links[w] = links.get(w, 0) + n
        bad = cut + PIPES_FOR_A_SHEET * (1 - filled / room)
        if bad < best[0]:
            best = bad, list(group)
    return best
