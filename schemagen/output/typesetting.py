"""Sets a template of this folder as a PDF. What is set comes in as data, so that no word of it is ever an instruction.

The same data give the same bytes: the file carries no time and no author, and no font but the shipped one is asked for.
"""

import json
from collections.abc import Mapping
from pathlib import Path

from schemagen.base.text import FONT_FOLDER
from schemagen.sheets.sheet import CannotDraw

FOLDER = Path(__file__).resolve().parent


def refuse_without_typesetter() -> None:
    """Raises CannotDraw if the typesetter is not installed; to be asked before long work begins."""
    try:
        import typst  # noqa: F401
    except ImportError:
        raise CannotDraw("PDF needs the typesetter: pip install 'schemagen[paper]'") from None


def typeset(template: str, data: Mapping) -> bytes:
    """The template's PDF, tagged for screen readers. Raises CannotDraw if the typesetter is not installed."""
    refuse_without_typesetter()
    import typst

    return typst.compile(
        str(FOLDER / template),
        format="pdf",
        font_paths=[str(FONT_FOLDER)],
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
        timestamp=0,
    )
