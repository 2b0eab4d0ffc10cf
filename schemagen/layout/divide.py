"""Which parts share a sheet: a system that is too large for one is cut at its natural joints.

Natural joints are the outlines of places and the few pipes by which a zone, a dwelling or a plant hangs on the rest.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from math import ceil

from schemagen.layout.block import Block
from schemagen.layout.canonical import in_canonical_order
from schemagen.layout.contract import contract
from schemagen.layout.lay_out import standing_in
from schemagen.network.network import Network
from schemagen.network.waters import Waters

AIR = 20
"""Units of room that a piece needs round it."""

JOINT = 40
"""Side of the room that a lone tee needs, in units."""

PIPES_FOR_A_SHEET = 6
"""Cut pipes that an empty sheet is worth: a sheet half full is as bad as three pipes more that are cut."""

HALF = 0.55
"""What one half may have of the room that a whole needs."""

LUCKY = 1.35
"""How much more room than is usual on a sheet two groups may need that are tried on one."""

SEEDS = 24
"""Pieces, the farthest from the heat source, from which a sheet is grown on trial."""

Tags = tuple[str, ...]


@dataclass(frozen=True)
class Piece:
    """What stays together, and the room it needs in square units."""

    tags: Tags
    room: int


@dataclass(frozen=True)
class _Map:
    """Pieces, how many pipes join each pair, and how far each is from the heat source."""

    pieces: tuple[Piece, ...]
    joins: tuple[Mapping[int, int], ...]
    far: tuple[int, ...]


def divide(network: Network, waters: Waters, area: float, fits: Callable[[Tags, bool], bool]) -> tuple[Tags, ...]:
    """The tags on each sheet, the heat source's first; none if some part is too large for any.

    `area` is a sheet's, in square units; `fits` says whether these parts can be drawn on one, and is told whether it
    is the first. After: every part is on
    exactly one sheet; what hangs on a part, or acts on one and has no pipe, is on that part's sheet; a place is on one
    sheet if it fits. Tags and the order of the list change nothing.
    """
    network, _, _ = in_canonical_order(network, waters.section)
    order = {tag: n for n, tag in enumerate(network.parts)}
    far = _far(network)
    nearest = min(network.parts, key=lambda tag: (far[tag], order[tag]))

    @cache
    def fit(tags: Tags) -> bool:
        return fits(tags, nearest in tags)

    done: list[Tags] = []
    room = _usual(area)
    waiting = _split(network, tuple(network.parts), far, room)[::-1]
    while waiting:
        tags = waiting.pop()
        if fit(tags):
            done.append(tags)
            continue
        halves = _split(network, tags, far, HALF * _needed(network, tags))
        if len(halves) < 2:
            return ()
        waiting += halves[::-1]
    return tuple(_by_distance(_merged(network, done, order, nearest, LUCKY * room, fit), far, order))


def _usual(area: float) -> float:
    """The room that the pieces on a sheet usually need: less of a large one, as more pipes pass. Found by trial."""
    return 3 * area**0.75


def _split(network: Network, tags: Tags, far: Mapping[str, int], room: float) -> list[Tags]:
    """The tags in groups whose pieces need no more than `room`, all filled about evenly, the nearest group first.

    A place is cut only if it is all there is.
    """
    whole_places = _pieces(network, tags, True)
    here = _map(network, whole_places if len(whole_places) > 1 else _pieces(network, tags, False), far)
    whole = sum(piece.room for piece in here.pieces)
    even = min(room, 1.1 * whole / max(1, ceil(whole / room)))
    order = {tag: n for n, tag in enumerate(network.parts)}
    groups = (
        tuple(sorted((t for v in group for t in here.pieces[v].tags), key=order.get)) for group in _groups(here, even)
    )
    return _by_distance(groups, far, order)


def _by_distance(groups, far: Mapping[str, int], order: Mapping[str, int]) -> list[Tags]:
    return sorted(groups, key=lambda tags: (min(far[t] for t in tags), min(order[t] for t in tags)))


def _merged(
    network: Network, groups: Sequence[Tags], order: Mapping[str, int], nearest: str, room: float,
    fits: Callable[[Tags], bool],
) -> list[Tags]:  # fmt: skip
    """Groups put together by twos, those with most pipes between them first, as long as both fit one sheet.

    Two that need as much room as two others that did not fit are not tried; the first sheet has limits of its own.
    """
    most = {True: room, False: room}
    groups = list(groups)
    needed = [_needed(network, tags) for tags in groups]
    while True:
        for a, b in _neighbours(network, groups):
            both = tuple(sorted((*groups[a], *groups[b]), key=order.get))
            first = nearest in both
            if needed[a] + needed[b] > most[first]:
                continue
            if fits(both):
                groups[a], needed[a] = both, needed[a] + needed[b]
                del groups[b], needed[b]
                break
            most[first] = needed[a] + needed[b] - 1
        else:
            return groups


def _needed(network: Network, tags: Tags) -> int:
    """The room that the pieces of some parts need, in square units."""
    return sum(piece.room for piece in _pieces(network, tags, False))


def _neighbours(network: Network, groups: Sequence[Tags]) -> list[tuple[int, int]]:
    where = {tag: n for n, group in enumerate(groups) for tag in group}
    between: dict[tuple[int, int], int] = {}
    for pipe in network.pipes:
        a, b = sorted((where[pipe.start.tag], where[pipe.end.tag]))
        if a != b:
            between[a, b] = between.get((a, b), 0) + 1
    return sorted(between, key=lambda pair: (-between[pair], len(groups[pair[0]]) + len(groups[pair[1]]), pair))


def _pieces(network: Network, tags: Tags, whole_places: bool) -> tuple[Piece, ...]:
    """Blocks, or whole places and the blocks that stand in none; what has no pipe goes with what it acts on."""
    inside: dict[str, list[str]] = {}
    for tag in tags:
        inside.setdefault(standing_in(network, tag), []).append(tag)
    out: list[Piece] = []
    loose: list[str] = []
    for place, own in inside.items():
        blocks = contract(network, own)
        if place and whole_places:
            out.append(Piece(tuple(own), sum(map(_room_of, blocks))))
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


def _map(network: Network, pieces: tuple[Piece, ...], far: Mapping[str, int]) -> _Map:
    where = {tag: n for n, piece in enumerate(pieces) for tag in piece.tags}
    joins: list[dict[int, int]] = [{} for _ in pieces]
    for pipe in network.pipes:
        a, b = where.get(pipe.start.tag, -1), where.get(pipe.end.tag, -1)
        if a != b and min(a, b) >= 0:
            joins[a][b] = joins[a].get(b, 0) + 1
            joins[b][a] = joins[b].get(a, 0) + 1
    return _Map(pieces, tuple(joins), tuple(min(far[t] for t in piece.tags) for piece in pieces))


def _far(network: Network) -> dict[str, int]:
    """Pipes between each part and the nearest in which heat is made; what no pipe joins to one is farthest."""
    beside: dict[str, list[str]] = {tag: [] for tag in network.parts}
    for pipe in network.pipes:
        beside[pipe.start.tag].append(pipe.end.tag)
        beside[pipe.end.tag].append(pipe.start.tag)
    far = {tag: 0 for tag in network.parts if _makes_heat(network, tag)}
    queue = list(far)
    for tag in queue:
        for other in beside[tag]:
            if other not in far:
                far[other] = far[tag] + 1
                queue.append(other)
    return {tag: far.get(tag, len(network.parts)) for tag in network.parts}


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
