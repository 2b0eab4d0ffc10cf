"""Small parts become one with what they sit on, so that only pieces that matter are left to be placed.

A gauge, a vent, a vessel or a relief valve with its tundish hangs on its tee or its store; valves, pumps and such tees
in a row become one run, straight by construction.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from schemagen.base.geometry import NORMAL, OPPOSITE, Box, Point, simplified
from schemagen.layout.captions import caption_lines, label_of, slots
from schemagen.layout.placement import Label, Placed, PlacedPort
from schemagen.layout.shapes import End, Opening, Shape, joined, moved_part, pipes_at, placed, placed_at, positions
from schemagen.network.network import Network, Part

GAP = 10
"""Least length of a pipe between two symbols, and least distance of a symbol from what is not its own."""

REACH = 400


@dataclass(frozen=True)
class Block:
    """One piece to be placed: its possible shapes, the plainest first. A `joint` is a lone tee whose sides are open."""

    tags: tuple[str, ...]
    shapes: tuple[Shape, ...]
    ends: tuple[End, ...]
    joint: str = ""
    run: bool = False


@dataclass(frozen=True)
class Tail:
    """A chain that hangs off a part: (tag, port in, port out or "") from the root outwards, and the pipes between."""

    chain: tuple[tuple[str, str, str], ...]
    root: End
    pipes: tuple[End, ...]
    loose: End | None
    down: bool


def contract(network: Network, tags: list[str]) -> list[Block]:
    """Blocks of the parts `tags`, in their order.

    After: every part of `tags` is in exactly one block; a block's pipes run within it; nothing in a block overlaps.
    """
    return _Contraction(network, tags).blocks()


class _Contraction:
    def __init__(self, network: Network, tags: list[str]) -> None:
        self.network = network
        self.tags = tags
        self.own = set(tags)
        self.ends: dict[str, list[tuple[End, str]]] = {t: [] for t in tags}
        for pipe in pipes_at(network, tags):
            for n, port in enumerate((pipe.start, pipe.end)):
                if port.tag in self.own:
                    self.ends[port.tag].append((End(pipe.index, n), port.port))
        self.mounted: dict[str, list[str]] = {}
        self.tails: dict[str, list[Tail]] = {}
        self.hung: set[str] = set()

    def blocks(self) -> list[Block]:
        for tag in self.tags:
            host = self.network.host_of(tag)
            if host and host.tag in self.own and host.tag != tag and not self.ends[tag]:
                self.mounted.setdefault(host.tag, []).append(tag)
                self.hung.add(tag)
        for tag in self.tags:
            if tag in self.hung or not self._carries_tails(tag):
                continue
            for end, _ in self.ends[tag]:
                tail = self._tail(tag, end)
                if tail and not any(t in self.hung for t, _, _ in tail.chain):
                    self.tails.setdefault(tag, []).append(tail)
                    self.hung.update(t for t, _, _ in tail.chain)
        out, done = [], set(self.hung)
        for tag in self.tags:
            if tag in done:
                continue
            chain = self._chain(tag, done) if self._is_unit(tag) else [tag]
            block = self._run(chain) if self._is_unit(tag) else None
            if block is None:
                block = self._major(tag)
                done.add(tag)
                self._give_back(tag, block, done)
            else:
                done.update(chain)
                for t in chain:
                    self._give_back(t, block, done)
            out.append(block)
        for tag in self.tags:
            if tag not in done:
                block = self._major(tag)
                done.add(tag)
                out.append(block)
        return out

    def _give_back(self, root: str, block: Block, done: set[str]) -> None:
        """What could not be hung on its root after all is placed by itself."""
        for tail in self.tails.get(root, ()):
            for tag, _, _ in tail.chain:
                if tag not in block.tags:
                    done.discard(tag)
        for tag in self.mounted.get(root, ()):
            if tag not in block.tags:
                done.discard(tag)

    def part(self, tag: str) -> Part:
        return self.network.parts[tag]

    def _far(self, end: End):
        pipe = self.network.pipes[end.pipe]
        return pipe.start if end.end else pipe.end

    # -- what hangs ------------------------------------------------------------------------------------------------

    def _carries_tails(self, tag: str) -> bool:
        part = self.part(tag)
        return part.kind.shape in ("tee", "major") and len(self.ends[tag]) > 1

    def _tail(self, root: str, end: End) -> Tail | None:
        chain: list[tuple[str, str, str]] = []
        pipes: list[End] = []
        seen = {root}
        at = end
        while True:
            port = self._far(at)
            if port.tag not in self.own or port.tag in seen or port.tag in self.hung or len(chain) > 5:
                return None
            seen.add(port.tag)
            part = self.part(port.tag)
            rest = [(e, p) for e, p in self.ends[port.tag] if e != at.other]
            if chain:
                pipes.append(at)
            if not rest:
                down = _is_relief(part, port.port) or self._hangs(part, port.port)
                if down is None:
                    return None
                chain.append((port.tag, port.port, ""))
                return Tail(tuple(chain), end, tuple(pipes), None, down)
            if len(rest) != 1:
                return None
            out, name = rest[0]
            chain.append((port.tag, port.port, name))
            if _is_relief(part, port.port):
                more = self._tail_on(port.tag, out, seen)
                if more:
                    return Tail((*chain, *more.chain), end, (*pipes, more.root, *more.pipes), more.loose, True)
                return Tail(tuple(chain), end, tuple(pipes), out, True)
            if part.kind.shape != "inline":
                return None
            at = out

    def _tail_on(self, tag: str, end: End, seen: set[str]) -> Tail | None:
        tail = self._tail(tag, end)
        return tail if tail and tail.down and not any(t in seen for t, _, _ in tail.chain) else None

    def _hangs(self, part: Part, port: str) -> bool | None:
        """True if the part hangs down from its port, False if it stands on it, None if it does neither."""
        if part.kind.shape != "stub" and part.kind.family != "ends":
            return None
        for turn, mirror in positions(part):
            side = placed(part, turn, mirror).ports[port].side
            if side in "TB":
                return side == "T"
            if part.kind.family in ("ends", "sources") and part.kind.shape != "stub":
                return None
        return True if part.kind.shape == "stub" else None

    def _stack(self, tail: Tail, entry: str) -> Shape | None:
        """The tail hung under (or over) its entry point 0, 0, entered on the side `entry`."""
        way = "B" if tail.down else "T"
        shapes: list[Shape] = []
        at, side = Point(0, 0), entry
        ends: dict[End, Opening] = {tail.root.other: Opening(at, entry)}
        routes: dict[int, tuple[Point, ...]] = {}
        leave = Point(0, 0)
        for n, (tag, into, out) in enumerate(tail.chain):
            part = self.part(tag)
            onward = {out: way} if out else None
            if n:
                at = Point(leave.x, leave.y + (2 * GAP if tail.down else -2 * GAP))
                side = OPPOSITE[way]
            p = placed_at(part, into, at, side, onward)
            if p is None and n:
                beside = placed_at(part, into, Point(leave.x + 2 * GAP, leave.y), "L", onward)
                p = moved_part(beside, 0, leave.y + GAP - beside.box.y) if beside and tail.down else None
            if p is None:
                return None
            if n:
                entry = p.ports[into].at
                way_in = simplified((leave, Point(leave.x, entry.y), entry))
                routes[tail.pipes[n - 1].pipe] = directed(tail.pipes[n - 1], way_in)
            beyond = "b" if tail.down else "t"
            shapes.append(Shape((p,), {}, self._caption(part, p, beyond if len(tail.chain) == 1 and not out else "rl")))
            if out:
                leave = p.ports[out].at
        if tail.loose is not None:
            ends[tail.loose] = Opening(leave, way)
        return joined([*shapes, Shape((), routes, (), (), ends)])

    def _caption(self, part: Part, p: Placed, order: str) -> tuple[Label, ...]:
        lines = caption_lines(part)
        return (label_of(part, lines, slots(lines, p.box, order)[0]),) if lines else ()

    # -- runs ------------------------------------------------------------------------------------------------------

    def _is_unit(self, tag: str) -> bool:
        part = self.part(tag)
        ends = self.ends[tag]
        if part.kind.shape == "tee":
            free = len(ends) - len(self.tails.get(tag, ()))
            return free <= 2 and len(ends) <= 4
        if part.kind.shape not in ("inline", "bent") or len(ends) != 2:
            return False
        a, b = (part.kind.ports[p] for _, p in ends)
        return (
            part.kind.symbol.upright != "sideways"
            and OPPOSITE[a.side] == b.side
            and (a.at.y == b.at.y if a.side in "LR" else a.at.x == b.at.x and 90 in part.kind.symbol.turns)
        )

    def _onward(self, tag: str) -> list[End]:
        """The ends by which a unit goes on, tails left out."""
        hung = {t.root for t in self.tails.get(tag, ())}
        return [e for e, _ in self.ends[tag] if e not in hung]

    def _chain(self, tag: str, done: set[str]) -> list[str]:
        """The whole row of units through `tag`, from one end to the other."""
        chain, seen = [tag], {tag}
        for n, end in enumerate(self._onward(tag)):
            at = end
            while True:
                port = self._far(at)
                t = port.tag
                if t not in self.own or t in seen or t in done or not self._is_unit(t):
                    break
                seen.add(t)
                if n:
                    chain.append(t)
                else:
                    chain.insert(0, t)
                rest = [e for e in self._onward(t) if e != at.other]
                if not rest:
                    break
                at = rest[0]
        return chain

    def _run(self, chain: list[str]) -> Block | None:
        forward = self._row(chain)
        backward = self._row(chain[::-1], back=True)
        shapes = tuple(s for s in (forward, backward) if s)
        if len(shapes) < 2:
            return None
        return _block(shapes, run=True)

    def _row(self, chain: list[str], back: bool = False) -> Shape | None:
        """Units side by side along y = 0, from left to right, as close as their symbols and captions allow."""
        pieces: list[Shape] = []
        routes: dict[int, tuple[Point, ...]] = {}
        leave: tuple[End, Point] | None = None
        for n, tag in enumerate(chain):
            enter, go = self._through(chain, n, back)
            unit = self._unit(tag, enter, go)
            if unit is None:
                return None
            shift = _shift(pieces, unit)
            if leave is not None:
                shift = max(shift, leave[1].x + GAP)
            unit = unit.moved(shift, 0)
            if leave is not None and enter is not None:
                routes[enter.pipe] = directed(leave[0], (leave[1], unit.open[enter].at))
                unit = _closed(unit, enter)
                pieces[-1] = _closed(pieces[-1], leave[0])
            pieces.append(unit)
            leave = (go, unit.open[go].at) if go is not None else None
        return joined([*pieces, Shape((), routes)])

    def _through(self, chain: list[str], n: int, back: bool) -> tuple[End | None, End | None]:
        """By which end the n-th unit of a chain is entered and left."""
        ends = self._onward(chain[n])
        enter = next((e for e in ends if n and self._far(e).tag == chain[n - 1]), None)
        go = next((e for e in ends if n + 1 < len(chain) and e != enter and self._far(e).tag == chain[n + 1]), None)
        rest = [e for e in ends if e not in (enter, go)][:: -1 if back else 1]
        if enter is None and n == 0 and rest and (len(ends) > 1 or go is None and len(chain) == 1):
            enter = rest.pop(0)
        if go is None and n == len(chain) - 1 and rest:
            go = rest.pop(0)
        return enter, go

    def _unit(self, tag: str, enter: End | None, go: End | None) -> Shape | None:
        part = self.part(tag)
        return self._tee_unit(part, enter, go) if part.kind.shape == "tee" else self._inline_unit(part, enter, go)

    def _inline_unit(self, part: Part, enter: End | None, go: End | None) -> Shape | None:
        names = dict(self.ends[part.tag])
        if enter is None or go is None:
            return None
        p = placed_at(part, names[enter], Point(0, 0), "L", {names[go]: "R"})
        if p is None:
            return None
        ends = {enter: Opening(p.ports[names[enter]].at, "L"), go: Opening(p.ports[names[go]].at, "R")}
        shape = Shape((p,), {}, (), (), ends)
        shape = self._with_mounted(part, p, shape, "T")
        lines = caption_lines(part)
        if not lines:
            return shape
        solids = shape.solids()
        for slot in slots(lines, p.box, "bt"):
            if not any(slot[0].overlaps(s.grown(1)) for s in solids):
                return joined([shape, Shape((), {}, (label_of(part, lines, slot),))])
        return joined([shape, Shape((), {}, (label_of(part, lines, slots(lines, p.box, "b")[0]),))])

    def _tee_unit(self, part: Part, enter: End | None, go: End | None) -> Shape | None:
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
        tails = self.tails.get(part.tag, ())
        for tail in sorted(tails, key=lambda t: self.part(t.chain[0][0]).kind.symbol.h) if go is None else tails:
            side = next((s for s in ("BRT" if tail.down else "TRB") if s not in sides.values()), None)
            hung = self._hang(tail, edge[side], side, extra) if side else None
            if hung is None:
                return None
            sides[tail.root] = side
            extra.append(hung)
        for end in self._onward(part.tag):
            if end not in sides:
                side = next((s for s in "TBRL" if s not in sides.values()), None)
                if side is None:
                    return None
                sides[end] = side
        tee = tee_placed(part, Point(centre.x, 0), {dict(self.ends[part.tag])[e]: s for e, s in sides.items()})
        ends = {
            e: Opening(edge[s], s)
            for e, s in sides.items()
            if not any(t.root == e for t in self.tails.get(part.tag, ()))
        }
        return joined([Shape((tee,), {}, (), (), ends), *extra])

    def _hang(self, tail: Tail, at: Point, side: str, beside: list[Shape]) -> Shape | None:
        """The tail on an opening of a tee: at its top or bottom, or round a corner at its right, clear of `beside`."""
        if side == "R":
            stack = self._stack(tail, "T" if tail.down else "B")
            blocked = [b.grown(4) for s in beside for b in s.solids()]
            for far in range(2 * GAP, 20 * GAP, GAP) if stack else ():
                moved = stack.moved(at.x + far, GAP if tail.down else -GAP)
                if not any(b.overlaps(x) for b in moved.solids() for x in blocked):
                    return _tied(moved, tail.root, (at, Point(at.x + far, at.y)))
            return None
        if (side == "B") == tail.down:
            stack = self._stack(tail, OPPOSITE[side])
            if stack:
                return _tied(stack.moved(at.x, at.y + (GAP if tail.down else -GAP)), tail.root, (at,))
        if side != "B" or not tail.down:
            return None
        for entry, dx in (("L", 2 * GAP), ("R", -2 * GAP)):
            stack = self._stack(tail, entry)
            if stack:
                y = at.y + GAP - stack.bounds().y
                return _tied(stack.moved(at.x + dx, y), tail.root, (at, Point(at.x, y)))
        return None

    # -- majors ----------------------------------------------------------------------------------------------------

    def _major(self, tag: str) -> Block:
        part = self.part(tag)
        if part.kind.name == "tee":
            return Block((tag,), (), tuple(e for e, _ in self.ends[tag]), joint=tag)
        shapes = tuple(self._major_shape(part, turn, mirror) for turn, mirror in positions(part))
        most = max(len(s.parts) for s in shapes)
        shapes = tuple(s for s in shapes if len(s.parts) == most)
        tags = {p.tag for p in shapes[0].parts}
        shapes = tuple(s for s in shapes if {p.tag for p in s.parts} == tags)
        return _block(shapes)

    def _major_shape(self, part: Part, turn: int, mirror: bool) -> Shape:
        p = placed(part, turn, mirror)
        tails = {t.root: t for t in self.tails.get(part.tag, ())}
        ends = {e: Opening(p.ports[name].at, p.ports[name].side) for e, name in self.ends[part.tag]}
        shape = Shape((p,), {}, (), (), {e: o for e, o in ends.items() if e not in tails})
        for end, tail in tails.items():
            others = [ends[e] for e in ends if e != end]
            hung = self._hung(tail, ends[end], shape, others)
            shape = joined([shape, hung]) if hung else joined([shape, Shape((), {}, (), (), {end: ends[end]})])
        shape = self._with_mounted(part, p, shape, "RLBT")
        lines = caption_lines(part)
        if lines:
            blocked = shape.solids() + [_corridor(o) for o in shape.open.values()] + lines_of(shape)
            order = "tTbBrl" if part.kind.shape != "stub" else "rltb"
            options = [s for s in slots(lines, p.box, order) if not any(s[0].overlaps(b) for b in blocked)]
            slot = options[0] if options else self._beyond(lines, p.box, shape)
            shape = joined([shape, Shape((), {}, (label_of(part, lines, slot),))])
        return shape

    def _beyond(self, lines: tuple[str, ...], box: Box, shape: Shape) -> tuple[Box, str]:
        """A slot further out, above or below, clear of everything of the block."""
        blocked = shape.solids() + [_corridor(o) for o in shape.open.values()] + lines_of(shape)
        for away in range(0, 400, 10):
            for slot in slots(lines, box.grown(away), "TBrltb"):
                if not any(slot[0].overlaps(b) for b in blocked):
                    return slot
        raise AssertionError("a caption always finds room within 400 units")

    def _hung(self, tail: Tail, opening: Opening, shape: Shape, others: list[Opening]) -> Shape | None:
        """The tail on a port of a major part, clear of all that is there and of the ways out of its other ports."""
        blocked = [b.grown(GAP) for b in shape.solids()] + [_corridor(o) for o in others]
        at, side = opening
        nx, ny = NORMAL[side]
        tries: list[tuple[Shape | None, Point, tuple[Point, ...]]] = []
        for far in range(GAP, 13 * GAP, GAP):
            if side in "TB":
                end_on = self._stack(tail, OPPOSITE[side]) if (side == "B") == tail.down else None
                tries.append((end_on, Point(at.x, at.y + ny * far), (at,)))
                if end_on is None and len(tail.chain) == 1:
                    corner = Point(at.x, at.y + ny * (far + GAP))
                    tries.append((self._stack(tail, "L"), Point(at.x + GAP, corner.y), (at, corner)))
                    tries.append((self._stack(tail, "R"), Point(at.x - GAP, corner.y), (at, corner)))
                continue
            straight = self._stack(tail, OPPOSITE[side])
            if straight:
                tries.append((straight, Point(at.x + nx * far, at.y), (at,)))
                continue
            corner = Point(at.x + nx * (far + GAP), at.y)
            tries.append(
                (
                    self._stack(tail, "T" if tail.down else "B"),
                    Point(corner.x, at.y + (GAP if tail.down else -GAP)),
                    (at, corner),
                )
            )
        for stack, where, way in tries:
            if stack is None:
                continue
            hung = _tied(stack.moved(*where), tail.root, way)
            boxes = hung.solids() + lines_of(hung)[1:] + [_corridor(o) for o in hung.open.values()]
            own = shape.parts[0].box
            if not any(b.overlaps(x) for b in boxes for x in blocked) and not any(
                b.overlaps(own) for b in lines_of(hung)
            ):
                return hung
        return None

    def _with_mounted(self, part: Part, p: Placed, shape: Shape, sides: str) -> Shape:
        """Adds the parts that sit on this one, each touching it where there is room."""
        for tag in self.mounted.get(part.tag, ()):
            guest = self.part(tag)
            for where in self._seats(guest, p, sides):
                blocked = [s.grown(2) for s in shape.solids() if s != p.box] + [
                    _corridor(o) for o in shape.open.values()
                ]
                boxes = where.solids()
                if not any(b.overlaps(x) for b in boxes for x in [*blocked, *lines_of(shape), p.box]):
                    shape = joined([shape, where])
                    break
        return shape

    def _seats(self, guest: Part, p: Placed, sides: str) -> Iterator[Shape]:
        port = next((q for q in guest.kind.ports.values() if q.need == "mount"), None) or next(
            iter(guest.kind.ports.values()), None
        )
        for side in sides:
            long = p.box.h if side in "LR" else p.box.w
            steps = sorted(range(10, long, 10), key=lambda s: (abs(s - long * 0.45), s))
            for step in steps:
                at = {
                    "L": Point(p.box.x, p.box.y + step), "R": Point(p.box.right, p.box.y + step),
                    "T": Point(p.box.x + step, p.box.y), "B": Point(p.box.x + step, p.box.bottom),
                }[side]  # fmt: skip
                seat = placed_at(guest, port.name, at, OPPOSITE[side]) if port else None
                if seat is None and port:
                    seat = moved_part(placed(guest, 0, False), *_beside(guest, side, at))
                if seat:
                    order = {"L": "l", "R": "r", "T": "rlt", "B": "rlb"}[side]
                    lines = caption_lines(guest)
                    for slot in slots(lines, seat.box, order):
                        yield Shape((seat,), {}, (label_of(guest, lines, slot),))


def _beside(guest: Part, side: str, at: Point) -> tuple[int, int]:
    w, h = guest.kind.symbol.w, guest.kind.symbol.h
    return {
        "L": (at.x - w, at.y - h // 2),
        "R": (at.x, at.y - h // 2),
        "T": (at.x - w // 2, at.y - h),
        "B": (at.x - w // 2, at.y),
    }[side]


def _is_relief(part: Part, port: str) -> bool:
    return part.kind.shape == "bent" and len(part.kind.ports) == 2 and part.kind.ports[port].role == "dead"


def tee_placed(part: Part, centre: Point, sides: Mapping[str, str]) -> Placed:
    """A tee round a point, its openings on the sides given; a spare opening takes a side that is left."""
    s = part.kind.symbol
    left, top = centre.x - s.w // 2, centre.y - s.h // 2
    at = {
        "L": Point(left, centre.y), "R": Point(left + s.w, centre.y),
        "T": Point(centre.x, top), "B": Point(centre.x, top + s.h),
    }  # fmt: skip
    free = [x for x in "LRBT" if x not in sides.values()]
    given = {name: sides.get(name) or free.pop(0) for name in part.kind.ports}
    missing = next((x for x in "TRBL" if x not in given.values()), "T")
    turn = {"T": 0, "R": 90, "B": 180, "L": 270}[missing]
    return Placed(part.tag, Box(left, top, s.w, s.h), turn, False, {n: PlacedPort(at[x], x) for n, x in given.items()})


def _block(shapes: tuple[Shape, ...], run: bool = False) -> Block:
    return Block(tuple(p.tag for p in shapes[0].parts), shapes, tuple(shapes[0].open), run=run)


def directed(first: End, points: tuple[Point, ...]) -> tuple[Point, ...]:
    """Points that begin at `first`, in the direction of the pipe."""
    return points if first.end == 0 else points[::-1]


def _closed(shape: Shape, end: End) -> Shape:
    return Shape(
        shape.parts, shape.routes, shape.labels, shape.places, {e: o for e, o in shape.open.items() if e != end}
    )


def _tied(stack: Shape, root: End, way: tuple[Point, ...]) -> Shape:
    """The stack with the pipe from its root drawn: `way` and then the stack's entry."""
    entry = stack.open[root.other].at
    closed = _closed(stack, root.other)
    return joined([closed, Shape((), {root.pipe: directed(root, (*way, entry))})])


def _corridor(o: Opening) -> Box:
    """The strip straight out from an opening."""
    x, y = o.at
    return {
        "L": Box(x - REACH, y - 5, REACH, 10), "R": Box(x, y - 5, REACH, 10),
        "T": Box(x - 5, y - REACH, 10, REACH), "B": Box(x - 5, y, 10, REACH),
    }[o.side]  # fmt: skip


def lines_of(shape: Shape) -> list[Box]:
    return [
        Box(min(a.x, b.x) - 4, min(a.y, b.y) - 4, abs(a.x - b.x) + 8, abs(a.y - b.y) + 8)
        for points in shape.routes.values()
        for a, b in zip(points, points[1:], strict=False)
    ]


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
