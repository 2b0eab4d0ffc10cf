"""What a lesson is made of: the course it belongs to, items with their answers, and papers with their keys."""

from collections.abc import Callable
from dataclasses import dataclass, field

from schemagen.checks.check import Report
from schemagen.checks.facts import Facts
from schemagen.drawing.drawing import Drawing
from schemagen.operation.states import State
from schemagen.papers.paper import Paper
from schemagen.sheets.sheet import Sheet

SHORT = 12
"""Letters of the list's hash that are printed."""


@dataclass(frozen=True)
class Course:
    """One list as a lesson's material, and what was asked of the lesson.

    mark        the list's hash
    difficulty  1 easy to 3 hard
    drawing     without marks of findings; `clean` is a report without any
    in_state    draws a state of it
    drawn       draws changed facts as if they were right, and again with the marks of a report, all at the same place
    """

    title: str
    list_name: str
    mark: str
    seed: int
    difficulty: int
    facts: Facts
    drawing: Drawing
    clean: Report
    in_state: Callable[[State], Drawing]
    drawn: Callable[[Facts, Report], tuple[Drawing, Drawing]]

    @property
    def origin(self) -> str:
        """By what the same papers can be made again."""
        return f"Made from {self.list_name}, list hash {self.mark[:SHORT]}, seed {self.seed}."

    def number(self, own: str) -> str:
        """A paper's number in the set: the list's own number, and the paper's."""
        listed = self.facts.network.sheet.get("number", "")
        return f"{listed}-{own}" if listed else own

    def head(self, kind: str, second: str = "") -> dict[str, str]:
        """Data of a title block: the list's own with the lesson's title, and a second title."""
        return {**self.facts.network.sheet, "title": self.title, "subtitle": second, "type": kind}


@dataclass(frozen=True, slots=True)
class Item:
    """One blank to be filled in: its number or name, what is asked, the answer, and other answers that count."""

    name: str
    asked: str
    expected: str
    accepted: tuple[str, ...] = ()


@dataclass(frozen=True)
class Exercise:
    """A paper to be handed out and its key. `slug` names its files; `sheets` are all its drawings by name."""

    slug: str
    paper: Paper
    key: Paper
    items: tuple[Item, ...]
    sheets: dict[str, Sheet] = field(default_factory=dict)
