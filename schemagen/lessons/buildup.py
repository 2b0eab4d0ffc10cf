"""Build-up sheets: the drawing of one layout, a step at a time; what came before is faint, what comes later absent."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from schemagen.drawing.drawing import Drawing, PartItem, PipeItem
from schemagen.drawing.style import Style, shipped_style
from schemagen.drawing.words import counted, listed
from schemagen.lessons.exercise import Course
from schemagen.lessons.pages import printable
from schemagen.lessons.shades import Shade, only, shaded
from schemagen.lessons.steps import CONTROLS, SAFETY, SAFETY_KINDS, SOURCE, STEPS, Step
from schemagen.lessons.words import EXERCISE, colophon, name_of
from schemagen.network.network import Network, Part
from schemagen.papers.paper import Grid, Heading, Paper, Paragraph, Piece
from schemagen.sheets.cautions import cautions_for
from schemagen.sheets.publish import Leaf
from schemagen.sheets.sheet import Sheet


@dataclass(frozen=True)
class Stage:
    """One step of a system: its drawing, what of it is in full pen, what of that is new, and what is said."""

    step: Step
    drawing: Drawing
    full: Drawing
    new: Drawing
    caption: tuple[str, str, str]

    @property
    def said(self) -> str:
        return " ".join(self.caption)


def stages(drawing: Drawing, network: Network, style: Style | None = None) -> tuple[Stage, ...]:
    """The steps that add something to this drawing, in teaching order; everything stands at the same place on each."""
    style = style or shipped_style()
    steps = {item_name(item): _steps(item, drawing, network) for item in (*drawing.pipes, *drawing.parts)}
    return tuple(
        _stage(number, steps, drawing, network, style)
        for number in range(len(STEPS))
        if any(number in numbers for numbers in steps.values())
    )


def _stage(number: int, steps: Mapping[str, set[int]], drawing: Drawing, network: Network, style: Style) -> Stage:
    def shade(item: PipeItem | PartItem) -> Shade:
        numbers = steps[item_name(item)]
        return "full" if number in numbers else "faint" if min(numbers) < number else "absent"

    full = only(drawing, lambda item: shade(item) == "full")
    new = only(drawing, lambda item: min(steps[item_name(item)]) == number)
    step = STEPS[number]
    return Stage(step, shaded(drawing, shade, shade, style), full, new, _caption(step, full, new, network))


def item_name(item: PipeItem | PartItem) -> str:
    return item.name if isinstance(item, PipeItem) else item.tag


def _steps(item: PipeItem | PartItem, drawing: Drawing, network: Network) -> set[int]:
    """The numbers of the steps on which a pipe or part is in full pen; it is new on the first of them."""
    if isinstance(item, PipeItem):
        return {_adds(item.section)}
    if network.parts[item.tag].kind.is_control:
        own = {_number(CONTROLS)}
    else:
        own = _touching(item.tag, drawing) or _with_host(item.tag, drawing, network) or {_number(CONTROLS)}
    return own | ({_number(SAFETY)} if item.kind in SAFETY_KINDS else set())


def _with_host(tag: str, drawing: Drawing, network: Network) -> set[int]:
    """What is mounted on a part comes with it, what heats a store with the heat sources."""
    host = network.host_of(tag)
    if host and network.parts[tag].kind.giver:
        return {_number(SOURCE)}
    return {min(found)} if host and (found := _touching(host.tag, drawing)) else set()


def _touching(tag: str, drawing: Drawing) -> set[int]:
    return {_adds(p.section) for p in drawing.pipes if tag in (p.start.rpartition(".")[0], p.end.rpartition(".")[0])}


def _adds(section: str) -> int:
    return next(n for n, step in enumerate(STEPS) if section in step.sections)


def _number(name: str) -> int:
    return next(n for n, step in enumerate(STEPS) if step.name == name)


def _caption(step: Step, full: Drawing, new: Drawing, network: Network) -> tuple[str, str, str]:
    tags = {part.kind.name: part.tag for part in reversed(named_parts(full, network))}
    system = {part.kind.name for part in network.parts.values()}
    why = next(text for kind, text in step.why if not kind or kind in system)
    kind, look = next((kind, text) for kind, text in step.look if not kind or kind in tags)
    return _news(full, new, network), why, look.format(tag=tags.get(kind, ""))


def named_parts(drawing: Drawing, network: Network) -> list[Part]:
    """Its parts without the joints: sources and mains first, then stores, then what takes or moves, then the rest."""
    order = {tag: n for n, tag in enumerate(network.parts)}
    parts = (network.parts[item.tag] for item in drawing.parts if item.kind != "tee")
    return sorted(parts, key=lambda part: (_weight(part), order[part.tag]))


def _weight(part: Part) -> int:
    kind = part.kind
    return 0 if kind.gives or kind.driver == "main" else 1 if kind.store else 2 if kind.taker or kind.driver else 3


def _news(full: Drawing, new: Drawing, network: Network) -> str:
    """What is new, in one sentence; where nothing is, what is looked at again."""
    parts = named_parts(new, network)
    if not parts and not new.pipes:
        return f"Seen again: {_counted(named_parts(full, network), 0)}."
    return f"New: {_counted(parts, len(new.pipes))}."


def _counted(parts: list[Part], pipes: int) -> str:
    said = [name_of(part) for part in parts[:2]]
    said += [counted(len(parts) - 2, "more part")] if len(parts) > 2 else []
    said += [counted(pipes, "pipe")] if pipes else []
    return listed(said)


def buildup(course: Course) -> tuple[Paper, dict[str, Sheet], tuple[Stage, ...]]:
    """The paper of the build-up sheets, its sheets by name, and its stages."""
    network = course.facts.network
    found = stages(course.drawing, network)
    said = [(f"Step {n}: {stage.step.title}", stage) for n, stage in enumerate(found, 1)]
    leaves = [
        Leaf(
            stage.drawing, course.head("Build-up sheet", name), (*stage.caption, f"{EXERCISE} {course.origin}"),
            sections=stage.full, symbols=stage.full, large=True,
        )
        for name, stage in said
    ]  # fmt: skip
    sheets = tuple(
        replace(sheet, title=f"{course.title}, {name}", desc=stage.said)
        for sheet, (name, stage) in zip(printable(leaves, network), said, strict=True)
    )
    names = [f"build-up-{n}-{stage.step.name}" for n, stage in enumerate(found, 1)]
    warned = (Paragraph(text, "caution") for text in cautions_for(network, course.clean))
    pieces = (Paragraph(READING), *_glossary(found, network), Heading("Cautions", 2), *warned, colophon(course))
    head = course.head("Build-up sheets", course.title)
    paper = Paper("build-up", course.number("B"), "Build-up sheets", pieces, sheets, head=head)
    return paper, dict(zip(names, sheets, strict=True)), found


READING = "Each sheet adds one step. Everything keeps its place; what came before is thin and grey."


def _glossary(found: tuple[Stage, ...], network: Network) -> Iterator[Piece]:
    """What each step adds, with a line on every kind of part that is met for the first time."""
    met: set[str] = set()
    for n, stage in enumerate(found, 1):
        parts = named_parts(stage.new, network)
        kinds = {part.kind.name: part.kind for part in parts if part.kind.name not in met}
        met |= kinds.keys()
        rows = tuple(
            (", ".join(part.tag for part in parts if part.kind.name == kind.name), kind.title, kind.about)
            for kind in kinds.values()
        )
        yield Heading(f"Step {n}: {stage.step.title}", 2)
        yield Paragraph(stage.said)
        if rows:
            yield Grid(("Tag", "New part", "What it is"), rows, (2, 3, 8))
