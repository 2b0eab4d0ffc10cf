"""The table of changes beside their drawing: number and sentence; below it the findings that came or went."""

from collections.abc import Sequence

from schemagen.base.text import LABEL_CAP
from schemagen.changes.changes import Changes
from schemagen.changes.signs import SIGNS, ring, ring_radius
from schemagen.changes.words import finding_words, said_of, said_of_value, state_words
from schemagen.drawing.words import counted
from schemagen.sheets.cautions import CLOSING
from schemagen.sheets.column import Chapter, Row, text_row
from schemagen.sheets.typeset import height_of, text_lines, wrapped

NOTES = (
    "Old and new version on one drawing, not to scale. + in a ring: added, in the thick pen. − in a ring: removed, in "
    "the thin grey pen with crosses. Δ in a ring: changed; the old value is struck through. A pipe that leads "
    "elsewhere is drawn both ways, the old one broken off beside its end. What only stands elsewhere on the drawing "
    "is not marked.",
)
"""How to read the drawing."""

CAUTIONS = (CLOSING,)

LONGEST_ROW = 10
"""Most lines of a row."""


def chapters(changes: Changes, cap: float, width: float) -> tuple[Chapter, ...]:
    """Tables in letters of that height and in columns of that width, in millimetres; those that have rows."""
    sheet = [said_of_value(value) for value in changes.sheet]
    states = [state_words(change) for change in changes.states]
    came, went = ([finding_words(finding) for finding in some] for some in (changes.came, changes.went))
    tables = (
        _numbered(changes, cap, width),
        _plain("changes-on-sheet", "On the sheet", sheet, cap, width),
        _plain("changes-of-states", "Operating states", states, cap, width),
        _plain("findings-that-came", "Findings that came", came, cap, width),
        _plain("findings-that-went", "Findings that went", went, cap, width),
    )
    return tuple(chapter for chapter in tables if chapter.rows)


def _numbered(changes: Changes, cap: float, width: float) -> Chapter:
    unit = cap / LABEL_CAP
    reach = ring_radius(len(changes.rows)) * unit
    left = 2 * reach + 1.5
    rows = []
    for number, change in enumerate(changes.rows, 1):
        said = said_of(changes, change)
        lines = wrapped(said[:1].upper() + said[1:], cap, width - left, most=LONGEST_ROW)
        own = ring_radius(number) * unit
        disc = ring(SIGNS[change.sort], number, reach, own, unit)
        texts = text_lines(lines, left, own - cap / 2, cap)
        rows.append(Row((*disc, *texts), max(height_of(lines, cap) + own - cap / 2, 2 * own) + 1.8))
    rows += [text_row(wrapped(last, cap, width), 0, cap, 1.0)] if (last := _last(changes)) else []
    return Chapter("changes", "Changes", tuple(rows))


def _last(changes: Changes) -> str:
    """What closes the table."""
    said = [] if changes.rows else ["Nothing was added, removed or changed."]
    if changes.stayed:
        said.append(f"{counted(len(changes.stayed), 'finding')} stayed.")
    elif not (changes.came or changes.went):
        said.append("Neither version has findings.")
    return " ".join(said)


def _plain(name: str, heading: str, texts: Sequence[str], cap: float, width: float) -> Chapter:
    rows = (text_row(wrapped(text, cap, width, most=LONGEST_ROW), 0, cap, 1.8) for text in texts)
    return Chapter(name, heading, tuple(rows))
