"""One level of the drawing: blocks and the pipes between them become one rigid shape."""

from collections.abc import Mapping, Sequence

from schemagen.base.geometry import OPPOSITE, Box, Point, simplified
from schemagen.layout.block import Block
from schemagen.layout.channels import Item, tracks
from schemagen.layout.columns import tee_sides, with_corners
from schemagen.layout.compact import Near, compacted, in_the_way
from schemagen.layout.draft import Draft, Wire
from schemagen.layout.gravity import Gravity, gravity
from schemagen.layout.levels import SHEET, WEIGHT, fitted, levels, oriented
from schemagen.layout.order import Wish, crossings_in, ways_round
from schemagen.layout.paths import Ladder
from schemagen.layout.rows import heights
from schemagen.layout.search import TRIES, scenes
from schemagen.layout.shapes import End, Opening, Shape, Ways, joined, port_of, tee_placed
from schemagen.layout.trials import Scene
from schemagen.network.network import Network

TRACK = 20
ROUNDS = 3

MANY, STRETCH = 100, 20
"""Up to how many blocks a drawing is folded and other levels are tried, and what a level more costs a pipe in these."""

CROSSING, UPSIDE_DOWN, APART = 60, 200, 150
"""What a crossing is worth, a pair with the higher thing below, and two of a kind in different columns that naturally
stand in one, in units of the sheet's width."""

SKETCHED = TRIES // 4
"""How many nodes are looked at for a drawing that only says where pipes leave places."""

ENOUGH, FOLDS, FOLDED, DEEP, LEAST_GAIN, MOST_AREA = 1000, 6, 3, 300, 20, 1.1
"""Width of a sheet on which nothing is folded; how often a drawing is folded, how many ways are tried each time,
where shapes overlap by less than what, for what gain in width, and by what the area may grow."""


def arrange(
    network: Network,
    section: Sequence[str],
    blocks: Sequence[Block],
    ends: Mapping[int, tuple[int, int]],
    exits: Mapping[int, str],
    wish: Wish,
) -> Shape:
    """All blocks and the pipes `ends` (pipe: block at its start, block at its end) between them, as one shape.

    After: nothing overlaps, every pipe runs level or upright from opening to opening and touches nothing else.
    """  # fmt: skip
    links = _links(blocks, section, ends)
    up = gravity(network, section, blocks, ends)
    plain = levels(links, len(blocks), exits, up.roofs, up.before)
    starts = [plain]
    if len(blocks) <= MANY and not exits and not up.before:
        starts.append(fitted(plain, links, _sizes(blocks), STRETCH))
    alike = _alike(network, blocks, plain)
    tried = []
    for level in dict.fromkeys(map(tuple, starts)):
        found = scenes(blocks, links, level, ends, exits, wish, up, alike)
        for scene in found[:1] if exits else found:
            badness, shape = _arranged(network, section, blocks, ends, exits, scene, up)
            badness += APART * sum(scene.level[a] != scene.level[b] for a, b in alike)
            tried.append((badness, shape))
    return min(tried, key=lambda t: t[0])[1]


def _arranged(network, section, blocks, ends, exits, found: Scene, up: Gravity) -> tuple[float, Shape]:
    """The shape that follows from a scene, and how far it is from good."""
    shapes, lad = found.shapes(blocks), found.ladder
    sides = tee_sides(lad, shapes, section, ends)
    with_corners(lad, shapes, sides)
    solid = [_tee(network, block, sides) if s is None else s for block, s in zip(blocks, shapes, strict=True)]
    weight = {pipe: WEIGHT.get(section[pipe], 2) for pipe in ends}
    placed, wires = _drawn(lad, solid, weight, up)
    near = Near(exits, _alike(network, blocks, found.level), up)
    draft = _folded(_closer(Draft.of(placed, wires), near), near)
    placed, wires = draft.shapes(), draft.wires
    routes = {w.pipe: _whole(w, placed) for w in wires}
    ways_out = {
        end.other: Opening(o.at, OPPOSITE[o.side])
        for n, s in enumerate(placed)
        if n in exits
        for end, o in s.open.items()
    }
    crossings = crossings_in(lad, shapes)
    badness = CROSSING * (crossings + sum(s.crossings for s in placed)) + _scale(draft.extent)
    badness += UPSIDE_DOWN * sum(placed[a].bounds().y > placed[b].bounds().y for a, b in up.over)
    return badness, joined([*(_closed(s) for s in placed), Shape((), routes, (), (), ways_out, crossings=crossings)])


def _closer(draft: Draft, near: Near) -> Draft:
    """All moved closer together along both axes in turn, until nothing moves."""
    stood = 0
    for axis in "xy" * ROUNDS:
        closer = compacted(draft, axis, near) or draft
        stood = stood + 1 if closer is draft else 0
        draft = closer
        if stood == 2:
            break
    return draft


def _folded(draft: Draft, near: Near) -> Draft:
    """What is too wide made narrower, and what is too high lower: what makes it so is put above or beside instead."""
    for _ in range(FOLDS if len(draft.measured.shapes) <= MANY else 0):
        size = draft.extent
        if _scale(size) <= ENOUGH:
            break
        axis, other = ("x", "y") if size.w > SHEET * size.h else ("y", "x")
        for rule in in_the_way(draft, axis)[:FOLDED]:
            apart = compacted(draft, other, near, (rule,)) if rule.gap < DEEP else None
            once = compacted(apart, axis, near) if apart else None
            if once is None or _scale(once.extent) >= _scale(size):
                continue
            tried = _closer(once, near)
            if _scale(tried.extent) < _scale(size) - LEAST_GAIN and _area(tried.extent) < _area(size) * MOST_AREA:
                draft = tried
                break
        else:
            break
    return draft


def _scale(size: Box) -> float:
    """How wide a sheet the drawing needs."""
    return max(size.w, SHEET * size.h)


def _area(size: Box) -> int:
    return size.w * size.h


def exit_order(
    network: Network, blocks: Sequence[Block], section: Sequence[str], ends: Mapping[int, tuple[int, int]]
) -> Ways:
    """For each way out of a block without shapes (a place to be laid out yet): the best side and how far down it."""
    links = _links(blocks, section, ends)
    up = gravity(network, section, blocks, ends)
    level = levels(links, len(blocks), {}, up.roofs, up.before)
    found = scenes(blocks, links, level, ends, {}, {}, up, (), SKETCHED)[0]
    rooms = [n for n, block in enumerate(blocks) if not block.shapes and not block.joint]
    return ways_round(found.ladder, found.shapes(blocks), rooms)


def _alike(network: Network, blocks: Sequence[Block], level: Sequence[int]) -> list[tuple[int, int]]:
    """Pairs of blocks of one level that have the same kind of part at their heart."""
    last: dict[tuple, int] = {}
    out = []
    for n, block in enumerate(blocks):
        if block.tags and not block.run and not block.joint:
            key = level[n], network.parts[block.shapes[0].parts[0].tag].kind.name, len(block.tags)
            if key in last:
                out.append((last[key], n))
            last[key] = n
    return out


def _sizes(blocks: Sequence[Block]) -> dict[int, tuple[int, int]]:
    boxes = {n: b.shapes[0].bounds() for n, b in enumerate(blocks) if b.shapes}
    return {n: (box.w, box.h) for n, box in boxes.items()}


def _links(blocks: Sequence[Block], section: Sequence[str], ends: Mapping[int, tuple[int, int]]):
    pairs = [(pipe, a, b, bool(blocks[a].joint and blocks[b].joint)) for pipe, (a, b) in ends.items()]
    return oriented(pairs, section, len(blocks))


def _whole(wire: Wire, shapes: Sequence[Shape]) -> tuple[Point, ...]:
    """The pipe with its ways inside the outlines at its ends."""
    first = shapes[wire.a].stubs.get(End(wire.pipe, 0), ())
    last = shapes[wire.b].stubs.get(End(wire.pipe, 1), ())
    return simplified((*first, *wire.points, *last[::-1]))


def _closed(shape: Shape) -> Shape:
    return Shape(shape.parts, shape.routes, shape.labels, shape.places, crossings=shape.crossings)


def _tee(network: Network, block: Block, sides: Mapping[End, str]) -> Shape:
    part = network.parts[block.joint]
    names = {end: port_of(network, end).port for end in block.ends}
    given = {}
    openings = {}
    for end in block.ends:
        side = sides.get(end) or next(s for s in "LRTB" if s not in given.values() and s not in sides.values())
        given[names[end]] = side
    p = tee_placed(part, Point(part.kind.symbol.w // 2, part.kind.symbol.h // 2), given)
    for end in block.ends:
        port = p.ports[names[end]]
        openings[end] = Opening(port.at, port.side)
    return Shape((p,), {}, (), (), openings)


def _drawn(lad: Ladder, shapes: Sequence[Shape], weight: Mapping[int, int], up: Gravity):
    """First legal geometry: columns side by side, wide enough for every track between them."""
    y = heights(lad, shapes, weight, up)
    items: dict[int, list[Item]] = {}
    lines: dict[int, list[int]] = {}
    for w, way in enumerate(lad.ways):
        for i, channel in enumerate(way.channels):
            if channel is None:
                continue
            a, b = way.nodes[i], way.nodes[i + 1]
            ya, yb = _level_of(lad, shapes, way, i, y), _level_of(lad, shapes, way, i + 1, y)
            sa = -1 if lad.nodes[a].level == channel else 1
            sb = -1 if lad.nodes[b].level == channel else 1
            lines.setdefault(channel, []).extend((ya, yb))
            if ya != yb or sa == sb:
                items.setdefault(channel, []).append(Item(w, i, ((ya, sa), (yb, sb))))
    x = 0
    column: dict[int, int] = {}
    track: dict[tuple[int, int], list[tuple[int, int, int]]] = {}
    for n in range(-1, len(lad.levels)):
        if n >= 0:
            column[n] = x
            x += max((shapes[lad.nodes[v].block].bounds().w for v in lad.levels[n] if lad.nodes[v].is_block), default=0)
        placed = tracks(items.get(n, ()), lines.get(n, ()))
        for item in placed:
            x += TRACK
            track.setdefault((item.way, item.step), []).append((item.part, x, item.meets[1][0]))
        x += TRACK
    at = []
    for v in range(len(shapes)):
        box = shapes[v].bounds()
        at.append(shapes[v].moved(column[lad.nodes[v].level] - box.x, y[v]))
    wires = []
    for pipe, a, b in lad.uprights:
        first, last = at[a].open[End(pipe, 0)].at, at[b].open[End(pipe, 1)].at
        wires.append(Wire(pipe, a, b, (first, last), weight[pipe]))
    for w, way in enumerate(lad.ways):
        wires.append(_wire(lad, at, way, w, y, track, weight))
    return at, wires


def _level_of(lad: Ladder, shapes: Sequence[Shape], way, i: int, y: Sequence[int]) -> int:
    node = lad.nodes[way.nodes[i]]
    if not node.is_block:
        return y[way.nodes[i]]
    return y[way.nodes[i]] + shapes[node.block].open[End(way.pipe, 0 if i == 0 else 1)].at.y


def _wire(lad: Ladder, at: Sequence[Shape], way, w: int, y: Sequence[int], track, weight) -> Wire:
    a, b = way.nodes[0], way.nodes[-1]
    first, last = at[a].open[End(way.pipe, 0)].at, at[b].open[End(way.pipe, 1)].at
    points = [first]
    for i, channel in enumerate(way.channels):
        u, v = way.nodes[i], way.nodes[i + 1]
        if channel is None:
            if lad.nodes[v].is_corner:
                points.append(Point(first.x, y[v]))
            else:
                points.append(Point(last.x, y[u]))
            continue
        for _, x, height in sorted(track.get((w, i), ())):
            points += [Point(x, points[-1].y), Point(x, height)]
    points.append(last)
    return Wire(way.pipe, a, b, simplified(points), weight[way.pipe])
