"""Sheets without furniture: a drawing and its words, for formats that set the words themselves."""

from collections.abc import Iterable

from schemagen.checks.check import Report
from schemagen.drawing.drawing import Drawing
from schemagen.drawing.shape import Onto
from schemagen.drawing.style import MM_PER_UNIT, shipped_style
from schemagen.network.network import Network
from schemagen.sheets.findings_text import closing_line
from schemagen.sheets.publish import usual_leaf
from schemagen.sheets.sheet import Sheet, Words


def bare_sheets(drawings: Iterable[Drawing], network: Network, report: Report) -> tuple[Sheet, ...]:
    """A sheet as large as its drawing for each, at the usual module, with words and no blocks."""
    return tuple(_bare(drawing, network, report) for drawing in drawings)


def _bare(drawing: Drawing, network: Network, report: Report) -> Sheet:
    leaf, box, scale = usual_leaf(drawing, network, report), drawing.box, MM_PER_UNIT
    words = Words(leaf.head, report.findings, closing_line(report), leaf.cautions)
    onto = Onto(shipped_style(), scale, -box.x * scale, -box.y * scale)
    return Sheet("fit", box.w * scale, box.h * scale, drawing.title, drawing.desc, drawing, onto, (), words)
