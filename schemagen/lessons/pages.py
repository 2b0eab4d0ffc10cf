"""Lesson sheets are printed on A4 or A3: where tables beside the drawing would need more, they go into the notes."""

from collections.abc import Sequence
from dataclasses import replace

from schemagen.drawing.drawing import Drawing
from schemagen.drawing.style import shipped_style
from schemagen.lessons.words import sentence
from schemagen.network.network import Network
from schemagen.sheets.publish import DoesNotFit, Leaf, publish_leaves
from schemagen.sheets.sheet import Sheet

PRINTED = ("A4", "A3")


def printable(leaves: Sequence[Leaf], network: Network) -> tuple[Sheet, ...]:
    """The sheets, on A4 or A3 if that can be: without the tables beside the drawing, if they are in the way."""
    sheets = publish_leaves(leaves, network)
    if sheets[0].page in PRINTED:
        return sheets
    try:
        return publish_leaves([_without_tables(leaf) for leaf in leaves], network, PRINTED[-1])
    except DoesNotFit:
        return sheets


def _without_tables(leaf: Leaf) -> Leaf:
    codes = (section_names(leaf.sections),) if leaf.sections and leaf.sections.sections else ()
    found = tuple(sentence(finding.message) for finding in leaf.report.findings) if leaf.report else ()
    return replace(leaf, notes=(*leaf.notes, *codes, *found), sections=None, symbols=None, report=None)


def section_names(drawing: Drawing) -> str:
    """For example "CW cold water, HW hot water."."""
    style = shipped_style()
    return f"{', '.join(f'{style.sections[s].code} {style.sections[s].name}' for s in drawing.sections)}."
