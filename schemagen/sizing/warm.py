"""Temperatures along moving water: from what gives heat, through what takes it, mixed where waters meet."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Stream:
    """Moving water from point `start` to point `end`.

    `flow` is its flow in any one unit, None if it is not known. `drop_k` is what it cools on its way [K], None if that
    is not known.
    """

    start: int
    end: int
    flow: float | None
    drop_k: float | None = 0.0


def warm(streams: Sequence[Stream], fixed_c: Mapping[int, float]) -> dict[int, float]:
    """Temperature [°C] of every point that can be known: fixed ones, and those whose inflows are all known.

    Where one stream alone flows in its flow does not matter. A point that depends on an unknown flow, an unknown drop
    or on water from nowhere is left out. Source: heat balance at constant specific heat.
    """
    inflows: dict[int, list[Stream]] = {}
    for stream in streams:
        if stream.end not in fixed_c:
            inflows.setdefault(stream.end, []).append(stream)
    known = _settled(inflows, set(fixed_c))
    place = {point: i for i, point in enumerate(p for p in inflows if p in known)}
    if not place:
        return dict(fixed_c)
    left, right = np.eye(len(place)), np.zeros(len(place))
    for point, row in place.items():
        whole = sum(s.flow or 0.0 for s in inflows[point])
        for s in inflows[point]:
            weight = 1.0 if len(inflows[point]) == 1 else s.flow / whole
            right[row] -= weight * s.drop_k
            if s.start in fixed_c:
                right[row] += weight * fixed_c[s.start]
            else:
                left[row, place[s.start]] -= weight
    found = np.linalg.solve(left, right).tolist()
    return {**fixed_c, **{point: found[row] for point, row in place.items()}}


def _settled(inflows: Mapping[int, Sequence[Stream]], fixed: set[int]) -> set[int]:
    """The points whose temperature follows: nothing unknown above them, and something fixed above them."""
    onward: dict[int, list[int]] = {}
    for point, streams in inflows.items():
        for s in streams:
            onward.setdefault(s.start, []).append(point)
    vague = {
        s.start for streams in inflows.values() for s in streams if s.start not in inflows and s.start not in fixed
    }
    vague |= {p for p, streams in inflows.items() if not _plain(streams)}
    unsettled = _downstream(onward, vague, fixed)
    fed = _downstream(onward, fixed, set())
    return {p for p in inflows if p in fed and p not in unsettled}


def _plain(streams: Sequence[Stream]) -> bool:
    if any(s.drop_k is None for s in streams):
        return False
    return len(streams) == 1 or (all(s.flow is not None for s in streams) and sum(s.flow for s in streams) > 0)


def _downstream(onward: Mapping[int, Sequence[int]], starts: set[int], stops: set[int]) -> set[int]:
    reached, queue = set(starts), list(starts)
    while queue:
        for point in onward.get(queue.pop(), ()):
            if point not in reached and point not in stops:
                reached.add(point)
                queue.append(point)
    return reached
