"""Single pipes and joints are taken up and laid again where that saves bends or crossings.

A pipe is tried straight, with one bend, and so on up to as many bends as it has; a joint may be left by its free side,
and may slide along the pipe that runs straight through it. Whatever is laid keeps clear of all that stands.
"""

from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise

from schemagen.base.geometry import OPPOSITE, Box, Point
from schemagen.layout.lay_out import standing_in
from schemagen.layout.placement import PlaceBox, Placed
from schemagen.layout.shapes import Shape, tee_placed
from schemagen.network.network import Network
from schemagen.routing.pieces import Piece, cells_of, piece_of, pieces_of
from schemagen.routing.ways import CLEAR, ways_between

NEAR, TEXT_CLEAR = CLEAR - 1, 3
"""How near a pipe may not come to pipes, parts and outlines, and to texts."""

BEND, CROSSING, LENGTH = 100, 270, 0.2
"""What a bend costs, a crossing, and a unit of length."""

PASSES = 3

LONGEST = 20_000
"""Units of a pipe from end to end, at most, that is laid again: four times the width of the largest sheet."""


def tidied(network: Network, sketch: Shape) -> Shape:
    """The sketch with better ways. After: no new fault, and no pipe has more bends or crossings than it had."""
    table = _Table(network, sketch)
    for _ in range(PASSES):
        if not table.pass_once():
            break
    return Shape(
        tuple(table.parts[p.tag] for p in sketch.parts), table.routes, sketch.labels, sketch.places,
        sketch.open, sketch.stubs, sketch.crossings,
    )  # fmt: skip


class _Table:
    """What is drawn, in buckets, with pipes and joints taken up and laid down again."""

    def __init__(self, network: Network, sketch: Shape) -> None:
        self.network = network
        self.parts: dict[str, Placed] = {p.tag: p for p in sketch.parts}
        self.routes = dict(sketch.routes)
        self.whole = sketch.bounds()
        self.solids: dict[tuple[int, int], list[Piece]] = {}
        self.pieces: dict[tuple[int, int], list[Piece]] = {}
        for part in sketch.parts:
            self._stand(part.tag, part.box)
        for text in (*(t.box for t in sketch.labels), *(p.label for p in sketch.places)):
            self._stand("", text)
        for i, points in self.routes.items():
            self._lay(i, points)
        self.joints = {
            p.index: {e.tag if self._is_tee(e.tag) else e for e in (p.start, p.end)} for p in network.pipes
        }
        self.home = {tag: standing_in(network, tag) for tag in self.parts}
        self.lines: dict[tuple[int, int], list[Piece]] = {}
        for place in sketch.places:
            for line in _outline(place):
                for cell in cells_of(line):
                    self.lines.setdefault(cell, []).append(line)
        self.at_tee: dict[str, list[tuple[int, int]]] = {}
        for pipe in network.pipes:
            for n, end in enumerate((pipe.start, pipe.end)):
                if self._is_tee(end.tag):
                    self.at_tee.setdefault(end.tag, []).append((pipe.index, n))

    def pass_once(self) -> bool:
        better = False
        for tag in self.at_tee:
            better |= self._slide(tag)
        for i in self.routes:
            better |= self._again(i)
        return better

    # -- what stands -----------------------------------------------------------------------------------------------

    def _is_tee(self, tag: str) -> bool:
        return self.network.parts[tag].kind.name == "tee"

    def _stand(self, tag: str, box: Box) -> None:
        solid = piece_of(tag, box)
        for cell in cells_of(solid):
            self.solids.setdefault(cell, []).append(solid)

    def _clear_off(self, tag: str, box: Box) -> None:
        solid = piece_of(tag, box)
        for cell in cells_of(solid):
            self.solids[cell].remove(solid)

    def _lay(self, i: int, points: Iterable[Point]) -> None:
        for piece in pieces_of(i, points):
            for cell in cells_of(piece):
                self.pieces.setdefault(cell, []).append(piece)

    def _take_up(self, i: int, points: Iterable[Point]) -> None:
        for piece in pieces_of(i, points):
            for cell in cells_of(piece):
                self.pieces[cell].remove(piece)

    # -- laying one pipe again -------------------------------------------------------------------------------------

    def _again(self, i: int) -> bool:
        """Lays pipe i better, perhaps by the free side of a joint at one end; False if there is no better way."""
        old = self.routes[i]
        if abs(old[0].x - old[-1].x) + abs(old[0].y - old[-1].y) > LONGEST:
            return False
        now = self._cost(i, old)
        if len(old) < 3 and now < CROSSING or now < CROSSING and not self._may_be_better(i, old):
            return False
        best, best_parts = old, {}
        for moved in self._ends(i):
            parts = {**self.parts, **moved} if moved else self.parts
            a, b = self._sides(i, parts)
            for points in ways_between(a, b, len(old) - 2):
                cost = self._cost(i, points, now)
                if cost is not None and cost < now:
                    now, best, best_parts = cost, points, moved
        if best is old:
            return False
        self.parts.update(best_parts)
        self.routes[i] = best
        self._take_up(i, old)
        self._lay(i, best)
        return True

    def _may_be_better(self, i: int, points: tuple[Point, ...]) -> bool:
        """True if a pipe has more bends than its openings ask for, or an opening that may change."""
        pipe = self.network.pipes[i]
        (_, s), (_, t) = self._sides(i, self.parts)
        least = 1 if (s in "LR") != (t in "LR") else 2
        at_joint = self._is_tee(pipe.start.tag) or self._is_tee(pipe.end.tag)
        return len(points) - 2 > least or len(points) == 4 and at_joint

    def _ends(self, i: int) -> Iterator[Mapping[str, Placed]]:
        """The joints at the ends of a pipe as they are, and with the pipe on their free side."""
        yield {}
        pipe = self.network.pipes[i]
        turned = []
        for end in (pipe.start, pipe.end):
            if self._is_tee(end.tag) and pipe.start.tag != pipe.end.tag:
                tee = self.parts[end.tag]
                used = {self._port(j, n): None for j, n in self.at_tee[end.tag]}
                free = [s for s in "LRTB" if all(tee.ports[p].side != s for p in used)]
                turned += [{end.tag: self._tee_with(end.tag, tee.box.centre, {end.port: s})} for s in free]
        yield from turned
        for m, first in enumerate(turned):
            for second in turned[m + 1 :]:
                if first.keys() != second.keys():
                    yield {**first, **second}

    def _port(self, i: int, n: int) -> str:
        pipe = self.network.pipes[i]
        return (pipe.end if n else pipe.start).port

    def _tee_with(self, tag: str, centre: Point, changed: Mapping[str, str]) -> Placed:
        sides = {self._port(i, n): self.parts[tag].ports[self._port(i, n)].side for i, n in self.at_tee[tag]}
        return tee_placed(self.network.parts[tag], centre, {**sides, **changed})

    def _sides(self, i: int, parts: Mapping[str, Placed]) -> tuple[tuple[Point, str], tuple[Point, str]]:
        pipe = self.network.pipes[i]
        a, b = (parts[e.tag].ports[e.port] for e in (pipe.start, pipe.end))
        return (a.at, a.side), (b.at, b.side)

    # -- sliding one joint -----------------------------------------------------------------------------------------

    def _slide(self, tag: str) -> bool:
        """Slides a joint along the pipe that runs straight through it, if its branch is better for it."""
        ends = self.at_tee[tag]
        if len(ends) != 3 or len({i for i, _ in ends}) != 3:
            return False
        tee = self.parts[tag]
        side = {e: tee.ports[self._port(*e)].side for e in ends}
        branch = next((e for e in ends if OPPOSITE[side[e]] not in side.values()), None)
        if branch is None or len(self.routes[branch[0]]) < 3:
            return False
        arms = [e for e in ends if e != branch]
        old = {i: self.routes[i] for i, _ in ends}
        for i, points in old.items():
            self._take_up(i, points)
        self._clear_off(tag, tee.box)
        now = sum(self._cost(i, points) for i, points in old.items())
        best, best_parts = old, {}
        for centre in self._stops(tag, arms, branch, side):
            for way in (side[branch], OPPOSITE[side[branch]]):
                moved = {tag: self._tee_with(tag, centre, {self._port(*branch): way})}
                parts = {**self.parts, **moved}
                if not self._tee_clear(tag, moved[tag].box, {i for i, _ in ends}):
                    continue
                laid = {i: self._stretched(i, n, moved[tag]) for i, n in arms}
                costs = [self._cost(i, points) for i, points in laid.items()]
                if None in costs:
                    continue
                i = branch[0]
                for points in ways_between(*self._sides(i, parts), len(old[i]) - 2):
                    cost = self._cost(i, points)
                    if cost is not None and cost + sum(costs) < now - 1:
                        now, best, best_parts = cost + sum(costs), {**laid, i: points}, moved
        self.parts.update(best_parts)
        self.routes.update(best)
        self._stand(tag, self.parts[tag].box)
        for i, points in best.items():
            self._lay(i, points)
        return best is not old

    def _stops(self, tag: str, arms, branch, side) -> list[Point]:
        """Where the joint may stand on its straight: in line with its branch's far end, or next to it."""
        centre = self.parts[tag].box.centre
        level = side[arms[0]] in "LR"
        reach = []
        for i, n in arms:
            points = self.routes[i] if n == 0 else self.routes[i][::-1]
            reach.append(points[1].x if level else points[1].y)
        low, high = min(reach) + 2 * CLEAR, max(reach) - 2 * CLEAR
        points = self.routes[branch[0]] if branch[1] == 0 else self.routes[branch[0]][::-1]
        wanted = {p.x if level else p.y for p in points[1:]}
        last = points[-1].x if level else points[-1].y
        wanted |= {last + d for d in (-30, -20, 20, 30)}
        at = centre.x if level else centre.y
        return [
            Point(w, centre.y) if level else Point(centre.x, w) for w in sorted(wanted) if low <= w <= high and w != at
        ]

    def _stretched(self, i: int, n: int, tee: Placed) -> tuple[Point, ...]:
        points = self.routes[i] if n == 0 else self.routes[i][::-1]
        points = (tee.ports[self._port(i, n)].at, *points[1:])
        return points if n == 0 else points[::-1]

    def _tee_clear(self, tag: str, box: Box, own: set[int]) -> bool:
        tee = piece_of(tag, box)
        for cell in cells_of(tee, NEAR):
            if any(s.of != tag and s.meets(tee, NEAR) for s in self.solids.get(cell, ())):
                return False
            if any(p.of not in own and tee.meets(p, NEAR) for p in self.pieces.get(cell, ())):
                return False
            if any(tee.meets(line, NEAR) for line in self.lines.get(cell, ())):
                return False
        return True

    # -- what a way costs ------------------------------------------------------------------------------------------

    def _cost(self, i: int, points: tuple[Point, ...], least: float | None = None) -> float | None:
        """What a way costs, or None if it may not be laid. The way that is there now always may."""
        cost = BEND * (len(points) - 2)
        there = points == self.routes[i]
        for a, b in pairwise(points):
            cost += LENGTH * (abs(a.x - b.x) + abs(a.y - b.y))
        if least is not None and cost >= least:
            return None
        if not there and not self._allowed(i, points):
            return None
        for piece in pieces_of(i, points):
            crossings = self._crossings(piece, there)
            if crossings is None:
                return None
            cost += CROSSING * crossings
        return cost

    def _allowed(self, i: int, points: tuple[Point, ...]) -> bool:
        pipe = self.network.pipes[i]
        pieces = pieces_of(i, points)
        for n, piece in enumerate(pieces):
            x, y, right, bottom = piece.x - NEAR, piece.y - NEAR, piece.right + NEAR, piece.bottom + NEAR
            for cell in cells_of(piece, NEAR):
                for solid in self.solids.get(cell, ()):
                    tag, left, top, end, low = solid
                    if left >= right or end <= x or top >= bottom or low <= y:
                        continue
                    own = (n == 0 and tag == pipe.start.tag) or (n == len(pieces) - 1 and tag == pipe.end.tag)
                    if solid.meets(piece, 0 if own else NEAR if tag else TEXT_CLEAR):
                        return False
            if not _inside(piece, self.whole):
                return False
        return self._keeps_to_places(pipe, pieces)

    def _keeps_to_places(self, pipe, pieces: Iterable[Piece]) -> bool:
        cuts: dict[str, int] = {}
        for piece in pieces:
            near = (line for cell in cells_of(piece, NEAR) for line in self.lines.get(cell, ()))
            for line in dict.fromkeys(near):
                if line.level == piece.level:
                    if line.meets(piece, CLEAR):
                        return False
                elif line.meets(piece, 2):
                    cuts[line.of] = cuts.get(line.of, 0) + 1
        a, b = self.home[pipe.start.tag], self.home[pipe.end.tag]
        return cuts == {name: 1 for name in (a, b) if name and a != b}

    def _crossings(self, piece: Piece, there: bool) -> int | None:
        """How many pipes a piece crosses; None if it lies on one, too near beside one, or touches one."""
        count = 0
        seen: set[Piece] = set()
        own, x, y, right, bottom = piece.of, piece.x - NEAR, piece.y - NEAR, piece.right + NEAR, piece.bottom + NEAR
        for cell in cells_of(piece, NEAR):
            for other in self.pieces.get(cell, ()):
                pipe, left, top, end, low = other
                if left >= right or end <= x or top >= bottom or low <= y or pipe == own or other in seen:
                    continue
                seen.add(other)
                related = not self.joints[own].isdisjoint(self.joints[pipe])
                if piece.level == other.level:
                    if not there and (not related or _alongside(piece, other)):
                        return None
                    continue
                h, v = (piece, other) if piece.level else (other, piece)
                if h.x < v.x < h.right and v.y < h.y < v.bottom:
                    clear = h.x + CLEAR <= v.x <= h.right - CLEAR and v.y + CLEAR <= h.y <= v.bottom - CLEAR
                    if not clear and not there:
                        return None
                    count += 1
                elif not related and not there:
                    return None
        return count


def _alongside(a: Piece, b: Piece) -> bool:
    """True if two pieces that run the same way lie beside each other for some length."""
    if a.level:
        return min(a.right, b.right) > max(a.x, b.x)
    return min(a.bottom, b.bottom) > max(a.y, b.y)


def _inside(line: Piece, box: Box) -> bool:
    return line.x >= box.x and line.y >= box.y and line.right <= box.right and line.bottom <= box.bottom


def _outline(place: PlaceBox) -> list[Piece]:
    b = place.box
    sides = Box(b.x, b.y, b.w, 0), Box(b.x, b.bottom, b.w, 0), Box(b.x, b.y, 0, b.h), Box(b.right, b.y, 0, b.h)
    return [piece_of(place.name, side) for side in sides]
