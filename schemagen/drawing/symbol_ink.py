"""A kind's symbol as plain elements: turned, mirrored, in a position, at a place on the sheet."""

from collections.abc import Callable, Collection
from html import escape

from schemagen.base.geometry import Point
from schemagen.base.path import mapped, number, parsed, written
from schemagen.layout.placement import Placed
from schemagen.network.network import Part
from schemagen.parts.kind import Ink, PartKind

Move = Callable[[float, float], tuple[float, float]]

ORIGIN = Point(0, 0)


def symbol_ink(
    kind: PartKind, at: Point = ORIGIN, turn: int = 0, mirror: bool = False, words: Collection[str] = ()
) -> tuple[Ink, ...]:
    """Everything to draw of a symbol, in order, without any transform.

    `at` is the top left corner of the turned box, in units. The symbol is first mirrored left to right, then turned
    clockwise, as in geometry.turned_point; letters are carried along but stay upright.
    `words` are the positions in which the part stands, and its `type` where the picture shows it. Without a position
    a part is drawn in its `normal` one; one that has none is on (a heat source) or has every way open (a motor valve).
    """
    move = _move(kind.symbol.w, kind.symbol.h, turn, mirror, at)
    shown = _shown(kind, words)
    return tuple(
        Ink(ink.tag, tuple(sorted(_moved(ink, _kept_upright(ink.upright, move) if ink.upright else move).items())))
        for ink in kind.symbol.ink
        if not ink.when or shown.intersection(ink.when)
    )


def part_ink(part: Part, placed: Placed, positions: Collection[str] = ()) -> tuple[Ink, ...]:
    """The symbol of a part where it stands, of its own type, in the given positions (none: as in normal use)."""
    words = {*positions, part.texts.get("type", "")}
    if not positions and part.texts.get("normal") in part.kind.positions:
        words.add(part.texts["normal"])
    return symbol_ink(part.kind, Point(placed.box.x, placed.box.y), placed.turn, placed.mirror, words)


def _shown(kind: PartKind, words: Collection[str]) -> set[str]:
    shown = set(words)
    if shown.isdisjoint((*kind.positions, "on", "off")):
        shown.add(kind.normal or "on")
    type_ = kind.attributes.get("type")
    if type_ and type_.default and shown.isdisjoint(type_.choices):
        shown.add(type_.default)
    return shown


def svg_of(ink: Ink) -> str:
    """One element as SVG text."""
    return f"<{ink.tag}" + "".join(f' {k}="{escape(v)}"' for k, v in ink.attrs) + "/>"


def _move(w: int, h: int, turn: int, mirror: bool, at: Point) -> Move:
    def move(x: float, y: float) -> tuple[float, float]:
        x = w - x if mirror else x
        x, y = {0: (x, y), 90: (h - y, x), 180: (w - x, h - y), 270: (y, w - x)}[turn]
        return x + at.x, y + at.y

    return move


def _kept_upright(centre: Point, move: Move) -> Move:
    x0, y0 = move(*centre)
    return lambda x, y: (x - centre.x + x0, y - centre.y + y0)


def _moved(ink: Ink, move: Move) -> dict[str, str]:
    attrs = dict(ink.attrs)

    def value(key: str) -> float:
        return float(attrs.get(key, 0))

    match ink.tag:
        case "path":
            attrs["d"] = written(mapped(parsed(attrs["d"]), move))
        case "rect":
            x1, y1 = move(value("x"), value("y"))
            x2, y2 = move(value("x") + value("width"), value("y") + value("height"))
            attrs |= _numbers(x=min(x1, x2), y=min(y1, y2), width=abs(x2 - x1), height=abs(y2 - y1))
        case "line":
            x1, y1 = move(value("x1"), value("y1"))
            x2, y2 = move(value("x2"), value("y2"))
            attrs |= _numbers(x1=x1, y1=y1, x2=x2, y2=y2)
        case _:
            cx, cy = move(value("cx"), value("cy"))
            attrs |= _numbers(cx=cx, cy=cy)
    lying = move(1, 0)[0] == move(0, 0)[0]
    if lying and "rx" in attrs and "ry" in attrs:
        attrs["rx"], attrs["ry"] = attrs["ry"], attrs["rx"]
    return attrs


def _numbers(**values: float) -> dict[str, str]:
    return {key: number(v) for key, v in values.items()}
