"""The discharge pipes of a hot-water store: D1 from relief valve to tundish, D2 on from the tundish to its end."""

from collections.abc import Iterable
from dataclasses import dataclass

from schemagen.checks.facts import Facts
from schemagen.checks.unvented._stores import relief_outlets
from schemagen.network.network import Pipe, PortId

_CLOSES = ("check-valve", "double-check-valve", "disconnecting-preventer", "cap")


@dataclass(frozen=True)
class Run:
    """Pipework of discharge from one opening: its openings, and the way to the end that was looked for."""

    start: PortId
    ports: tuple[PortId, ...]
    way: tuple[PortId, ...]

    @property
    def tags(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(p.tag for p in self.ports if p.tag != self.start.tag))

    @property
    def end(self) -> PortId:
        return self.way[-1]


def d1_of(facts: Facts, outlet: PortId) -> Run:
    """The pipework from a relief valve's outlet, with the way to its tundish if there is one."""
    return _run(facts, outlet, lambda port: port.port == "in" and facts.network.parts[port.tag].kind.name == "tundish")


def d2_of(facts: Facts, tundish: str) -> Run:
    """The pipework from a tundish, with the way to where it leaves the system."""
    ends = ("safe-outlet", "waste-stack", "collecting-container", "off-sheet-connector")
    return _run(facts, PortId(tundish, "out"), lambda port: facts.network.parts[port.tag].kind.name in ends)


def _run(facts: Facts, start: PortId, is_end) -> Run:
    came: dict[PortId, PortId | None] = {start: None}
    queue = list(came)
    for port in queue:
        inside = [way.to for way in facts.reach.ways[port]] if port.tag != start.tag else []
        for other in (*facts.reach.piped_to[port], *inside):
            if other not in came:
                came[other] = port
                queue.append(other)
    end = next((port for port in queue if is_end(port)), start)
    way = [end]
    while came[way[-1]] is not None:
        way.append(came[way[-1]])
    return Run(start, tuple(queue), tuple(reversed(way)))


def pipes_on(facts: Facts, run: Run) -> list[Pipe]:
    """The pipes on the way of a run, from its start."""
    steps = zip(run.way, run.way[1:], strict=False)
    return [p for a, b in steps for p in facts.network.pipes_at.get(a, ()) if facts.network.far_end(p, a) == b]


def length_m(pipes: Iterable[Pipe]) -> float | None:
    """Length [m] of pipes in a row, None if one of them has none."""
    lengths = [pipe.values.get("length") for pipe in pipes]
    return None if None in lengths else sum(lengths)


def bends(pipes: Iterable[Pipe]) -> int | None:
    """Bends of pipes in a row, those of one line of the list counted once; None if a line has none stated."""
    by_line = {pipe.line: pipe.values.get("bends") for pipe in pipes}
    return None if None in by_line.values() else int(sum(by_line.values()))


def can_shut(facts: Facts, run: Run) -> list[str]:
    """Parts of a discharge pipe that can close it."""
    kinds = ((tag, facts.network.parts[tag].kind) for tag in run.tags)
    return [tag for tag, kind in kinds if kind.moved_by in ("hand", "motor", "thermostat") or kind.name in _CLOSES]


def tundishes(facts: Facts) -> dict[str, list[PortId]]:
    """The tundishes of hot-water stores by tag, each with the relief valve outlets that run into it."""
    found: dict[str, list[PortId]] = {}
    for outlet in relief_outlets(facts):
        run = d1_of(facts, outlet)
        if run.end != outlet:
            found.setdefault(run.end.tag, []).append(outlet)
    return found
