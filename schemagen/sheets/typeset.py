"""Setting text on a sheet: lines broken to a width, heights of capitals in millimetres."""

from collections.abc import Sequence

from schemagen.base.text import LINE_STEP, font_size_for, text_width
from schemagen.drawing.shape import Text

MOST_LETTERS = 2000
"""No line has more; that a longer text does not fit is plain without measuring it."""


def wrapped(text: str, cap: float, width: float, bold: bool = False, most: int = 40) -> tuple[str, ...]:
    """The text in lines of at most `width`; a word too long for a line is cut. Past `most` lines it ends in "…".

    `cap` is the height of capitals, in the unit of `width`.
    """
    size = font_size_for(cap)
    lines, line = [], ""
    for word in text.split():
        while len(lines) <= most:
            longer = f"{line} {word}" if line else word
            if len(longer) <= MOST_LETTERS and text_width(longer, size, bold) <= width:
                line = longer
                break
            if line:
                lines.append(line)
                line = ""
                continue
            fits = _letters_that_fit(word, size, width, bold)
            lines.append(word[:fits])
            word = word[fits:]
            if not word:
                break
        if len(lines) > most:
            break
    lines += [line] if line else []
    if len(lines) > most:
        return (*lines[: most - 1], shortened(" ".join(lines[most - 1 :]), cap, width, bold))
    return tuple(lines)


def _letters_that_fit(word: str, size: float, width: float, bold: bool) -> int:
    run = 0.0
    for i, letter in enumerate(word):
        run += text_width(letter, size, bold)
        if run > width:
            return max(i, 1)
    return len(word)


def shortened(text: str, cap: float, width: float, bold: bool = False) -> str:
    """The text, cut with "…" if it is longer than `width`."""
    size = font_size_for(cap)
    if text_width(text, size, bold) <= width:
        return text
    room = width - text_width("…", size, bold)
    return text[: _letters_that_fit(text, size, room, bold)].rstrip() + "…" if room > 0 else "…"


def line_step(cap: float) -> float:
    """From baseline to baseline."""
    return LINE_STEP * cap


def text_lines(
    lines: Sequence[str], x: float, top: float, cap: float, bold: bool = False, colour: str = "#000000"
) -> tuple[Text, ...]:
    """Lines one below the other; the capitals of the first touch `top`."""
    return tuple(
        Text(x, top + cap + i * line_step(cap), text, cap, bold, colour=colour) for i, text in enumerate(lines)
    )


def height_of(lines: Sequence[str], cap: float) -> float:
    """From the top of the first line's capitals to the last line's descenders."""
    return (len(lines) - 1) * line_step(cap) + 1.35 * cap if lines else 0.0
