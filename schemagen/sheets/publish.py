"""Puts a drawing on a sheet: the smallest on which everything can be read, or the one asked for.

The picture stands in the frame's upper left, tables in columns at its right, or below it if it is too wide for that,
cautions below, the title block in the bottom right corner. The module steps down from 2.5 mm before a larger sheet is
taken.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from schemagen.base.geometry import Box
from schemagen.checks.check import Report
from schemagen.drawing.drawing import Drawing
from schemagen.drawing.shape import Onto, Shape, shifted
from schemagen.drawing.style import MM_PER_UNIT, Style, shipped_style
from schemagen.network.network import Network
from schemagen.sheets.cautions import cautions_for
from schemagen.sheets.column import GAP, Chapter, Columns, lowest_columns, set_columns
from schemagen.sheets.findings_text import closing_line
from schemagen.sheets.legend import findings_panel, section_key, sheets_table, symbol_legend
from schemagen.sheets.revision_table import revision_table
from schemagen.sheets.sheet import FILING_MARGIN, MARGIN, PAGES, Block, CannotDraw, Page, Sheet, Words
from schemagen.sheets.title_block import HEIGHT, NARROWEST, WIDEST, frame, title_block
from schemagen.sheets.typeset import height_of, line_step, text_lines, wrapped

SCALES = (MM_PER_UNIT, 0.2, 0.18)
"""Millimetres per unit: modules of 2.5, 2.0 and 1.8 mm; at the last, letters are 1.8 mm high, the least allowed."""

A4_SCALES = SCALES[:2]

LARGEST = "A1"
"""The page on which a drawing is cut that is too large for any, if none is asked for: so it is cut at fewest places."""

SMALL, LARGE, NARROW = 300.0, 450.0, 60.0
"""Widths of the space inside the frame, in millimetres: columns of tables are narrow below the first (A4); above the
second (A2 and larger) tables and cautions are set in the plain size, so that they can still be read on a smaller print;
in between columns are narrow if that helps. The width of a narrow column."""

PAD = 4.0
"""White kept between the frame and what stands in it."""


NOTES = (
    "Diagram, not to scale. Arrows show the way the water is meant to move; sizes and settings are as listed. "
    "Own symbol set, with the geometry of ISO 14617 where that has one."
)

STATE_NOTES = (
    "Diagram, not to scale. Arrows show the way water moves in this state; in thin grey pipes it stands still. "
    "Valves: black is shut, hollow is open. Pumps: filled runs, hollow with a bar stands. Sources: black gives heat. "
    "Own symbol set, with the geometry of ISO 14617 where that has one."
)


class DoesNotFit(CannotDraw):
    """The drawing does not fit the sheet asked for with letters that can be read; the message names one that does."""


@dataclass(frozen=True)
class Leaf:
    """One drawing and what is to stand round it besides the frame.

    head      data of the title block; `number` is the sheet's number, its place in the row if not given
    notes     paragraphs below the drawing; `large` sets them in the plain size on small sheets too
    cautions  paragraphs below the notes
    tables    further chapters before all others, in letters of a height and in columns of a width
    report    the findings that are listed, None for none; of these only the `numbers`, if given
    contents  what is on each sheet, to be listed
    sections  the drawing whose sections are explained, and `symbols` that whose symbols are; None for none
    """

    drawing: Drawing
    head: Mapping[str, str]
    notes: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    report: Report | None = None
    sections: Drawing | None = None
    symbols: Drawing | None = None
    large: bool = False
    tables: Callable[[float, float], Sequence[Chapter]] | None = None
    number: str = ""
    numbers: tuple[int, ...] | None = None
    contents: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Furniture:
    """What stands round the picture on one page at one scale; width and height are left for the picture.

    `below`: the columns stand below the picture, not at its right.
    """

    columns: Columns
    column_width: float
    below: bool
    notes: tuple[Shape, ...]
    cautions: tuple[Shape, ...]
    revisions: Block
    band: float
    width: float
    height: float


def publish(
    drawing: Drawing, network: Network, report: Report, page: str | None = None, style: Style | None = None
) -> tuple[Sheet, ...]:
    """The drawing on its sheet. `page`: a name in PAGES, "fit" for as large as it needs, None for the smallest.

    Raises DoesNotFit if a named page is too small, and CannotDraw if there is no such page.
    """
    return publish_alike((drawing,), network, report, page, style)


def publish_alike(
    drawings: Sequence[Drawing], network: Network, report: Report, page: str | None = None, style: Style | None = None
) -> tuple[Sheet, ...]:
    """Drawings of one plan (its states), one sheet each: the same page and scale, and everything at the same place.

    `page` and what is raised: as in publish.
    """
    return publish_leaves([usual_leaf(d, network, report, drawings[0]) for d in drawings], network, page, style)


def usual_leaf(drawing: Drawing, network: Network, report: Report, like: Drawing | None = None) -> Leaf:
    """The leaf of a drawing; `like` is one of the same plan, of which several leaves share key and legend."""
    notes = (drawing.account, STATE_NOTES) if drawing.state else (NOTES,)
    notes += own_notes(drawing)
    like = like or drawing
    return Leaf(drawing, _data(network, drawing), notes, cautions_for(network, report), report, like, like)


def own_notes(drawing: Drawing) -> tuple[str, ...]:
    """What is to be said of sizes that are not written at their pipes, and of parts that do not stand as wished."""
    sizes, wishes = "; ".join(drawing.unwritten), "; ".join(drawing.refused)
    return (
        *((f"Sizes for which there is no room on the drawing: {sizes}.",) if sizes else ()),
        *((f"Positions asked for that could not be kept: {wishes}.",) if wishes else ()),
    )


def publish_leaves(
    leaves: Sequence[Leaf], network: Network, page: str | None = None, style: Style | None = None
) -> tuple[Sheet, ...]:
    """Drawings of one plan with their own surroundings, one sheet each, all on the same page and at the same place.

    Their boxes must be equal. `network` has every part that is drawn. `page` and what is raised: as in publish.
    """
    style = style or shipped_style()
    if page == "fit":
        return _fitted(leaves, network, style)
    if page is not None and page not in PAGES:
        raise CannotDraw(f"no page {page!r}; there are {', '.join(PAGES)} and fit")
    for candidate in PAGES.values() if page is None else (PAGES[page],):
        if sheets := publish_sets([leaves], network, candidate.name, style):
            return sheets
    if page is None:
        return _fitted(leaves, network, style)
    other = publish_leaves(leaves, network, None, style)[0]
    raise DoesNotFit(f"this drawing does not fit {page} with letters of 1.8 mm; ask for {other.page}, or name no page")


def area_of(page: str) -> float:
    """The area of a page in square units of the smallest module allowed."""
    return PAGES[page].width * PAGES[page].height / _scales(page)[-1] ** 2


def may_fit(box: Box, page: str) -> bool:
    """False if a drawing of that size is too large for the page, whatever stands round it."""
    scale, sheet = _scales(page)[-1], PAGES[page]
    return box.w * scale <= sheet.width and box.h * scale <= sheet.height - HEIGHT


def _scales(page: str) -> tuple[float, ...]:
    return A4_SCALES if page == "A4" else SCALES


def publish_sets(
    sets: Sequence[Sequence[Leaf]], network: Network, page: str, style: Style | None = None
) -> tuple[Sheet, ...]:
    """The first leaf of each set, then the second of each …; all on that page of PAGES and at one scale.

    A set is as in publish_leaves. The scale is the largest at which every one fits; without one there are no sheets.
    """
    style = style or shipped_style()
    every = len(sets) * len(sets[0])
    for scale in _scales(page):
        done = []
        for first, leaves in enumerate(sets, 1):
            numbers = [f"{n} of {every}" for n in range(first, every + 1, len(sets))]
            done.append(_on(PAGES[page], scale, leaves, network, style, numbers))
            if not done[-1]:
                break
        else:
            return tuple(sheet for alike in zip(*done, strict=True) for sheet in alike)
    return ()


def _on(
    page: Page, scale: float, leaves: Sequence[Leaf], network: Network, style: Style, numbers: Sequence[str]
) -> tuple[Sheet, ...]:
    box = leaves[0].drawing.box
    if box.w * scale > page.width or box.h * scale > page.height - HEIGHT:
        return ()
    for below, narrow in ((False, False), (False, True), (True, False)):
        furnisher = _Furnisher(page, scale, network, style, narrow)
        if _leaves_room(furnisher.round(leaves[0], below), box, scale):
            furniture = furnisher.round_all(leaves, below)
            if _leaves_room(furniture[0], box, scale):
                return _sheets(page, scale, furniture, leaves, style, numbers)
    return ()


def _leaves_room(furniture: _Furniture, box: Box, scale: float) -> bool:
    return box.w * scale <= furniture.width and box.h * scale <= furniture.height


class _Furnisher:
    """Makes what stands round drawings on one page at one scale."""

    def __init__(self, page: Page, scale: float, network: Network, style: Style, narrow: bool = False) -> None:
        self.network, self.style, self.onto = network, style, Onto(style, scale)
        self.inner_w, self.inner_h = page.width - FILING_MARGIN - MARGIN, page.height - 2 * MARGIN
        self.cap = style.text["plain" if self.inner_w > LARGE else "small"]
        narrow = self.inner_w < SMALL or narrow and self.inner_w <= LARGE
        self.column = NARROW if narrow else 38 * self.cap
        self.known: dict[tuple[str, int], Chapter] = {}

    def round_all(self, leaves: Sequence[Leaf], below: bool) -> tuple[_Furniture, ...]:
        """The furniture of each; all leave the same space for the picture."""
        each = [self.round(leaf, below) for leaf in leaves]
        band = max(f.band for f in each)
        width, height = min(f.width for f in each), min(f.height for f in each)
        return tuple(replace(f, band=band, width=width, height=height) for f in each)

    def round(self, leaf: Leaf, below: bool = False) -> _Furniture:
        block_w = _block_width(self.inner_w)
        notes, cautions, deep = _words(leaf, self.inner_w - block_w - 2 * PAD, self.cap, self.style)
        revisions, above = revision_table(leaf.head, block_w, self.style)
        band = max(HEIGHT + above, deep + PAD)
        width, height = self.inner_w - 2 * PAD, self.inner_h - band - 2 * PAD
        chapters = [c for c in self._chapters(leaf) if c.rows]
        if below:
            columns = lowest_columns(chapters, self.column, width, self.style)
            height -= columns.height + 2 * GAP
        else:
            columns = set_columns(chapters, self.column, self.inner_h - HEIGHT - above - 2 * PAD, self.style)
            if columns.count * (self.column + GAP) > block_w:
                columns = set_columns(chapters, self.column, height, self.style)
            width -= columns.count * (self.column + GAP)
        moved = _moved(revisions, 0, -above)
        return _Furniture(columns, self.column, below, notes, cautions, moved, band, width, height)

    def _chapters(self, leaf: Leaf) -> list[Chapter]:
        cap, column, onto = self.cap, self.column, self.onto
        return [
            *(leaf.tables(cap, column) if leaf.tables else ()),
            sheets_table(leaf.contents, cap, column),
            *([findings_panel(leaf.report, cap, column, leaf.numbers)] if leaf.report else []),
            *self._once("sections", leaf.sections, lambda d: section_key(d, onto, cap, column)),
            *self._once("symbols", leaf.symbols, lambda d: symbol_legend(self.network, d, onto, cap, column)),
        ]

    def _once(self, name: str, drawing: Drawing | None, make: Callable[[Drawing], Chapter]) -> list[Chapter]:
        """The chapter of a drawing, made once for all leaves that share it."""
        if drawing is None:
            return []
        if (name, id(drawing)) not in self.known:
            self.known[name, id(drawing)] = make(drawing)
        return [self.known[name, id(drawing)]]


def _block_width(inner: float) -> float:
    return WIDEST if inner >= 2 * WIDEST else NARROWEST


def _words(leaf: Leaf, width: float, cap: float, style: Style):
    """The lines of the notes and of the cautions below them, from 0, 0, and the height of both."""
    notes, y = _paragraphs("Notes", leaf.notes, 0.0, width, style.text["plain"] if leaf.large else cap, style)
    if not leaf.cautions:
        return notes, (), y
    warned, y = _paragraphs("Cautions", leaf.cautions, y + cap, width, cap, style)
    return notes, warned, y


def _paragraphs(heading: str, texts: tuple[str, ...], y: float, width: float, cap: float, style: Style):
    shapes = [*text_lines((heading,), 0, y, style.text["plain"], bold=True)]
    y += 1.8 * style.text["plain"]
    for text in texts:
        lines = wrapped(text, cap, width)
        shapes += text_lines(lines, 0, y, cap)
        y += height_of(lines, cap) + line_step(cap) - cap
    return tuple(shapes), y


def _fitted(leaves: Sequence[Leaf], network: Network, style: Style) -> tuple[Sheet, ...]:
    """Sheets as large as the drawing needs at the usual module."""
    scale, box = MM_PER_UNIT, leaves[0].drawing.box
    inner_h = max(box.h * scale + 2 * PAD + HEIGHT, 150.0)
    for _ in range(3):
        wide = _Furnisher(Page("fit", 1e5, inner_h + 2 * MARGIN, (2, 2)), scale, network, style)
        first = max((wide.round(leaf) for leaf in leaves), key=lambda f: f.columns.count)
        inner_w = max(box.w * scale + first.columns.count * (first.column_width + GAP) + 2 * PAD, WIDEST + 120)
        page = Page("fit", inner_w + FILING_MARGIN + MARGIN, inner_h + 2 * MARGIN, (2, 2))
        furniture = _Furnisher(page, scale, network, style).round_all(leaves, False)
        if furniture[0].height >= box.h * scale and furniture[0].width >= box.w * scale:
            break
        inner_h += max(box.h * scale - furniture[0].height, 0)
    across, down = (max(2, 2 * round(side / 100)) for side in (page.width, page.height))
    fit = Page("fit", page.width, page.height, (across, down))
    numbers = [f"{n} of {len(leaves)}" for n in range(1, len(leaves) + 1)]
    return _sheets(fit, scale, furniture, leaves, style, numbers)


def _sheets(
    page: Page, scale: float, furniture: Sequence[_Furniture], leaves: Sequence[Leaf], style: Style,
    numbers: Sequence[str],
) -> tuple[Sheet, ...]:  # fmt: skip
    return tuple(
        _sheet(page, scale, f, leaf, style, number)
        for f, leaf, number in zip(furniture, leaves, numbers, strict=True)
    )


def _sheet(page: Page, scale: float, furniture: _Furniture, leaf: Leaf, style: Style, number: str) -> Sheet:
    drawing = leaf.drawing
    left, top = FILING_MARGIN + PAD, MARGIN + PAD
    right, bottom = page.width - MARGIN, page.height - MARGIN
    spare_w = furniture.width - drawing.box.w * scale
    spare_h = furniture.height - drawing.box.h * scale
    dx = round(left + spare_w / 2, 1) - drawing.box.x * scale
    dy = round(top + spare_h / 2, 1) - drawing.box.y * scale
    block_w = _block_width(right - FILING_MARGIN)
    columns_x = right - PAD - furniture.columns.count * (furniture.column_width + GAP) + GAP
    columns_y = top
    if furniture.below:
        columns_x, columns_y = left, bottom - furniture.band - furniture.columns.height - GAP
    blocks = (
        frame(page, style),
        title_block(leaf.head, page.name, right - block_w, bottom - HEIGHT, block_w, style, leaf.number or number),
        _moved(furniture.revisions, right - block_w, bottom - HEIGHT),
        *(_moved(block, columns_x, columns_y) for block in furniture.columns.blocks),
        _moved(Block("notes", furniture.notes), left, bottom - furniture.band + PAD / 2),
        _moved(Block("cautions", furniture.cautions), left, bottom - furniture.band + PAD / 2),
    )
    title = f"{drawing.title}: {drawing.state}" if drawing.state else drawing.title
    report = leaf.report
    words = Words(
        leaf.head, report.findings if report else (), closing_line(report) if report else "", leaf.cautions
    )  # fmt: skip
    return Sheet(
        page.name, page.width, page.height, title, drawing.desc, drawing,
        Onto(style, scale, dx, dy), tuple(b for b in blocks if b.shapes), words,
    )  # fmt: skip


def _data(network: Network, drawing: Drawing) -> dict[str, str]:
    """The sheet's data; the second title of the drawing of a state ends with its name."""
    if not drawing.state:
        return dict(network.sheet)
    second = network.sheet.get("subtitle", "")
    return dict(network.sheet) | {"subtitle": f"{second}, {drawing.state}" if second else drawing.state}


def _moved(block: Block, dx: float, dy: float) -> Block:
    return Block(block.name, tuple(shifted(s, dx, dy) for s in block.shapes))
