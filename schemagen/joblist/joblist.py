"""The list as written: words and where each stands, nothing interpreted.

Every value is kept as text in one canonical form, whatever the form of the file: a scalar as typed, a list as its items
joined by ", ", a table as "key: value" pairs joined by ", ". The kinds say what a text means; see network.values.
"""

from dataclasses import dataclass, field

from schemagen.base.place import Place


@dataclass(frozen=True, slots=True)
class Entry:
    """One key and its value, as text."""

    key: str
    text: str
    place: Place


@dataclass(frozen=True, slots=True)
class PartLine:
    """One line of the parts list."""

    tag: str
    kind: str
    entries: tuple[Entry, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class ConnectionLine:
    """One line of the connections list: two or more stops in the direction of the water.

    A stop is "TAG.port", "TAG", or a kind's name (a part is then made on the spot). Entries hold size, medium, length …
    """

    stops: tuple[str, ...]
    entries: tuple[Entry, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table beside parts and connections; `name` is its key, if it has one.

    That is the state's name, the accepted finding's check, the fluid's medium.
    """

    name: str
    entries: tuple[Entry, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class JobList:
    """A whole list. `folder` is where a relative `symbols:` folder is looked for; None if the list came from a stream.

    `notes` are doubts about the reading that did not stop it, such as letters of an old code page.
    """

    name: str
    folder: str | None
    sheet: tuple[Entry, ...]
    parts: tuple[PartLine, ...]
    connections: tuple[ConnectionLine, ...]
    states: tuple[Row, ...] = ()
    accept: tuple[Row, ...] = ()
    fluids: tuple[Row, ...] = ()
    symbols: str | None = None
    notes: "tuple[ListError, ...]" = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class ListError:
    """Why a list cannot be read: where, what is wrong, what to write instead."""

    place: Place
    message: str
    cure: str


class ListUnreadable(Exception):
    """The text cannot be read as a list. Carries every error found, in the order of the file."""

    def __init__(self, errors: tuple[ListError, ...]) -> None:
        super().__init__("; ".join(f"{e.place}: {e.message}" for e in errors))
        self.errors = errors
