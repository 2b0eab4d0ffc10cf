"""How sections, pens, patterns and letters look: symbols/style.toml as values."""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from schemagen.base.geometry import MODULE
from schemagen.parts.library import shipped_folder

MM_PER_UNIT = 2.5 / MODULE
"""Millimetres of one drawing unit at the usual module, for which the style's lengths are stated."""


@dataclass(frozen=True, slots=True)
class Pen:
    """A line: width, colour, dash pattern (dash, gap, …; empty is solid), shape of its ends, and how much of the first
    dash is left out at its start."""

    width: float
    colour: str = "#000000"
    pattern: tuple[float, ...] = ()
    cap: str = "butt"
    skip: float = 0


@dataclass(frozen=True, slots=True)
class SectionStyle:
    """Code letters, name in words and pen of a section."""

    section: str
    code: str
    name: str
    pen: Pen


@dataclass(frozen=True)
class Style:
    """All of it. Widths of `pens` and heights of capitals in `text` are millimetres; the pens of sections too."""

    series: tuple[float, ...]
    pens: dict[str, float]
    colours: dict[str, str]
    patterns: dict[str, tuple[float, ...]]
    text: dict[str, float]
    sections: dict[str, SectionStyle]

    def on_series(self, width: float) -> float:
        """The pen of the series that is nearest to a width, by ratio."""
        return min(self.series, key=lambda pen: (max(pen / width, width / pen), pen))


def read_style(path: Path) -> Style:
    """The style in a TOML file."""
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    pens = dict(data["pens"])
    return Style(
        series=tuple(pens.pop("series")),
        pens=pens,
        colours=data["colours"],
        patterns={name: tuple(p) for name, p in data["patterns"].items()},
        text=data["text"],
        sections={name: _section(name, s) for name, s in data["sections"].items()},
    )


def _section(name: str, s: dict) -> SectionStyle:
    pen = Pen(s["pen"], s["colour"], tuple(s["pattern"]), s.get("cap", "butt"))
    return SectionStyle(name, s["code"], s["name"], pen)


@cache
def shipped_style() -> Style:
    return read_style(shipped_folder() / "style.toml")
