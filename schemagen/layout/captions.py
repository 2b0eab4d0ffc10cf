"""What is written beside a part: its tag, its name, and one figure that says most about it."""

from schemagen.base.geometry import Box
from schemagen.base.text import label_size
from schemagen.layout.placement import Label
from schemagen.network.network import Part

LONGEST_LINE = 22
"""Characters after which a name is broken at a space."""

SHORT_LINE = 10
"""The same for parts on a run, whose captions stand side by side."""

CLEAR = 4
"""Units between a symbol and its caption."""

BESIDE = 6
"""Units between the middle of a symbol, where a pipe may leave, and a caption pushed to one half."""

_FIGURES = {
    "sources": ("output", "area"),
    "stores": ("volume", "buffer-volume", "output"),
    "emitters": ("output", "area"),
    "vessels": ("volume",),
    "movers": (),
    "ends": (),
}


def caption_lines(part: Part) -> tuple[str, ...]:
    """Tag, label and one setting. Tees have none; a connector to another sheet only says where it leads.

    The text `lines` of a part that was put together for a drawing is what is written instead.
    """
    if part.kind.shape == "tee":
        return ()
    if "lines" in part.texts:
        return tuple(part.texts["lines"].split("\n"))
    if part.leads_on:
        return (part.texts["caption"],)
    lines = [part.tag, *broken(part.label, LONGEST_LINE if part.kind.shape == "major" else SHORT_LINE)]
    figure = next((part.texts[k] for k in _FIGURES.get(part.kind.family, ("setting",)) if k in part.texts), "")
    if figure and figure not in part.label:
        lines.append(figure)
    return tuple(lines)


def broken(text: str, longest: int) -> list[str]:
    """The text in lines of at most `longest` characters where it has spaces to break at, but not before a unit."""
    lines: list[str] = []
    for word in text.split():
        unit = lines and lines[-1][-1].isdigit() and len(word) < 4
        if lines and (len(lines[-1]) + 1 + len(word) <= longest or unit):
            lines[-1] += " " + word
        else:
            lines.append(word)
    return lines


def caption_size(lines: tuple[str, ...]) -> tuple[int, int]:
    """Room kept for a caption: widths in steps of two modules, so that a tag may change without moving the drawing."""
    w, h = label_size(lines, True)
    return max(40, -(-w // 20) * 20), h


def slots(lines: tuple[str, ...], by: Box, order: str) -> list[tuple[Box, str]]:
    """Boxes and anchors beside a symbol, in the order asked for: b below, t above, r right, l left,

    and B T the same but pushed to the left or right half.
    """
    w, h = caption_size(lines)
    cx, cy = by.x + by.w // 2, by.y + by.h // 2
    places: dict[str, list[tuple[Box, str]]] = {
        "b": [(Box(cx - w // 2, by.bottom + CLEAR, w, h), "middle")],
        "t": [(Box(cx - w // 2, by.y - CLEAR - h, w, h), "middle")],
        "r": [(Box(by.right + CLEAR, cy - h // 2, w, h), "start")],
        "l": [(Box(by.x - CLEAR - w, cy - h // 2, w, h), "end")],
        "T": [
            (Box(cx + BESIDE, by.y - CLEAR - h, w, h), "start"),
            (Box(cx - BESIDE - w, by.y - CLEAR - h, w, h), "end"),
        ],
        "B": [
            (Box(cx + BESIDE, by.bottom + CLEAR, w, h), "start"),
            (Box(cx - BESIDE - w, by.bottom + CLEAR, w, h), "end"),
        ],
    }
    return [slot for key in order for slot in places[key]]


def label_of(part: Part, lines: tuple[str, ...], slot: tuple[Box, str]) -> Label:
    return Label(part.tag, lines, slot[0], slot[1])
