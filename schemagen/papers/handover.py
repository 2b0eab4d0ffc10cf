"""handover(material) -> the papers of the set, numbered. This is the one place that orders them."""

from collections.abc import Callable

from schemagen.papers.care import care_plan
from schemagen.papers.cautions_paper import cautions_paper
from schemagen.papers.commissioning import commissioning_record
from schemagen.papers.contents import TITLE as CONTENTS
from schemagen.papers.contents import contents
from schemagen.papers.findings_paper import findings_paper
from schemagen.papers.how_it_works import how_it_works
from schemagen.papers.material import Chapter, Material
from schemagen.papers.notices import notices
from schemagen.papers.paper import Paper
from schemagen.papers.parts_and_pipes import parts_paper, pipes_paper, valve_chart
from schemagen.papers.register import TITLE as REGISTER
from schemagen.papers.register import register
from schemagen.papers.schematic import schematic
from schemagen.papers.settings_and_sizes import settings_and_sizes
from schemagen.papers.state_sheets import state_sheets
from schemagen.papers.unvented import unvented_record
from schemagen.papers.valve_guide import valve_guide
from schemagen.papers.water_side import water_side

CHAPTERS: tuple[Callable[[Material], Chapter | None], ...] = (
    schematic,
    how_it_works,
    valve_guide,
    parts_paper,
    pipes_paper,
    valve_chart,
    settings_and_sizes,
    commissioning_record,
    water_side,
    unvented_record,
    cautions_paper,
    care_plan,
    notices,
    state_sheets,
    findings_paper,
)
"""Between the contents, which come first, and the register, which comes last. One that does not apply gives None."""


def handover(material: Material, list_name: str) -> tuple[Paper, ...]:
    """The set of a list; `list_name` stands in every footer. Its sheet number begins the numbers: "H-014-01"."""
    inner = [chapter for make in CHAPTERS if (chapter := make(material))]
    titles = [CONTENTS, *(chapter.title for chapter in inner), REGISTER]
    numbers = [number_of(material, n) for n in range(1, len(titles) + 1)]
    table = list(zip(numbers, titles, strict=True))
    chapters = [contents(material, table), *inner, register(material, table)]
    head = dict(material.dossier.network.sheet)
    head |= {"subtitle": ", ".join(filter(None, (head.get("title"), head.get("subtitle")))), "list": list_name}
    return tuple(
        Paper(c.name, number, c.title, c.pieces, c.sheets, c.landscape, head)
        for number, c in zip(numbers, chapters, strict=True)
    )


def number_of(material: Material, n: int) -> str:
    """The number of the n-th paper: that of the drawing with two digits, or the digits alone."""
    number = material.dossier.network.sheet.get("number", "")
    return f"{number}-{n:02}" if number else f"{n:02}"
