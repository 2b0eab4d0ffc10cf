"""Temperatures along moving water: from what gives heat, through what takes it, mixed where waters meet."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple


class Stream(NamedTuple):
    """Moving water from point `start` to point `end`.

    `flow` is its flow in any one unit, None if it is not known. `drop_k` is what it cools on its way [K], None if that
    is not known.
    """

    start: int
    end: int
    flow: float | None
    drop_k: float | None = 0.0


@dataclass(slots=True)
class _Sum:
    """A temperature as a constant [°C] and shares of the temperatures of other points."""

    constant: float = 0.0
    shares: dict[int, float] = field(default_factory=dict)


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
    sums = {point: _mixed(inflows[point], fixed_c) for point in inflows if point in known}
    return {**fixed_c, **_solved(sums)}


def _mixed(streams: Sequence[Stream], fixed_c: Mapping[int, float]) -> _Sum:
    whole = sum(s.flow or 0.0 for s in streams)
    mixed = _Sum()
    for s in streams:
        weight = 1.0 if len(streams) == 1 else s.flow / whole
        mixed.constant -= weight * s.drop_k
        if s.start in fixed_c:
            mixed.constant += weight * fixed_c[s.start]
        else:
            mixed.shares[s.start] = mixed.shares.get(s.start, 0.0) + weight
    return mixed


def _solved(sums: dict[int, _Sum]) -> dict[int, float]:
    """The points one by one put into those that depend on them; each then follows from the points after it."""
    users: dict[int, dict[int, None]] = {}
    for point, mixed in sums.items():
        for other in mixed.shares:
            users.setdefault(other, {})[point] = None
    done: set[int] = set()
    for point, own in sums.items():
        rest = 1.0 - own.shares.pop(point, 0.0)
        own.constant /= rest
        own.shares = {other: share / rest for other, share in own.shares.items()}
        done.add(point)
        for user in users.get(point, ()):
            share = sums[user].shares.pop(point, 0.0) if user not in done else 0.0
            if share:
                sums[user].constant += share * own.constant
                for other, part in own.shares.items():
                    sums[user].shares[other] = sums[user].shares.get(other, 0.0) + share * part
                    users.setdefault(other, {})[user] = None
    found: dict[int, float] = {}
    for point, own in reversed(sums.items()):
        found[point] = own.constant + sum(share * found[other] for other, share in own.shares.items())
    return {point: found[point] for point in sums}


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
    if len(streams) == 1:
        return streams[0].drop_k is not None
    if any(s.drop_k is None or s.flow is None for s in streams):
        return False
    return sum(s.flow for s in streams) > 0


def _downstream(onward: Mapping[int, Sequence[int]], starts: set[int], stops: set[int]) -> set[int]:
    reached, queue = set(starts), list(starts)
    while queue:
        for point in onward.get(queue.pop(), ()):
            if point not in reached and point not in stops:
                reached.add(point)
                queue.append(point)
    return reached
