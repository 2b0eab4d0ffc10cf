"""The marks of changes: a ring with + for added, − for removed, Δ for changed, and the number of the change."""

from schemagen.base.text import LABEL_CAP
from schemagen.drawing.marks import mark_radius
from schemagen.drawing.shape import Circle, Shape, Text
from schemagen.drawing.style import Pen

SIGNS = {"added": "+", "removed": "−", "changed": "Δ", "renamed": "Δ", "re-piped": "Δ"}
"""By sort of change."""

REACH = 1.35
"""A ring is larger than the mark of a finding by this factor, for the sign before the figures."""

_RING = Pen(0.35)


def ring_radius(number: int) -> float:
    """In units."""
    return REACH * mark_radius(number)


def ring(sign: str, number: int, x: float, y: float, scale: float = 1.0) -> tuple[Shape, Shape]:
    """The ring and its text. `scale` is the length of a unit, so that tables can show the same in millimetres."""
    cap = LABEL_CAP * scale
    text = Text(x, y + cap / 2, f"{sign}{number}", cap, bold=True, anchor="middle")
    return Circle(x, y, ring_radius(number) * scale, _RING, "#ffffff"), text
