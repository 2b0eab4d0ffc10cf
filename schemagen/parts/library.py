"""The library of part kinds: reads the pairs KIND.toml + KIND.svg in symbols/ and in a user's own folder.

A kind is read when it is first asked for. Symbol files are untrusted input: elements and attributes outside the short
lists below are refused, and so are document types and entities.
"""

import difflib
import math
import re
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from schemagen.base.geometry import Point
from schemagen.base.path import mapped, number, parsed, written
from schemagen.parts.kind import MEDIA, OUTSIDE, Attribute, Ink, PartKind, Passage, PortSpec, Symbol, Variant
from schemagen.parts.trade_words import meant_by

_DRAWN = {"path", "rect", "circle", "ellipse", "line"}
_NUMBERS = {"x", "y", "width", "height", "rx", "ry", "cx", "cy", "r", "x1", "y1", "x2", "y2", "stroke-width"}
_WORDS = {"d", "fill", "stroke", "stroke-dasharray", "stroke-linejoin", "stroke-linecap"}
_COLOURS = {"none", "#fff", "#000"}
_ENDS = {"round", "butt", "square", "miter"}
_STRETCH = {"rect": "width", "line": "x2"}
_PATH = re.compile(r"[MmLlHhVvAaQqCcSsTtZz0-9eE.,+\- ]*")
_PASSAGE = re.compile(r"(?:\[([^\]]+)\] )?(\S+) (-|>|~|//) (\S+)")
_SORTS = {"-": "both", ">": "one-way", "~": "heat", "//": "air-gap"}
_TRAITS = (
    *("positions", "rest", "normal", "moved-by", "giver", "gives", "taker", "takes", "store", "driver", "separates"),
    *("breaks-pressure", "plain", "still", "protects", "counts-as", "built-in"),
)
_NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")

COMMON: dict[str, Attribute] = {
    a.name: a
    for a in (
        Attribute("label", "text", "name printed beside the tag"),
        Attribute("note", "text", "remark for the parts schedule"),
        Attribute("place", "text", "parts of one place stand inside one outline with its name"),
        Attribute("room", "text", "room that the part serves or stands in"),
        Attribute("size", "length", "nominal size of its connections", unit="mm"),
        Attribute("at", "port", "port whose pipe this one-port part hangs on; a tee is made for it"),
        Attribute("on", "port", "host of a mounted part: TAG or TAG.port"),
        Attribute("left-of", "tag", "part that this one is to stand left of on the drawing, if the pipes allow it"),
        Attribute("right-of", "tag", "part that this one is to stand right of"),
        Attribute("above", "tag", "part that this one is to stand above"),
        Attribute("below", "tag", "part that this one is to stand below"),
        Attribute("capped", "words", "openings that are plugged"),
        Attribute("built-in", "words", "what is inside the casing, in place of the kind's own items"),
        Attribute("spare", "flag", "kept in stock, not connected"),
        Attribute("left-in-place", "flag", "old part that stays, disconnected"),
    )
}
"""Attributes that any part may have."""


class SymbolError(ValueError):
    """A kind's files break a rule; the message names file, rule and cure."""


def shipped_folder() -> Path:
    """The symbols that come with the program: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "_symbols"
    return inside if inside.is_dir() else package.parent / "symbols"


class Library:
    """Kinds by name. Folders later in the list may add kinds but never replace one that is there.

    Raises SymbolError if two folders define one name or a file breaks a rule.
    """

    def __init__(self, *own_folders: Path) -> None:
        self._files: dict[str, Path] = {}
        for folder in (shipped_folder(), *own_folders):
            for toml in sorted(folder.glob("**/*.toml")):
                if toml.name == "style.toml":
                    continue
                if toml.stem in self._files:
                    raise SymbolError(f"{toml}: a kind {toml.stem!r} exists already; give yours another name")
                if not _NAME.fullmatch(toml.stem):
                    raise SymbolError(f"{toml}: a kind's name is small letters, digits and hyphens; rename the file")
                self._files[toml.stem] = toml
        self._read: dict[tuple[str, int | None], PartKind] = {}

    @property
    def names(self) -> tuple[str, ...]:
        """All kinds' names, family by family, in alphabetical order within a family."""
        return tuple(self._files)

    def __contains__(self, name: str) -> bool:
        return name in self._files

    def kind(self, name: str, units: int | None = None) -> PartKind:
        """The kind of that name, grown to `units` repeated openings if it grows. KeyError if there is none."""
        key = (name, units)
        if key not in self._read:
            self._read[key] = read_kind(self._files[name], units)
        return self._read[key]

    def near(self, word: str) -> tuple[str, ...]:
        """Up to three names that a word of the trade stands for, or else that look like the word, best first."""
        return meant_by(word) or tuple(difflib.get_close_matches(word, self._files, n=3, cutoff=0.6))


@cache
def shipped_library() -> Library:
    return Library()


def read_kind(toml: Path, units: int | None = None) -> PartKind:
    """Reads one pair. `units` grows a kind that repeats openings. Raises SymbolError."""
    try:
        text = toml.read_text(encoding="utf-8")
        data = tomllib.loads(text)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as e:
        raise SymbolError(f"{toml}: cannot be read ({e})") from None
    try:
        return _kind(toml, data, units)
    except SymbolError:
        raise
    except (KeyError, TypeError, AttributeError, ValueError) as e:
        raise SymbolError(f"{toml}: {type(e).__name__} {e}; compare with a kind that ships with the program") from None


def _kind(toml: Path, data: dict[str, Any], units: int | None) -> PartKind:
    grows, least = data.get("grows", ""), data.get("units", 0)
    most = data.get("most-units", least)
    count = max(least if units is None else units, 1) if grows else 0
    if count > most:
        raise SymbolError(f"{toml}: at most {most} units")
    symbol, points = _picture(toml.with_suffix(".svg"), data["symbol"], count)
    ports = {}
    for name, spec in _each(data.get("ports", {}), count):
        if name not in points:
            raise SymbolError(f"{toml.with_suffix('.svg')}: no <circle class=\"port\" id={name!r}>")
        media = spec["media"]
        if set(media) - set(MEDIA) - {"X", "S"}:
            raise SymbolError(f"{toml}: port {name}: media are letters of {''.join(MEDIA)} or X")
        at = points[name]
        ports[name] = PortSpec(name, spec["role"], spec.get("need", "must"), media, at, _side(at, symbol, toml))
    for name in points:
        if name not in ports:
            raise SymbolError(f"{toml}: the picture has a port {name!r} that [ports] lacks")
    passages = _passages(data, ports, count, toml)
    return PartKind(
        name=toml.stem,
        title=data["title"],
        family=toml.parent.name,
        letter=data["letter"],
        about=data["about"],
        shape=data["symbol"]["shape"],
        ports=ports,
        passages=passages,
        symbol=symbol,
        cautions=tuple(data.get("cautions", ())),
        attributes=_attributes(data.get("attributes", {})),
        grows=grows,
        units=count,
        most_units=most,
        variants=tuple(_variant(v, ports, count, toml) for v in data.get("variants", ())),
        **_traits(data.get("traits", {}), toml),
    )


def _traits(table: Mapping[str, Any], toml: Path) -> dict[str, Any]:
    """Fields of PartKind from a [traits] table."""
    if unknown := [t for t in table if t not in _TRAITS]:
        raise SymbolError(f"{toml}: no trait is called {unknown[0]!r}; choose from {', '.join(_TRAITS)}")
    return {t.replace("-", "_"): tuple(v) if isinstance(v, list) else v for t, v in table.items()}


def _variant(table: Mapping[str, Any], ports: Mapping[str, PortSpec], count: int, toml: Path) -> Variant:
    changes = _traits({t: v for t, v in table.items() if t not in ("when", "passages")}, toml)
    if "passages" in table:
        changes["passages"] = _passages(table, ports, count, toml)
    return Variant(tuple(table["when"].items()), tuple(changes.items()))


def _passages(table: Mapping[str, Any], ports: Mapping[str, PortSpec], count: int, toml: Path) -> tuple[Passage, ...]:
    return tuple(_passage(line, ports, toml) for line in _lines(table.get("passages", ()), count))


def _each(table: Mapping[str, Any], count: int):
    """(name, spec) of each port; a name with {n} once per unit."""
    for name, spec in table.items():
        if "{n}" in name:
            yield from ((name.replace("{n}", str(n)), spec) for n in range(1, count + 1))
        else:
            yield name, spec


def _lines(lines: tuple[str, ...], count: int):
    for line in lines:
        if "{n}" in line:
            yield from (line.replace("{n}", str(n)) for n in range(1, count + 1))
        else:
            yield line


def _passage(line: str, ports: Mapping[str, PortSpec], toml: Path) -> Passage:
    m = _PASSAGE.fullmatch(line)
    if not m:
        cure = "write '[position] a - b' with - both ways, > one way, ~ heat, // air gap"
        raise SymbolError(f"{toml}: passage {line!r}; {cure}")
    positions, a, sort, b = m.groups()
    for end in (a, b):
        if end not in ports and end != OUTSIDE:
            raise SymbolError(f"{toml}: passage {line!r} names no port {end!r}")
    return Passage(a, b, _SORTS[sort], tuple(p.strip() for p in positions.split(",")) if positions else ())


def _attributes(table: Mapping[str, Any]) -> dict[str, Attribute]:
    return dict(COMMON) | {
        name: Attribute(
            name, a["dimension"], a["help"], a.get("unit", ""), tuple(a.get("choices", ())), a.get("default")
        )
        for name, a in table.items()
    }


def _side(p: Point, symbol: Symbol, toml: Path) -> str:
    sides = [s for s, hit in (("L", p.x == 0), ("R", p.x == symbol.w), ("T", p.y == 0), ("B", p.y == symbol.h)) if hit]
    if len(sides) != 1:
        svg = toml.with_suffix(".svg")
        raise SymbolError(f"{svg}: port at {p.x},{p.y} must lie on one side of the box, not in a corner")
    return sides[0]


def _picture(svg: Path, look: Mapping[str, Any], count: int) -> tuple[Symbol, dict[str, Point]]:
    try:
        text = svg.read_text(encoding="utf-8")
        if "<!" in text.replace("<!--", ""):
            raise SymbolError(f"{svg}: document types and entities are not allowed")
        root = ElementTree.fromstring(text)
    except (OSError, UnicodeDecodeError, ElementTree.ParseError) as e:
        raise SymbolError(f"{svg}: cannot be read ({e})") from None
    box = root.get("viewBox", "").split()
    if len(box) != 4 or box[:2] != ["0", "0"]:
        raise SymbolError(f"{svg}: write viewBox=\"0 0 WIDTH HEIGHT\" on <svg>")
    w, h = (round(float(v)) for v in box[2:])
    step = 0
    for group in root.iter():
        if group.get("class") == "unit":
            step = int(group.get("data-step", "0"))
    extra = step * (count - 1) if count else 0
    ink: list[Ink] = []
    points: dict[str, Point] = {}
    for element in root:
        _ink(element, svg, count, step, extra, (), None, 0, 1, ink, points)
    turns, mirror, upright = look.get("turns", (0,)), look.get("mirror", True), look.get("upright", "all")
    return Symbol(w + extra, h, tuple(ink), tuple(turns), mirror, upright), points


def _ink(element, svg, count, step, extra, when, upright, dx, unit, ink, points) -> None:
    tag = element.tag.rpartition("}")[2]
    role = element.get("class", "")
    when = tuple(element.get("data-when", "").split()) or when
    if centre := element.get("data-upright"):
        cx, cy = (float(v) for v in centre.split())
        upright = Point(round(cx) + dx, round(cy))
    if tag == "g":
        for n in range(1, count + 1) if role == "unit" else (unit,):
            shift = dx + (step * (n - 1) if role == "unit" else extra if role == "shift" else 0)
            for child in element:
                _ink(child, svg, count, step, extra, when, upright, shift, n, ink, points)
        return
    if role == "shift":
        dx += extra
    if role == "port":
        name = element.get("id", "").replace("{n}", str(unit))
        points[name] = Point(round(float(element.get("cx"))) + dx, round(float(element.get("cy"))))
        return
    if tag not in _DRAWN:
        raise SymbolError(f"{svg}: <{tag}> is not allowed; draw with {', '.join(sorted(_DRAWN))}")
    attrs = {}
    for key, value in element.attrib.items():
        if key in ("class", "data-when", "data-upright"):
            continue
        if key in _NUMBERS:
            value = number(_finite(value))
        elif key not in _WORDS or not (_PATH.fullmatch(value) or value in _COLOURS | _ENDS):
            raise SymbolError(f"{svg}: <{tag} {key}={value!r}> is not allowed")
        attrs[key] = value
    if "d" in attrs:
        _check_path(attrs["d"], svg)
    if role == "grow":
        key = _STRETCH[tag]
        attrs[key] = number(float(attrs[key]) + extra)
    if dx:
        attrs = _moved(tag, attrs, dx)
    ink.append(Ink(tag, tuple(sorted(attrs.items())), when, upright))


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"{text!r} is no length")
    return value


def _check_path(d: str, svg: Path) -> None:
    try:
        parsed(d)
    except ValueError as e:
        raise SymbolError(f"{svg}: {e}") from None


def _moved(tag: str, attrs: dict[str, str], dx: int) -> dict[str, str]:
    """The element moved right by dx."""
    if tag == "path":
        return attrs | {"d": written(mapped(parsed(attrs["d"]), lambda x, y: (x + dx, y)))}
    return {k: number(float(v) + dx) if k in ("x", "cx", "x1", "x2") else v for k, v in attrs.items()}
