"""The order in which a drawing is read: section by section in teaching order, each from upstream to downstream."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from schemagen.drawing.drawing import Drawing, PipeItem


@dataclass(frozen=True)
class Order:
    """Places of parts and pipes in the drawing, in reading order. Drawings of one plan share it."""

    parts: tuple[int, ...]
    pipes: tuple[int, ...]

    def of(self, drawing: Drawing) -> Drawing:
        """The drawing with its parts and pipes in this order."""
        return replace(
            drawing,
            parts=tuple(drawing.parts[i] for i in self.parts),
            pipes=tuple(drawing.pipes[i] for i in self.pipes),
        )


def reading_order(drawing: Drawing) -> Order:
    """The order of a drawing; parts without pipes come last."""
    at = {part.tag: i for i, part in enumerate(drawing.parts)}
    parts: dict[int, None] = {}
    pipes: dict[int, None] = {}
    for section in (*drawing.sections, ""):
        here = [i for i, pipe in enumerate(drawing.pipes) if pipe.section == section]
        for tag in _starts(here, drawing.pipes):
            _walk(tag, here, drawing.pipes, at, parts, pipes)
    return Order(tuple(dict.fromkeys((*parts, *range(len(drawing.parts))))), tuple(pipes))


def tag_of(port: str) -> str:
    """The tag in "TAG.port"."""
    return port.rpartition(".")[0]


def _starts(here: Sequence[int], pipes: Sequence[PipeItem]) -> list[str]:
    """The parts at these pipes: first those that none of them leads to."""
    tags = dict.fromkeys(tag_of(port) for i in here for port in (pipes[i].start, pipes[i].end))
    reached = {tag_of(pipes[i].end) for i in here}
    return sorted(tags, key=lambda tag: tag in reached)


def _walk(start: str, here, pipes: Sequence[PipeItem], at, seen_parts: dict, seen_pipes: dict) -> None:
    """Notes the parts and pipes downstream of a part, branch after branch, as far as they are not noted yet."""
    leaving: dict[str, list[int]] = {}
    for i in here:
        leaving.setdefault(tag_of(pipes[i].start), []).append(i)
    todo = [start]
    while todo:
        tag = todo.pop()
        if tag in at:
            seen_parts.setdefault(at[tag])
        fresh = [i for i in leaving.get(tag, ()) if i not in seen_pipes]
        seen_pipes.update(dict.fromkeys(fresh))
        todo += [tag_of(pipes[i].end) for i in reversed(fresh)]
