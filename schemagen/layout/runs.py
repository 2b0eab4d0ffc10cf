"""Valves, pumps and tees in a row as one run: units side by side on one line, straight by construction.

A run has two shapes, from left to right and back; a row that can be drawn only one way is no run.
"""

from schemagen.base.geometry import OPPOSITE, Point
from schemagen.layout.block import Block, block_of
from schemagen.layout.captions import caption_lines, label_of, slots
from schemagen.layout.mounted import with_mounted
from schemagen.layout.shapes import GAP, End, Opening, Shape, closed, directed, joined, lines_of, placed_at, tee_placed
from schemagen.layout.stacks import hung_on_tee
from schemagen.layout.tails import Piping
from schemagen.network.network import Part


def is_unit(piping: Piping, tag: str) -> bool:
    """True if a part can be one of a run: in line with what is before and behind it, all else at it a tail."""
    part = piping.part(tag)
    ends = piping.ends[tag]
    if part.kind.shape == "tee":
        free = len(ends) - len(piping.tails.get(tag, ()))
        return free <= 2 and len(ends) <= 4
    if part.kind.shape not in ("inline", "bent") or len(ends) != 2:
        return False
    a, b = (part.kind.ports[p] for _, p in ends)
    return (
        part.kind.symbol.upright != "sideways"
        and OPPOSITE[a.side] == b.side
        and (a.at.y == b.at.y if a.side in "LR" else a.at.x == b.at.x and 90 in part.kind.symbol.turns)
    )


def chain_of(piping: Piping, tag: str, done: set[str]) -> list[str]:
    """The whole row of units through `tag`, from one end to the other."""
    chain, seen = [tag], {tag}
    for n, end in enumerate(piping.onward(tag)):
        at = end
        while True:
            port = piping.far(at)
            t = port.tag
            if t not in piping.own or t in seen or t in done or not is_unit(piping, t):
                break
            seen.add(t)
            if n:
                chain.append(t)
            else:
                chain.insert(0, t)
            rest = [e for e in piping.onward(t) if e != at.other]
            if not rest:
                break
            at = rest[0]
    return chain


def run_of(piping: Piping, chain: list[str]) -> Block | None:
    """The block of a chain of units, from left to right or back; None if they cannot be drawn in a row both ways."""
    forward = _row(piping, chain)
    backward = _row(piping, chain[::-1], back=True)
    shapes = tuple(s for s in (forward, backward) if s)
    if len(shapes) < 2:
        return None
    return block_of(shapes, run=True)


def _row(piping: Piping, chain: list[str], back: bool = False) -> Shape | None:
    """Units side by side along y = 0, from left to right, as close as their symbols and captions allow."""
    pieces: list[Shape] = []
    routes: dict[int, tuple[Point, ...]] = {}
    leave: tuple[End, Point] | None = None
    for n, tag in enumerate(chain):
        enter, go = _through(piping, chain, n, back)
        unit = _unit(piping, tag, enter, go)
        if unit is None:
            return None
        shift = _shift(pieces, unit)
        if leave is not None:
            shift = max(shift, leave[1].x + GAP)
        unit = unit.moved(shift, 0)
        if leave is not None and enter is not None:
            routes[enter.pipe] = directed(leave[0], (leave[1], unit.open[enter].at))
            unit = closed(unit, enter)
            pieces[-1] = closed(pieces[-1], leave[0])
        pieces.append(unit)
        leave = (go, unit.open[go].at) if go is not None else None
    return joined([*pieces, Shape((), routes)])


def _through(piping: Piping, chain: list[str], n: int, back: bool) -> tuple[End | None, End | None]:
    """By which end the n-th unit of a chain is entered and left."""
    ends = piping.onward(chain[n])
    enter = next((e for e in ends if n and piping.far(e).tag == chain[n - 1]), None)
    go = next((e for e in ends if n + 1 < len(chain) and e != enter and piping.far(e).tag == chain[n + 1]), None)
    rest = [e for e in ends if e not in (enter, go)][:: -1 if back else 1]
    if enter is None and n == 0 and rest and (len(ends) > 1 or go is None and len(chain) == 1):
        enter = rest.pop(0)
    if go is None and n == len(chain) - 1 and rest:
        go = rest.pop(0)
    return enter, go


def _unit(piping: Piping, tag: str, enter: End | None, go: End | None) -> Shape | None:
    part = piping.part(tag)
    return _tee_unit(piping, part, enter, go) if part.kind.shape == "tee" else _inline_unit(piping, part, enter, go)


def _inline_unit(piping: Piping, part: Part, enter: End | None, go: End | None) -> Shape | None:
    names = dict(piping.ends[part.tag])
    if enter is None or go is None:
        return None
    p = placed_at(part, names[enter], Point(0, 0), "L", {names[go]: "R"})
    if p is None:
        return None
    ends = {enter: Opening(p.ports[names[enter]].at, "L"), go: Opening(p.ports[names[go]].at, "R")}
    shape = Shape((p,), {}, (), (), ends)
    shape = with_mounted(shape, p, piping.guests(part.tag), "T")
    lines = caption_lines(part)
    if not lines:
        return shape
    solids = shape.solids()
    for slot in slots(lines, p.box, "bt"):
        if not any(slot[0].overlaps(s.grown(1)) for s in solids):
            return joined([shape, Shape((), {}, (label_of(part, lines, slot),))])
    return joined([shape, Shape((), {}, (label_of(part, lines, slots(lines, p.box, "b")[0]),))])


def _tee_unit(piping: Piping, part: Part, enter: End | None, go: End | None) -> Shape | None:
    w = part.kind.symbol.w
    centre = Point(w // 2, 0)
    edge = {
        "L": Point(0, 0), "R": Point(w, 0),
        "T": Point(centre.x, -(part.kind.symbol.h // 2)),
        "B": Point(centre.x, part.kind.symbol.h - part.kind.symbol.h // 2),
    }  # fmt: skip
    sides: dict[End, str] = {}
    if enter is not None:
        sides[enter] = "L"
    if go is not None:
        sides[go] = "R"
    extra: list[Shape] = []
    tails = piping.tails.get(part.tag, ())
    for tail in sorted(tails, key=lambda t: piping.part(t.chain[0][0]).kind.symbol.h) if go is None else tails:
        side = next((s for s in ("BRT" if tail.down else "TRB") if s not in sides.values()), None)
        hung = hung_on_tee(piping.network, tail, edge[side], side, extra) if side else None
        if hung is None:
            return None
        sides[tail.root] = side
        extra.append(hung)
    for end in piping.onward(part.tag):
        if end not in sides:
            side = next((s for s in "TBRL" if s not in sides.values()), None)
            if side is None:
                return None
            sides[end] = side
    tee = tee_placed(part, Point(centre.x, 0), {dict(piping.ends[part.tag])[e]: s for e, s in sides.items()})
    ends = {e: Opening(edge[s], s) for e, s in sides.items() if not any(t.root == e for t in tails)}
    return joined([Shape((tee,), {}, (), (), ends), *extra])


def _shift(pieces: list[Shape], unit: Shape) -> int:
    """How far right the unit has to stand to be clear of the last pieces."""
    shift = 0
    mine = unit.solids() + lines_of(unit)
    for piece in pieces[-6:]:
        for a in piece.solids() + lines_of(piece):
            for b in mine:
                if a.y - 4 < b.bottom and b.y < a.bottom + 4:
                    shift = max(shift, a.right + 6 - b.x)
    return -(-shift // 10) * 10
