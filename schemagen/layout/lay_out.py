"""From a network to a sketch: every part has its place and every pipe a way that is legal, if not yet the best."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache, partial

from schemagen.base.geometry import Box, Point, simplified
from schemagen.base.text import label_size
from schemagen.layout.arrange import arrange, exit_order
from schemagen.layout.block import Block
from schemagen.layout.canonical import alone, in_canonical_order
from schemagen.layout.contract import contract
from schemagen.layout.gravity import lift_of
from schemagen.layout.hints import hints_of
from schemagen.layout.ladders import laddered
from schemagen.layout.levels import BACKWARD, levels, oriented
from schemagen.layout.loose import beside_targets, row_of, taken_by
from schemagen.layout.placement import PlaceBox
from schemagen.layout.shapes import End, Opening, Shape, Ways, joined, pipes_at
from schemagen.layout.twins import key_of, renamed
from schemagen.network.network import Network
from schemagen.network.waters import Waters

MARGIN = 20
"""Units between pieces that no pipe joins."""

PAD = 10
"""Units between an outline and what stands in it."""


def lay_out(network: Network, waters: Waters) -> Shape:
    """All parts and pipes of a network as one shape. Parts of one place stand in one outline; nothing overlaps."""
    network, section, index = in_canonical_order(network, waters.section)
    sketch = _sketch(network, section)
    return replace(sketch, routes={index[i]: points for i, points in sketch.routes.items()})


def _sketch(network: Network, section: Sequence[str]) -> Shape:
    tags = list(network.parts)
    far = _levels(network, section, tags)
    place_of = {t: standing_in(network, t) for t in tags}
    inside = {
        place: [t for t in tags if place_of[t] == place] for place in dict.fromkeys(p for p in place_of.values() if p)
    }
    outside = _blocks(network, [t for t in tags if not place_of[t]])
    wanted = _wanted(network, section, inside, outside, far)
    blocks: list[Block] = []
    drawn: dict[tuple, tuple[Shape, list[str], tuple[int, ...]]] = {}
    for place, inner in inside.items():
        parted = cache(partial(_blocks, network, inner))
        order = alone(network, section, inner)
        made = [_inside_of(network, section, order, parted, far, wish, drawn) for wish in ({}, wanted)]
        if made[0].parts == made[1].parts and made[0].routes == made[1].routes:
            made.pop()
        shapes = tuple(_outlined(place, shape) for shape in made)
        blocks.append(Block(tuple(inner), shapes, tuple(shapes[0].open)))
    return _group(network, section, [*blocks, *outside], far, {})


def _blocks(network: Network, tags: list[str]) -> list[Block]:
    """The blocks of some parts; a ladder is taken apart if the list says where its parts stand to each other."""
    blocks = contract(network, tags)
    pairs = [hint.pair for hint in hints_of(network)]
    if not pairs:
        return laddered(network, blocks)
    out: list[Block] = []
    for block in laddered(network, blocks):
        own = set(block.tags)
        apart = any(a in own and b in own for a, b in pairs)
        out += [b for b in blocks if own.issuperset(b.tags)] if apart else [block]
    return out


def _inside_of(
    network: Network, section, inner: list[str], parted: Callable[[], list[Block]], far, wish: Ways, drawn
) -> Shape:
    """What stands in a place, made of the blocks `parted()`: as its twin in `drawn`, if it has one there already.

    `inner` are its parts in the order that twins share.
    """
    key, pipes = key_of(network, section, inner, wish, far)
    if key in drawn:
        shape, tags, twins = drawn[key]
        return renamed(network, shape, (tags, twins), (inner, pipes))
    shape = _group(network, section, parted(), far, wish)
    drawn[key] = shape, inner, pipes
    return shape


def _wanted(network: Network, section, inside, outside: list[Block], far) -> Ways:
    """How far down its side of its outline each pipe should leave a place, as the rest of the drawing would like it."""
    rooms = []
    for inner in inside.values():
        own = set(inner)
        ends = []
        for pipe in pipes_at(network, inner):
            for n, (port, other) in enumerate(((pipe.start, pipe.end), (pipe.end, pipe.start))):
                if port.tag in own and other.tag not in own and other.tag in network.parts:
                    ends.append(End(pipe.index, n))
        rooms.append(Block(tuple(inner), (), tuple(ends)))
    blocks = [*rooms, *outside]
    ends = _ends_of(network, blocks)
    out: dict[End, tuple[str, int]] = {}
    for members in _connected(len(blocks), ends):
        if any(v < len(rooms) for v in members) and len(members) > 1:
            number = {v: n for n, v in enumerate(members)}
            own = {pipe: (number[a], number[b]) for pipe, (a, b) in ends.items() if a in number}
            out |= exit_order(network, [blocks[v] for v in members], section, own)
    return out


def _ends_of(network: Network, blocks: Sequence[Block]) -> dict[int, tuple[int, int]]:
    """The blocks at the start and end of every pipe that joins two of them."""
    where = {tag: n for n, block in enumerate(blocks) for tag in block.tags}
    out = {}
    for pipe in pipes_at(network, where):
        a, b = where.get(pipe.start.tag, -1), where.get(pipe.end.tag, -1)
        if a >= 0 and b >= 0 and End(pipe.index, 0) in blocks[a].ends:
            out[pipe.index] = (a, b)
    return out


def standing_in(network: Network, tag: str) -> str:
    """The place in whose outline a part stands: its own, or that of the part it is mounted on."""
    host = network.host_of(tag)
    own = network.parts[tag].place
    return network.parts[host.tag].place if not own and host and host.tag in network.parts else own


def _levels(network: Network, section: Sequence[str], tags: list[str]) -> Mapping[str, int]:
    """How far from the sources each part is, places left aside."""
    blocks = contract(network, tags)
    where = {tag: n for n, block in enumerate(blocks) for tag in block.tags}
    pairs = [(p.index, where[p.start.tag], where[p.end.tag], False) for p in network.pipes]
    at = levels(oriented(pairs, section, len(blocks)), len(blocks), {})
    return {tag: at[n] for tag, n in where.items()}


def _group(
    network: Network, section: Sequence[str], blocks: list[Block], far: Mapping[str, int], wanted: Ways
) -> Shape:
    """Blocks of one place, or of the whole: each connected set arranged, loose blocks below.

    `wanted` says how far down their side pipes should leave.
    """
    where = {tag: n for n, block in enumerate(blocks) for tag in block.tags}
    ends: dict[int, tuple[int, int]] = {}
    exits: dict[int, str] = {}
    wish: dict[int, tuple[str, int]] = {}
    for pipe in pipes_at(network, where):
        a, b = where.get(pipe.start.tag, -1), where.get(pipe.end.tag, -1)
        if a >= 0 and b >= 0 and _inside(blocks[a], pipe.index):
            continue
        if a < 0 or b < 0:
            end = End(pipe.index, 0 if a < 0 else 1)
            if end.other in wanted:
                wish[len(blocks)] = wanted[end.other]
            side = wanted[end.other][0] if end.other in wanted else _way_out(pipe, 1 - end.end, section, far)
            exits[len(blocks)] = side
            opening = Opening(Point(0, 0), "R" if side == "L" else "L")
            blocks = [*blocks, Block((), (Shape(open={end: opening}),), (end,))]
            a, b = (len(blocks) - 1, b) if a < 0 else (a, len(blocks) - 1)
        ends[pipe.index] = (a, b)
    sets = sorted(_connected(len(blocks), ends), key=lambda m: -max(lift_of(network, blocks[v]) for v in m))
    piped = {v for pair in ends.values() for v in pair}
    drawn = [_part_of(network, section, blocks, members, ends, exits, wish) for members in sets if members[0] in piped]
    shape = _stacked(drawn)
    standing, loose = beside_targets(network, shape, [blocks[m[0]].shapes[0] for m in sets if m[0] not in piped])
    shape = joined([shape, *standing])
    return joined([shape, *_in_rows(loose, shape)])


def _inside(block: Block, pipe: int) -> bool:
    return any(pipe in s.routes for s in block.shapes)


def _way_out(pipe, inner: int, section: Sequence[str], far: Mapping[str, int]) -> str:
    ends = (pipe.start.tag, pipe.end.tag)
    mine, other = far[ends[inner]], far[ends[1 - inner]]
    if mine != other:
        return "R" if other > mine else "L"
    return "R" if (inner == 0) != (section[pipe.index] in BACKWARD) else "L"


def _connected(count: int, ends: Mapping[int, tuple[int, int]]) -> list[list[int]]:
    root = list(range(count))

    def find(v: int) -> int:
        while root[v] != v:
            root[v] = root[root[v]]
            v = root[v]
        return v

    for a, b in ends.values():
        ra, rb = find(a), find(b)
        root[max(ra, rb)] = min(ra, rb)
    sets: dict[int, list[int]] = {}
    for v in range(count):
        sets.setdefault(find(v), []).append(v)
    return list(sets.values())


def _part_of(network, section, blocks, members, ends, exits, wish) -> Shape:
    number = {v: n for n, v in enumerate(members)}
    own = {pipe: (number[a], number[b]) for pipe, (a, b) in ends.items() if a in number}
    out = {number[v]: s for v, s in exits.items() if v in number}
    wish = {number[v]: w for v, w in wish.items() if v in number}
    return arrange(network, section, [blocks[v] for v in members], own, out, wish)


def _stacked(shapes: Sequence[Shape]) -> Shape:
    """Shapes one under the other."""
    y, out = 0, []
    for shape in shapes:
        box = shape.bounds()
        out.append(shape.moved(-box.x, y - box.y))
        y += box.h + 2 * MARGIN
    return joined(out)


def _in_rows(loose: Sequence[Shape], above: Shape) -> list[Shape]:
    """Blocks that no pipe joins, in rows under the rest, as wide as the rest, each row where it stands highest."""
    box = above.bounds() if above.parts else Box(0, 0, 0, 0)
    rows: list[list[Shape]] = []
    wide = 0
    for shape in loose:
        w = shape.bounds().w + MARGIN
        if not rows or wide + w > max(box.w, 600):
            rows.append([])
            wide = 0
        rows[-1].append(shape)
        wide += w
    out: list[Shape] = []
    floor: dict[int, int] = {}
    for taken in taken_by(above) if above.parts else ():
        _stand_on(floor, taken)
    for members in rows:
        row = row_of(members)
        own = row.bounds()
        columns = -(-own.w // MARGIN)
        last = max(box.x, box.right - own.w) // MARGIN
        spots = range(box.x // MARGIN, last + 1)
        y, n = min((max(floor.get(n + m, 0) for m in range(columns + 1)), n) for n in spots)
        out.append(row.moved(n * MARGIN - own.x, y - own.y))
        _stand_on(floor, out[-1].bounds())
    return out


def _stand_on(floor: dict[int, int], taken: Box) -> None:
    """Lowers, in columns as wide as a margin, the least height at which anything clear of a box may stand."""
    for n in range(taken.x // MARGIN - 1, taken.right // MARGIN + 2):
        floor[n] = max(floor.get(n, 0), taken.bottom + MARGIN)


def _outlined(name: str, shape: Shape) -> Shape:
    """The shape inside an outline with its name at the top left; ways out are drawn to the outline."""
    w, h = label_size((name,), False)
    box = shape.bounds()
    left, right = box.x - PAD, max(box.right, box.x + w) + PAD
    frame = Box(left, box.y - PAD - h - 4, right - left, box.h + 2 * PAD + h + 4)
    label = Box(left + 8, frame.y + 6, w, h)
    routes = dict(shape.routes)
    ends, stubs = {}, {}
    for end, o in shape.open.items():
        edge = Point(left if o.side == "L" else right, o.at.y)
        ends[end] = Opening(edge, o.side)
        points = routes.pop(end.pipe)
        stubs[end] = simplified((*(points if end.end == 0 else points[::-1]), edge))
    places = (*shape.places, PlaceBox(name, frame, label))
    return Shape(shape.parts, routes, shape.labels, places, ends, stubs, shape.crossings)
