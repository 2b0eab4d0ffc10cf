"""Sizes beside pipes: one for each stretch of one size, where there is room for it."""

from collections.abc import Iterable, Mapping
from itertools import pairwise

from schemagen.base.geometry import Box, Point
from schemagen.base.text import label_size
from schemagen.layout.placement import Label
from schemagen.network.network import Network

CLEAR = 4
BUCKET = 100


class Taken:
    """Boxes in buckets; asks whether another would lie on one of them."""

    def __init__(self, boxes: Iterable[Box]) -> None:
        self._cells: dict[tuple[int, int], list[Box]] = {}
        for box in boxes:
            self.add(box)

    def add(self, box: Box) -> None:
        for cell in self._span(box):
            self._cells.setdefault(cell, []).append(box)

    def free(self, box: Box) -> bool:
        return not any(box.overlaps(b) for cell in self._span(box) for b in self._cells.get(cell, ()))

    @staticmethod
    def _span(b: Box) -> Iterable[tuple[int, int]]:
        for i in range(b.x // BUCKET, b.right // BUCKET + 1):
            for j in range(b.y // BUCKET, b.bottom // BUCKET + 1):
                yield i, j


def stretches(network: Network) -> list[list[int]]:
    """Pipes of one size that follow on each other through valves, tees and such, in the order of the list."""
    at: dict[str, list[int]] = {}
    for pipe in network.pipes:
        if pipe.size_text:
            for end in (pipe.start, pipe.end):
                if network.parts[end.tag].kind.shape in ("inline", "tee", "bent"):
                    at.setdefault(end.tag, []).append(pipe.index)
    root = {p.index: p.index for p in network.pipes if p.size_text}

    def find(i: int) -> int:
        while root[i] != i:
            i = root[i]
        return i

    for members in at.values():
        for i, j in pairwise(members):
            if network.pipes[i].size_text == network.pipes[j].size_text:
                a, b = find(i), find(j)
                root[max(a, b)] = min(a, b)
    groups: dict[int, list[int]] = {}
    for i in root:
        groups.setdefault(find(i), []).append(i)
    return list(groups.values())


def size_labels(network: Network, routes: Mapping[int, tuple[Point, ...]], taken: Taken) -> list[Label]:
    """A label for each stretch: beside its longest piece with room, upright beside uprights if it fits no other way."""
    out = []
    for stretch in stretches(network):
        text = network.pipes[stretch[0]].size_text
        pieces = [(i, a, b) for i in stretch for a, b in pairwise(routes[i])]
        pieces.sort(key=lambda p: (-abs(p[1].x - p[2].x) - abs(p[1].y - p[2].y), p[0]))
        label = next((found for p in pieces for found in _beside(network, text, p, taken)), None)
        if label is not None:
            taken.add(label.box)
            out.append(label)
    return out


def _beside(network: Network, text: str, piece: tuple[int, Point, Point], taken: Taken) -> Iterable[Label]:
    i, a, b = piece
    w, h = label_size((text,), False)
    level = a.y == b.y
    x, y = min(a.x, b.x), min(a.y, b.y)
    long = abs(a.x - b.x) + abs(a.y - b.y)
    for turned in (False,) if level else (False, True):
        along, across = (w, h) if level else ((w, h) if turned else (h, w))
        room = long - along
        for step in sorted(range(0, max(room, 0) + 1, 5), key=lambda s: (abs(s - room // 2), s)) if room >= 0 else ():
            for side in (-1, 1):
                off = -CLEAR - across if side < 0 else CLEAR
                box = Box(x + step, y + off, w, h) if level else Box(x + off, y + step, across, along)
                if taken.free(box):
                    yield Label(network.pipes[i].name, (text,), box, "middle", 270 if turned else 0)
                    return
