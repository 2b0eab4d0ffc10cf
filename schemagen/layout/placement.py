"""Where each part stands and where each pipe runs: the finished geometry of a drawing, in units."""

from collections.abc import Mapping
from dataclasses import dataclass

from schemagen.base.geometry import Box, Point


@dataclass(frozen=True, slots=True)
class PlacedPort:
    at: Point
    side: str


@dataclass(frozen=True, slots=True)
class Placed:
    """A part on the sheet: box of its turned symbol, turn and mirror, and every port's point and side there.

    A tee's openings alike are interchangeable: `ports` says on which side each one really leaves.
    """

    tag: str
    box: Box
    turn: int
    mirror: bool
    ports: Mapping[str, PlacedPort]


@dataclass(frozen=True, slots=True)
class Label:
    """A text block by a part (`subject` is a tag) or a pipe (`subject` is "FROM→TO").

    `box` encloses all lines; `anchor` is start, middle or end; `turn` is 0 or 270 (read from the right).
    `leader` joins a far label to its part, if any.
    """

    subject: str
    lines: tuple[str, ...]
    box: Box
    anchor: str
    turn: int = 0
    leader: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class Route:
    """A pipe's run from start port to end port: right-angled points; `hops` are points where it hops over another."""

    points: tuple[Point, ...]
    hops: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class PlaceBox:
    """The outline round the parts of one place, and where its name stands."""

    name: str
    box: Box
    label: Box


@dataclass(frozen=True)
class Plan:
    """A finished plan: parts by tag, routes by pipe index, labels, outlines of places, and the box of it all."""

    parts: Mapping[str, Placed]
    routes: Mapping[int, Route]
    labels: tuple[Label, ...]
    places: tuple[PlaceBox, ...]
    box: Box
