"""On which side of each lone tee its pipes leave, and where pipes turn above or below a piece."""

from collections.abc import Mapping, Sequence

from schemagen.layout.paths import Ladder, Node
from schemagen.layout.shapes import End, Shape

RETURNS = (
    "primary-return",
    "heating-return",
    "solar-return",
    "brine-return",
    "pool-return",
    "discharge",
    "cold",
    "condensate",
)


def tee_sides(
    ladder: Ladder, shapes: Sequence[Shape | None], section: Sequence[str], ends: Mapping[int, tuple[int, int]]
) -> dict[End, str]:
    """The side of every end at a lone tee. After: no two ends of one tee share a side.

    Of pipes that leave by one side, those that turn back to what stands above go up first, the nearest first; those
    that turn back to what stands below go down last.
    """
    pos = {v: i for row in ladder.levels for i, v in enumerate(row)}
    at: dict[int, dict[str, list[tuple[tuple[int, int], End]]]] = {}
    for pipe, a, b in ladder.uprights:
        for n, (own, other) in enumerate(((a, b), (b, a))):
            way = "T" if pos[other] < pos[own] else "B"
            at.setdefault(own, {}).setdefault(way, []).append(((0, 0), End(pipe, n)))
    for way in ladder.ways:
        for n, beside in ((0, way.nodes[1]), (1, way.nodes[-2])):
            own = way.nodes[0 if n == 0 else -1]
            if shapes[own] is None:
                turns = ladder.nodes[beside].level == ladder.nodes[own].level
                below = pos[beside] > pos[own]
                place = (2 * below, -pos[beside]) if turns else (1, pos[beside])
                at.setdefault(own, {}).setdefault(way.leaves[n], []).append((place, End(way.pipe, n)))
    out: dict[End, str] = {}
    for arms in at.values():
        out.update(_sides(arms, section))
    return out


def _sides(arms: dict[str, list[tuple[tuple[int, int], End]]], section: Sequence[str]) -> dict[End, str]:
    taken = {s: arms[s][0][1] for s in "TB" if s in arms}
    out = {end: s for s, end in taken.items()}
    free = [s for s in "TB" if s not in taken]
    for way in sorted("LR", key=lambda w: -len(arms.get(w, ()))):
        line = [end for _, end in sorted(arms.get(way, ()))]
        if not line:
            continue
        low = section[line[0].pipe] in RETURNS
        while len(line) > 1 and free:
            side = _give(line, free, low)
            free.remove(side)
            out[line.pop(0 if side == "T" else -1)] = side
        out[line.pop()] = way
        for end in line:
            out[end] = next(s for s in "LRTB" if s not in out.values())
    return out


def _give(line: list[End], free: list[str], low: bool) -> str:
    """Of the pipes that leave by one side, does the topmost leave upwards, or the lowest downwards?"""
    if len(free) == 1:
        return free[0]
    return "T" if low and len(line) == 2 else "B"


def with_corners(ladder: Ladder, shapes: Sequence[Shape | None], sides: Mapping[End, str]) -> None:
    """Puts a corner next to each block for every pipe that leaves it upwards or downwards."""
    above: dict[int, list[tuple[int, int]]] = {}
    below: dict[int, list[tuple[int, int]]] = {}
    for way in ladder.ways:
        for n in (0, 1):
            own = way.nodes[0 if n == 0 else -1]
            end = End(way.pipe, n)
            side = sides[end] if shapes[own] is None else shapes[own].open[end].side
            if side in "LR":
                continue
            ladder.nodes.append(Node(ladder.nodes[own].level, pipe=way.pipe, owner=own, top=side == "T"))
            corner = len(ladder.nodes) - 1
            x = shapes[own].open[end].at.x if shapes[own] is not None else 0
            reach = x if way.leaves[n] == "R" else -x
            (above if side == "T" else below).setdefault(own, []).append((reach, corner))
            if n == 0:
                way.nodes.insert(1, corner)
                way.channels.insert(0, None)
            else:
                way.nodes.insert(-1, corner)
                way.channels.append(None)
    for i, row in enumerate(ladder.levels):
        out: list[int] = []
        for v in row:
            out += [c for _, c in sorted(above.get(v, ()))]
            out.append(v)
            out += [c for _, c in sorted(below.get(v, ()), reverse=True)]
        ladder.levels[i] = out
