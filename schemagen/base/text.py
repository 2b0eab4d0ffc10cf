"""How wide a text is, from the shipped advances of our own font; no font library and no renderer is asked.

The font has no kerning and no ligatures, so the width of a text is the sum of its advances (see font/make.py).
"""

import json
import math
import unicodedata
from functools import cache, lru_cache
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


@lru_cache(maxsize=20_000)
def text_width(text: str, font_size: float, bold: bool = False) -> float:
    """Length of one line of text, in the unit of `font_size`.

    Combining marks and invisible signs take no room; a sign that the font lacks is taken as MISSING em wide.
    """
    known = _advances(bold)
    return font_size * sum(_advance(sign, known) for sign in text)


def font_size_for(cap_height: float) -> float:
    """The font size whose capitals are `cap_height` high, in the same unit."""
    return cap_height / CAP_HEIGHT


LABEL_CAP = 10
"""Height of capitals in the picture's labels, in drawing units: one module, 2.5 mm at the usual scale."""

LABEL_SIZE = font_size_for(LABEL_CAP)
"""Font size of labels, in drawing units."""

LABEL_STEP = 16
"""Step from baseline to baseline of a label's lines, in drawing units."""


def label_size(lines: tuple[str, ...], bold_first: bool) -> tuple[int, int]:
    """Width and height, in drawing units, of the box of a label with these lines, one LABEL_STEP high each.

    A tenth and 0.3 module are added to the width, for renderers that fall back to another face. The first line of a
    part's label is its tag, in bold.
    """
    width = max(text_width(line, LABEL_SIZE, bold_first and i == 0) for i, line in enumerate(lines))
    return math.ceil(1.1 * width + 3), LABEL_STEP * len(lines)
