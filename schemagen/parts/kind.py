"""What a part kind may say: ports, inside passages, positions, traits, attributes and the look of its symbol."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from schemagen.base.geometry import Point

Role = Literal["in", "out", "either", "dead"]
Need = Literal["must", "may", "mount", "signal"]
Sort = Literal["both", "one-way", "heat", "air-gap"]
Shape = Literal["major", "inline", "bent", "stub", "tee", "control"]

MEDIA: dict[str, str] = {
    "H": "heating-water",
    "B": "ground-brine",
    "C": "cold",
    "W": "hot",
    "T": "tempered",
    "D": "discharge",
    "K": "condensate",
    "R": "refrigerant",
    "P": "pool-water",
    "A": "air",
}
"""Letters used in the kinds' files and the medium each stands for; X takes the medium of its neighbours."""

OUTSIDE = "outside"
"""The far end of a passage that leads out of the system: the main, a tap, a discharge end, an open surface."""


@dataclass(frozen=True, slots=True)
class PortSpec:
    """A named opening. `at` is its point on the symbol, in units from the top left; `side` is the side it leaves by.

    `role`: which way water may go. `need`: `must` has to be piped, `may` can be capped, `mount` screws into a
    boss, pocket or strap of the host named by `on:`, `signal` carries no water. `media` are letters of MEDIA, "X" any.
    """

    name: str
    role: Role
    need: Need
    media: str
    at: Point
    side: str


@dataclass(frozen=True, slots=True)
class Passage:
    """A way inside a part from port `a` to port `b` (or OUTSIDE). `positions` empty: always open."""

    a: str
    b: str
    sort: Sort
    positions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Attribute:
    """A key that a part of the kind may carry. `unit` is the unit that a bare number takes."""

    name: str
    dimension: str
    help: str
    unit: str = ""
    choices: tuple[str, ...] = ()
    default: str | None = None


@dataclass(frozen=True, slots=True)
class Ink:
    """One element of a symbol's picture, in units at turn 0.

    `tag` is the SVG element (path, rect, circle, line); `attrs` its attributes as text, sorted.
    `when` lists the positions in which it is drawn (empty: always). `upright` is the centre about which the element is
    turned back when the symbol is turned or mirrored, so that letters stay readable.
    """

    tag: str
    attrs: tuple[tuple[str, str], ...]
    when: tuple[str, ...] = ()
    upright: Point | None = None


@dataclass(frozen=True, slots=True)
class Symbol:
    """Geometry of a kind: size in units (10 units = 1 module), ink, and how it may be turned.

    `upright` says what must not be turned: "none", "letters" or "all" (such a symbol is only mirrored).
    """

    w: int
    h: int
    ink: tuple[Ink, ...]
    turns: tuple[int, ...]
    mirror: bool
    upright: str


@dataclass(frozen=True, slots=True)
class Variant:
    """What is otherwise in a part whose attribute has a certain value, or of whose repeated openings some are piped.

    `when` are pairs (attribute, value) that all must hold; ("piped", start of their names) stands for openings.
    `changes` are fields of PartKind.
    """

    when: tuple[tuple[str, str], ...]
    changes: tuple[tuple[str, Any], ...]

    def applies(self, values: Mapping[str, str], piped: Collection[str]) -> bool:
        return all(
            any(port.startswith(wanted) for port in piped) if key == "piped" else values.get(key) == wanted
            for key, wanted in self.when
        )


@dataclass(frozen=True)
class PartKind:
    """A kind of part. The name is its file's name; meaning comes from the TOML, geometry from the SVG beside it.

    shape        how it stands in a run: major, inline (in and out on one axis), bent, stub (one pipe), tee, control
    positions    of its moving part; `rest` without power, `normal` in use (hand valves, taps, relief valves)
    moved_by     "hand", "motor", "thermostat", "pressure" or "" (nothing moves)
    giver        "" or "controlled" / "uncontrolled": puts heat into its water; `gives` names the ports of that waterway
    taker        takes heat out of its water; `takes` names the ports of that waterway
    store        "" or "wholesome" / "heating": holds a volume of hot water
    driver       "" or "pump" (drives when on), "built-in" (a source with a pump inside, drives when on), "main",
                 "cistern"
    separates    decouples two pumped circuits
    breaks_pressure  ends a pressure section
    plain        neither heats, cools nor drives
    still        needs no flow; never reported as unconnected flow
    protects     highest fluid category that it keeps out of wholesome water (0: none)
    counts_as    duties it fulfils besides its own, e.g. "filter", "drain", "vent", "fill"
    built_in     things inside it that the checks count, e.g. "pump", "vessel", "relief"
    cautions     triggers of the cautions that belong on a sheet with this kind
    grows        port name pattern that repeats, e.g. "loop-{n}-"; the kind as read has the units 1..units
    variants     what an attribute's value, or piping the repeated openings, changes inside; see as_listed
    """

    name: str
    title: str
    family: str
    letter: str
    about: str
    shape: Shape
    ports: dict[str, PortSpec]
    passages: tuple[Passage, ...]
    symbol: Symbol
    positions: tuple[str, ...] = ()
    rest: str = ""
    normal: str = ""
    moved_by: str = ""
    giver: str = ""
    gives: tuple[str, ...] = ()
    taker: bool = False
    takes: tuple[str, ...] = ()
    store: str = ""
    driver: str = ""
    separates: bool = False
    breaks_pressure: bool = False
    plain: bool = False
    still: bool = False
    protects: int = 0
    counts_as: tuple[str, ...] = ()
    built_in: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    attributes: dict[str, Attribute] = field(default_factory=dict)
    grows: str = ""
    units: int = 0
    most_units: int = 0
    variants: tuple[Variant, ...] = ()

    def as_listed(self, values: Mapping[str, str], piped: Collection[str]) -> "PartKind":
        """The kind as it is in a part with these attribute texts and these openings piped."""
        kind = self
        for variant in self.variants:
            if variant.applies(values, piped):
                kind = replace(kind, **dict(variant.changes))
        return kind

    @property
    def is_control(self) -> bool:
        """True for devices that carry signals and no water."""
        return self.shape == "control"

    @property
    def inlet(self) -> str | None:
        """The port by which a run enters a part named without a port, or None if that is not plain."""
        return self._through[0] if self._through else None

    @property
    def outlet(self) -> str | None:
        return self._through[1] if self._through else None

    @property
    def _through(self) -> tuple[str, str] | None:
        wet = [p for p in self.ports.values() if p.role != "dead" and p.need == "must"]
        if len(wet) != 2:
            return None
        a, b = wet
        if (a.role, b.role) == ("in", "out") or (a.role, b.role) == ("either", "either"):
            return a.name, b.name
        return (b.name, a.name) if (a.role, b.role) == ("out", "in") else None
