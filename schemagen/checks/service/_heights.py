"""Where pipes with heights make a hill or a hollow."""

from collections.abc import Iterator
from dataclasses import dataclass

from schemagen.checks.facts import Facts
from schemagen.checks.service._regions import closed_circuits
from schemagen.network.groups import Groups
from schemagen.network.network import Pipe, PortId
from schemagen.network.reach import is_wet


@dataclass(frozen=True)
class Pocket:
    """A place that lies higher (or lower) than every pipe that leaves it."""

    name: str
    tags: tuple[str, ...]
    pipes: tuple[Pipe, ...]


def pockets(facts: Facts, lowest: bool) -> Iterator[Pocket]:
    """Hills of the closed circuits, or hollows if `lowest`; only where pipes carry heights."""
    tall = {p.index: p for p in facts.network.pipes if len(p.values.get("heights", ())) > 1}
    if not tall:
        return
    closed = {port for section in closed_circuits(facts) for port in section.ports}
    sign = -1 if lowest else 1
    for pipe in tall.values():
        heights = [sign * h for h in pipe.values["heights"]]
        if pipe.start in closed and max(heights) > max(heights[0], heights[-1]):
            yield Pocket(pipe.name, (), (pipe,))
    yield from _level_places(facts, tall, closed, sign)


def _level_places(facts: Facts, tall: dict[int, Pipe], closed: set[PortId], sign: int) -> Iterator[Pocket]:
    groups: Groups[PortId] = Groups(facts.network.ports())
    for pipe in facts.network.pipes:
        heights = pipe.values.get("heights", ())
        if pipe.index not in tall or heights[0] == heights[-1]:
            groups.join(pipe.start, pipe.end)
    for part in facts.network.parts.values():
        for passage in part.kind.passages:
            if is_wet(part.kind, passage):
                groups.join(PortId(part.tag, passage.a), PortId(part.tag, passage.b))
    numbers, members = groups.numbered()
    leaving: dict[int, list[tuple[Pipe, float]]] = {}
    for pipe in tall.values():
        heights = pipe.values["heights"]
        if heights[0] != heights[-1]:
            leaving.setdefault(numbers[pipe.start], []).append((pipe, heights[0] - heights[-1]))
            leaving.setdefault(numbers[pipe.end], []).append((pipe, heights[-1] - heights[0]))
    for number, pipes in leaving.items():
        ports = members[number]
        if all(sign * above > 0 for _, above in pipes) and ports[0] in closed:
            tags = tuple(dict.fromkeys(port.tag for port in ports))
            yield Pocket(tags[0], tags, tuple(pipe for pipe, _ in pipes))
