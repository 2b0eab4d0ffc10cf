"""A drawing: what is drawn and what it means, in units, without any file format.

Everything keeps its meaning (tag, kind, section, port, check …), so that a format may make layers, blocks or switches
of it. Sheets add frame, title block and tables; a format turns both into a file.
"""

from dataclasses import dataclass

from schemagen.base.finding import Finding
from schemagen.base.geometry import Box, Point
from schemagen.drawing.shape import Path, Shape, Text
from schemagen.drawing.style import Pen


@dataclass(frozen=True, slots=True)
class Connector:
    """Where a pipe goes on to another sheet: its name, the letters at both its ends, and where the other end stands.

    `out` if the pipe starts on this sheet. `sheet` is the other sheet's number, `field` the field of its grid.
    """

    pipe: str
    out: bool
    letters: str = ""
    sheet: int = 0
    field: str = ""

    @property
    def text(self) -> str:
        return f"{'to' if self.out else 'from'} sheet {self.sheet}, {self.field}"


@dataclass(frozen=True, slots=True)
class PartItem:
    """A part: its symbol's shapes, the box of its symbol, and the points of its ports.

    name      its kind in words
    facts     what the list says of it: attribute and text
    near      tags of parts that it is joined to without a pipe: what it is mounted on, switches or is switched by
    position  how it stands on the drawing of a state, "" on the plain one
    connector  what the flag says at which a pipe goes on to another sheet; such a flag is no part of the list
    """

    tag: str
    kind: str
    box: Box
    turn: int
    mirror: bool
    ports: tuple[tuple[str, Point], ...]
    shapes: tuple[Shape, ...]
    section: str
    title: str
    desc: str
    name: str = ""
    facts: tuple[tuple[str, str], ...] = ()
    near: tuple[str, ...] = ()
    position: str = ""
    connector: Connector | None = None


@dataclass(frozen=True, slots=True)
class Hop:
    """A half circle on segment `segment` (between points `segment` and `segment` + 1) of a pipe."""

    segment: int
    at: Point
    radius: float


@dataclass(frozen=True, slots=True)
class PipeItem:
    """A pipe from port point to port point. `flagged` if a finding names it. The pen's pattern is stretched to fit.

    `moves` on the drawing of a state: "forward" as listed, "backward", "still"; "" on the plain drawing.
    `half` of a pipe that goes on to another sheet: "start" or "end", the end that is on this one; "" if both are.
    """

    start: str
    end: str
    medium: str
    section: str
    size: str
    points: tuple[Point, ...]
    hops: tuple[Hop, ...]
    pen: Pen
    flagged: bool
    title: str
    desc: str
    moves: str = ""
    half: str = ""

    @property
    def name(self) -> str:
        return f"{self.start}→{self.end}"


@dataclass(frozen=True, slots=True)
class ArrowItem:
    """A filled triangle on a pipe; `along` is its unit direction."""

    pipe: str
    section: str
    tip: tuple[float, float]
    along: tuple[int, int]
    length: float
    width: float
    colour: str


@dataclass(frozen=True, slots=True)
class LabelItem:
    """Text that names a part or pipe. `role` is "tag" (of a part) or "code" (of a pipe: its letters and size).

    `ink` lies under the texts: on a worksheet the ring round a number (`role` "blank") or the crosses of an open end.
    """

    subject: str
    role: str
    section: str
    texts: tuple[Text, ...]
    leader: tuple[Point, ...] = ()
    ink: tuple[Shape, ...] = ()


@dataclass(frozen=True, slots=True)
class MarkItem:
    """The numbered mark of a finding, centred on `at`; `leader` joins it to its place if it had to stand off."""

    number: int
    finding: Finding
    subject: str
    at: Point
    leader: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class PlaceItem:
    """The chain-line outline of one place and its name."""

    name: str
    box: Box
    sides: tuple[Path, ...]
    text: Text


@dataclass(frozen=True)
class Drawing:
    """The whole picture. `sections` are those drawn, in teaching order; `box` encloses everything, in units.

    `unwritten` are sizes of pipes for which there is no room on it, each with the pipe that has it.
    `refused` are wishes of the list for where parts stand that could not be kept, each with the reason.
    `circuits` are closed loops: tags in the order in which water passes them, from the heat source.
    On the drawing of a state, `state` is its name and `account` tells what happens in it.
    """

    title: str
    desc: str
    parts: tuple[PartItem, ...]
    pipes: tuple[PipeItem, ...]
    arrows: tuple[ArrowItem, ...]
    labels: tuple[LabelItem, ...]
    marks: tuple[MarkItem, ...]
    places: tuple[PlaceItem, ...]
    sections: tuple[str, ...]
    flagged_parts: tuple[Box, ...]
    box: Box
    state: str = ""
    account: str = ""
    circuits: tuple[tuple[str, ...], ...] = ()
    unwritten: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
