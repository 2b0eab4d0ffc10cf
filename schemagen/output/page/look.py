"""The look of the page: page.css, the fonts, and the drawing's colours on dark paper, made from those on white."""

import base64
import colorsys
from collections.abc import Iterable
from functools import cache
from importlib.resources import files

from schemagen.base.text import FAMILY, FONT_FILES
from schemagen.drawing.style import Style

DARK_PAPER, DARK_INK = "#14171a", "#f0f0f0"
LEAST_CONTRAST = 6.0
"""Of lines and letters on dark paper; more than the 4.5 : 1 that WCAG 2.2 (1.4.3) asks of text."""


def style_sheet(style: Style) -> str:
    """The whole style sheet."""
    text = (files("schemagen.output.page") / "page.css").read_text(encoding="utf-8")
    return "\n".join((*_fonts(), text, _dark_drawing(style), _strong_drawing(style)))


@cache
def _fonts() -> tuple[str, ...]:
    """The shipped fonts, inside the page, so that it looks alike on every machine."""
    return tuple(
        f"@font-face {{ font-family: {FAMILY}; font-weight: {weight}; "
        f"src: url(data:font/ttf;base64,{base64.b64encode(path.read_bytes()).decode()}); }}"
        for path, weight in zip(FONT_FILES, ("normal", "bold"), strict=True)
    )


def _dark_drawing(style: Style) -> str:
    """Rules that give every colour of the drawing its light counterpart; black and white change places."""
    swapped = {"#000000": DARK_INK, "#ffffff": DARK_PAPER}
    swapped |= {colour: lighter(colour) for colour in _colours(style) if colour not in swapped}
    swapped[style.colours["emphasis"]] = "#4a5157"
    rules = [f'  svg [stroke="{a}"] {{ stroke: {b} }} svg [fill="{a}"] {{ fill: {b} }}' for a, b in swapped.items()]
    return "\n".join(("@media screen and (prefers-color-scheme: dark) {", *rules, "}"))


def _strong_drawing(style: Style) -> str:
    """Where more contrast is wanted: sections in plain ink, told apart by pattern and letters, pens one step up."""
    inks = [colour for colour in _colours(style) if colour not in ("#ffffff", style.colours["emphasis"])]
    rules = [f'  svg [stroke="{c}"] {{ stroke: var(--ink) }} svg [fill="{c}"] {{ fill: var(--ink) }}' for c in inks]
    steps = zip(style.series, style.series[1:], strict=False)
    rules += [f'  svg [stroke-width="{a:g}"] {{ stroke-width: {b:g} }}' for a, b in steps]
    return "\n".join(("@media screen and (prefers-contrast: more) {", *rules, "}"))


def _colours(style: Style) -> Iterable[str]:
    return dict.fromkeys((*style.colours.values(), *(s.pen.colour for s in style.sections.values())))


@cache
def lighter(colour: str) -> str:
    """The colour as light as it must be to be seen well on dark paper; its hue stays."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    hue, light, full = colorsys.rgb_to_hls(red, green, blue)
    for step in range(round(light * 100), 101):
        found = _hex(colorsys.hls_to_rgb(hue, step / 100, min(full, 0.75)))
        if contrast(found, DARK_PAPER) >= LEAST_CONTRAST:
            return found
    return DARK_INK


def contrast(a: str, b: str) -> float:
    """Contrast ratio of two colours as WCAG 2.2 defines it, 1 to 21."""
    high, low = sorted((_luminance(a), _luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: str) -> float:
    channels = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _hex(rgb: tuple[float, float, float]) -> str:
    return "#" + "".join(f"{round(255 * c):02x}" for c in rgb)
