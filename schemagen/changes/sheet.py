"""The sheet of a comparison: the drawing of both versions, and the table of changes beside it."""

from collections.abc import Mapping

from schemagen.changes.changes import Changes
from schemagen.changes.panel import CAUTIONS, NOTES, chapters
from schemagen.changes.union import Union
from schemagen.drawing.drawing import Drawing
from schemagen.network.network import Network
from schemagen.sheets.publish import Leaf, publish_leaves
from schemagen.sheets.sheet import Sheet


def comparison_sheets(drawing: Drawing, changes: Changes, union: Union, page: str | None = None) -> tuple[Sheet, ...]:
    """The drawing on its sheet. `page` and what is raised: as in sheets.publish.publish."""
    leaf = Leaf(
        drawing,
        _head(changes),
        NOTES,
        CAUTIONS,
        sections=drawing,
        tables=lambda cap, width: chapters(changes, cap, width),
    )
    return publish_leaves([leaf], union.network, page)


def _head(changes: Changes) -> Mapping[str, str]:
    """The data of the new version's sheet; the second title says what is compared."""
    old, new = changes.old.network, changes.new.network
    second = f"Changes from {' to '.join(_names(old, new))}"
    return {**new.sheet, "type": "Comparison of two versions", "subtitle": second}


def _names(old: Network, new: Network) -> tuple[str, str]:
    """What tells two versions apart: their revisions, with the numbers if these differ, or the names of the lists."""
    same_number = old.sheet.get("number") == new.sheet.get("number")
    said = []
    for sheet in (old.sheet, new.sheet):
        revision = f"revision {sheet['revision']}" if sheet.get("revision") else ""
        said.append(f"{'' if same_number else sheet.get('number', '')} {revision}".strip())
    return (said[0], said[1]) if all(said) and said[0] != said[1] else (old.name, new.name)
