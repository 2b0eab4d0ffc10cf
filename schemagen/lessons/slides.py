"""Slides for a screen: each build-up sheet on 16:9, with its caption in large letters."""

from collections.abc import Sequence

from schemagen.drawing.shape import Onto
from schemagen.drawing.style import shipped_style
from schemagen.lessons.buildup import Stage
from schemagen.sheets.sheet import Block, Sheet
from schemagen.sheets.typeset import height_of, line_step, text_lines, wrapped

WIDTH, HEIGHT = 420.0, 236.25
EDGE = 10.0
HEADING, SAID = 7.0, 5.0
"""Heights of capitals in millimetres; 5 mm at this width can be read from the back of a class. From memory."""


def slides(title: str, stages: Sequence[Stage]) -> tuple[Sheet, ...]:
    """One for each stage; the drawing stands at the same place on all."""
    captions = [wrapped(stage.said, SAID, WIDTH - 2 * EDGE) for stage in stages]
    deep = max((height_of(lines, SAID) for lines in captions), default=0.0)
    pairs = enumerate(zip(stages, captions, strict=True), 1)
    return tuple(_slide(title, n, stage, lines, deep) for n, (stage, lines) in pairs)


def _slide(title: str, number: int, stage: Stage, lines: Sequence[str], deep: float) -> Sheet:
    style, box = shipped_style(), stage.drawing.box
    top = EDGE + HEADING + line_step(SAID)
    room_w, room_h = WIDTH - 2 * EDGE, HEIGHT - top - deep - 2 * EDGE
    scale = min(room_w / box.w, room_h / box.h)
    dx = EDGE + (room_w - box.w * scale) / 2 - box.x * scale
    dy = top + (room_h - box.h * scale) / 2 - box.y * scale
    heading = wrapped(f"{number}. {stage.step.title}: {title}", HEADING, WIDTH - 2 * EDGE, bold=True, most=1)
    blocks = (
        Block("title-block", text_lines(heading, EDGE, EDGE, HEADING, bold=True)),
        Block("notes", text_lines(lines, EDGE, HEIGHT - EDGE - deep, SAID)),
    )
    return Sheet("16:9", WIDTH, HEIGHT, heading[0], stage.said, stage.drawing, Onto(style, scale, dx, dy), blocks)
