"""How wide a text is, from the shipped advances of our own font; no font library and no renderer is asked.

The font has no kerning and no ligatures, so the width of a text is the sum of its advances (see font/make.py).
"""

import json
import unicodedata
from functools import cache
from pathlib import Path

FONT_FOLDER = Path(__file__).resolve().parent / "font"
FONT_FILES = (FONT_FOLDER / "plan-regular.ttf", FONT_FOLDER / "plan-bold.ttf")
FAMILY = "Plan"

CAP_HEIGHT = 0.729
"""Height of a capital letter in em: the font's H is 1493 of 2048 units high."""

MISSING = 1.3
"""Advance in em given to a sign that the font lacks: wider than full-width ideographs (1.0) and most emoji (1.25)."""

LINE_STEP = 1.5
"""Step from baseline to baseline in capital heights: the least for lettering type B in ISO 3098, as tabled."""


@cache
def _advances(bold: bool) -> dict[str, float]:
    table = json.loads((FONT_FOLDER / "advances.json").read_text(encoding="utf-8"))
    em = table["em"]
    return {chr(int(code, 16)): units / em for code, units in table["bold" if bold else "regular"].items()}


def _advance(sign: str, known: dict[str, float]) -> float:
    if unicodedata.category(sign) in ("Mn", "Me", "Cf", "Cc"):
        return 0.0
    return known.get(sign, MISSING)


def text_width(text: str, font_size: float, bold: bool = False) -> float:
    """Length of one line of text, in the unit of `font_size`.

    Combining marks and invisible signs take no room; a sign that the font lacks is taken as MISSING em wide.
    """
    known = _advances(bold)
    return font_size * sum(_advance(sign, known) for sign in text)


def font_size_for(cap_height: float) -> float:
    """The font size whose capitals are `cap_height` high, in the same unit."""
    return cap_height / CAP_HEIGHT
