"""The pipe schedule: runs of one section and size, with the largest flow, speed and temperature of all states."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from schemagen.base.units import read
from schemagen.checks.design_facts import design_of
from schemagen.drawing.style import shipped_style
from schemagen.network.network import Pipe
from schemagen.schedules.dossier import Dossier
from schemagen.schedules.schedule import Cell, Schedule, numbers, texts
from schemagen.sizing.sizes import StateFlows

_TO_L_MIN = 6e4


@dataclass(frozen=True, slots=True)
class PipeRun:
    """Pipes of one section and size in a row; `through` are the tags of the parts in it, tees left out."""

    pipes: tuple[Pipe, ...]
    section: str
    through: tuple[str, ...]


def pipes_schedule(dossier: Dossier) -> Schedule:
    """One row a run, section by section in teaching order."""
    columns = (
        *texts("from", "to", "through", "section", "code", "size"), numbers("length", "m"), numbers("content", "L"),
        numbers("largest flow", "L/min"), *texts("in state"), numbers("velocity", "m/s"),
        numbers("highest temperature", "°C"),
    )  # fmt: skip
    style = shipped_style().sections
    order = list(style)
    runs = sorted(pipe_runs(dossier), key=lambda run: order.index(run.section) if run.section in order else len(order))
    rows = []
    for run in runs:
        first, last = run.pipes[0], run.pipes[-1]
        shown = style.get(run.section)
        flow, state = _largest(run, dossier.sizes.states, lambda flows: flows.flow_m3s)
        heat, _ = _largest(run, dossier.sizes.states, lambda flows: flows.temperature_c)
        rows.append((
            str(first.start), str(last.end), ", ".join(run.through),
            shown.name if shown else run.section, shown.code if shown else "", first.size_text,
            _length(run), _figure(dossier, run, "water content of pipe"),
            None if flow is None else rounded(flow * _TO_L_MIN), state,
            _figure(dossier, run, "velocity"), None if heat is None else rounded(heat),
        ))  # fmt: skip
    return Schedule("pipes", "Pipe schedule", columns, tuple(rows))


def pipe_runs(dossier: Dossier) -> Iterator[PipeRun]:
    """All runs of a network; pipes in which water never moves are runs of their own. What is screwed in is no pipe."""
    taken: set[int] = set()
    for run in design_of(dossier.facts).plant.runs:
        taken.update(run.indices)
        yield from _by_section(run.pipes, dossier)
    for pipe in dossier.network.pipes:
        if pipe.index not in taken and not _is_screwed_in(pipe, dossier):
            yield from _by_section((pipe,), dossier)


def _is_screwed_in(pipe: Pipe, dossier: Dossier) -> bool:
    """True for the joint, without a size, of a part that hangs on a pipe or a body: a gauge, a vent, a drain."""
    parts = dossier.network.parts
    return not pipe.size_text and any("at" in parts[end.tag].values for end in (pipe.start, pipe.end))


def _by_section(pipes: Iterable[Pipe], dossier: Dossier) -> Iterator[PipeRun]:
    group: list[Pipe] = []
    for pipe in pipes:
        if group and dossier.waters.section[pipe.index] != dossier.waters.section[group[-1].index]:
            yield _run(group, dossier)
            group = []
        group.append(pipe)
    yield _run(group, dossier)


def _run(pipes: list[Pipe], dossier: Dossier) -> PipeRun:
    between = dict.fromkeys(pipe.start.tag for pipe in pipes[1:])
    through = (tag for tag in between if dossier.network.parts[tag].kind.shape != "tee")
    return PipeRun(tuple(pipes), dossier.waters.section[pipes[0].index], tuple(through))


def _length(run: PipeRun) -> Cell:
    lengths = [pipe.values.get("length") for pipe in run.pipes]
    return None if None in lengths else rounded(sum(lengths))


def _largest(run: PipeRun, states: Mapping[str, StateFlows], of) -> tuple[float | None, str]:
    """The value of the largest amount in the first pipe of the run, and its state."""
    best: tuple[float | None, str] = (None, "")
    for name, flows in states.items():
        value = of(flows).get(run.pipes[0].index)
        if value is not None and (best[0] is None or abs(value) > best[0]):
            best = abs(value), name
    return best


def _figure(dossier: Dossier, run: PipeRun, name: str) -> Cell:
    """The largest figure of that name for this run."""
    values = [
        s.figure.shown()
        for s in dossier.sizes.of(name=name)
        if run.pipes[0].index in s.pipes and s.figure.value is not None
    ]
    return rounded(max(values)) if values else None


def rounded(value: float) -> float:
    """As it is read: three significant figures."""
    return float(read(value, "")[0])
