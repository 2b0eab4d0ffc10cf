"""A schedule: a table as a value, with texts and numbers kept apart. Formats of output/ write it."""

from dataclasses import dataclass

Cell = str | float | int | None
"""Text, a number in the unit of its column, or None for what is not known."""


@dataclass(frozen=True, slots=True)
class Column:
    """`unit` is that of all numbers in it; `number` says that its cells are numbers (or None)."""

    heading: str
    unit: str = ""
    number: bool = False

    @property
    def title(self) -> str:
        """The heading with its unit, if it has one: "length, m"."""
        return f"{self.heading}, {self.unit}" if self.unit else self.heading


@dataclass(frozen=True, slots=True)
class Schedule:
    """A table. `name` names its file and its sheet, `title` stands over it; every row has a cell for every column."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]


def texts(*headings: str) -> tuple[Column, ...]:
    """Columns of text."""
    return tuple(Column(heading) for heading in headings)


def numbers(heading: str, unit: str = "") -> Column:
    return Column(heading, unit, number=True)
