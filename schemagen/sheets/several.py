"""A system on several sheets: each with its own part of the drawing, joined by connectors with letters.

The first sheet has the notes, the cautions, and a table of the sheets if there are more than two; each has the findings
that are marked on it, with the numbers that they have in the whole report.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace

from schemagen.base.text import LABEL_CAP
from schemagen.checks.check import Report
from schemagen.drawing.drawing import Connector, Drawing, LabelItem, PartItem
from schemagen.drawing.shape import Text
from schemagen.drawing.words import listed
from schemagen.layout.hints import hints_of
from schemagen.layout.on_sheets import Share
from schemagen.network.network import Network, Part
from schemagen.sheets.publish import Leaf, own_notes, publish_sets, usual_leaf
from schemagen.sheets.sheet import PAGES, Sheet
from schemagen.sheets.title_block import LETTERS, field_at

CONNECTORS = (
    "This drawing goes on from sheet to sheet: a pipe that ends in a flag goes on at the flag with the same letter, on "
    "the sheet and in the field written beside it."
)

ELSEWHERE = (
    "Notes and cautions stand on sheet 1 and hold here too. A pipe that ends in a flag goes on at the flag with the "
    "same letter, on the sheet and in the field written beside it."
)

INSET = 5
"""Units from the middle of a connector's box to the middle of its straight part, where its letters stand."""


def publish_several(
    drawings: Sequence[Sequence[Drawing]], shares: Sequence[Share], network: Network, report: Report, page: str
) -> tuple[Sheet, ...]:
    """The drawings of each share on sheets of that page, none if one of them does not fit.

    `drawings` has one row for each state, or one for the plain drawing: in it one drawing for each share. A state's
    sheets follow each other; its connectors lead to its own.
    """
    contents = contents_of(shares)
    drawings = [(_with_refused(row[0], network, shares), *row[1:]) for row in drawings]
    sets = [
        [
            _leaf(row[n], network, report, content, contents if n == 0 else None, _numbers(row, n, report))
            for row in drawings
        ]
        for n, content in enumerate(contents)
    ]
    sheets = publish_sets(sets, _with_flags(network, shares), page)
    count = len(shares)
    return tuple(
        sheet
        for first in range(0, len(sheets), count)
        for sheet in _connected(sheets[first : first + count], first + 1)
    )


def _with_refused(drawing: Drawing, network: Network, shares: Sequence[Share]) -> Drawing:
    """The first sheet's drawing, which also tells of parts that are wanted beside each other and are on two sheets."""
    sheet = {tag: n for n, share in enumerate(shares) for tag in share.network.parts}
    apart = (f"{h.text}: they are on different sheets" for h in hints_of(network) if sheet[h.tag] != sheet[h.other])
    return replace(drawing, refused=(*drawing.refused, *apart))


def fits_a_sheet(
    drawings: Sequence[Drawing], share: Share, network: Network, report: Report, page: str, table: int
) -> bool:
    """True if a share's drawings (its states) fit a sheet: the first with a table of so many, a later one if 0."""
    numbers = tuple(sorted({mark.number for drawing in drawings for mark in drawing.marks}))
    contents = contents_of([share]) * table
    leaves = [_leaf(drawing, network, report, "", contents if table else None, numbers) for drawing in drawings]
    return bool(publish_sets([leaves], _with_flags(network, [share]), page))


def _with_flags(network: Network, shares: Sequence[Share]) -> Network:
    """A network with the parts of all shares, connectors too."""
    return replace(network, parts={tag: part for share in shares for tag, part in share.network.parts.items()})


def contents_of(shares: Sequence[Share]) -> tuple[str, ...]:
    """What is on each sheet in a few words: whole places, plant, stores, emitters; else what stands on the pipes."""
    own = [[part for part in share.network.parts.values() if not part.leads_on] for share in shares]
    on: dict[str, set[int]] = {}
    for n, parts in enumerate(own):
        for part in parts:
            on.setdefault(part.place, set()).add(n)
    cut = {place for place, sheets in on.items() if len(sheets) > 1 or not place}
    return tuple(_content(parts, cut) for parts in own)


def _content(parts: Sequence[Part], cut: Collection[str]) -> str:
    """For example "Plant room, boiler B1 and buffer BU1"; places that are `cut` do not say enough by themselves."""
    places = list(dict.fromkeys(part.place for part in parts if part.place))
    named = [part for part in parts if part.place in cut]
    heat = [part for part in named if part.kind.family in ("sources", "stores") and "on" not in part.values]
    plant = [f"{part.kind.title} {part.tag}" for part in heat]
    words = [*places, *plant, *_counted([part for part in named if part.kind.family == "emitters"])]
    if not set(places) - set(cut) and len(words) == len(set(places)):
        words += [f"{part.kind.title} {part.tag}" for part in named if part.kind.shape not in ("tee", "control")]
    return listed([*words[:4], f"{len(words) - 4} more"] if len(words) > 5 else words or ["joints"])


def _counted(parts: Iterable[Part]) -> list[str]:
    found: dict[str, list[str]] = {}
    for part in parts:
        found.setdefault(part.kind.title, []).append(part.tag)
    return [f"{title} {', '.join(tags)}" if len(tags) < 3 else f"{len(tags)} {title}s" for title, tags in found.items()]


def _numbers(row: Sequence[Drawing], n: int, report: Report) -> tuple[int, ...]:
    """The numbers of the findings that are listed on a sheet; those that are marked on none are listed on the first."""
    marked = [frozenset(mark.number for mark in drawing.marks) for drawing in row]
    nowhere = frozenset(range(1, len(report.findings) + 1)).difference(*marked)
    return tuple(sorted(marked[n] | (frozenset() if n else nowhere)))


def _leaf(
    drawing: Drawing, network: Network, report: Report, content: str, contents: tuple[str, ...] | None,
    numbers: tuple[int, ...],
) -> Leaf:  # fmt: skip
    """What stands round one drawing: notes, cautions and the contents of all sheets (if more than two) on the first."""
    leaf = usual_leaf(drawing, network, report)
    second = leaf.head.get("subtitle", "")
    head = {**leaf.head, "subtitle": f"{second}: {content}" if second else content}
    if contents is None:
        leaf = replace(leaf, notes=(ELSEWHERE, *own_notes(drawing)), cautions=())
    else:
        leaf = replace(leaf, notes=(*leaf.notes, CONNECTORS), contents=contents if len(contents) > 2 else ())
    return replace(leaf, head=head, numbers=numbers)


def _connected(sheets: Sequence[Sheet], first: int) -> list[Sheet]:
    """Sheets that follow each other from number `first`, with letters and places written at their connectors."""
    flags = [(n, part) for n, sheet in enumerate(sheets) for part in sheet.drawing.parts if part.connector]
    pairs: dict[str, list[tuple[int, PartItem]]] = {}
    for n, part in flags:
        pairs.setdefault(part.tag.partition(" ")[2], []).append((n, part))
    in_order = sorted(pairs.values(), key=lambda ends: (ends[0][0], ends[0][1].box.y, ends[0][1].box.x))
    said: list[dict[str, Connector]] = [{} for _ in sheets]
    for number, ends in enumerate(in_order):
        for (n, part), (other, mate) in zip(ends, ends[::-1], strict=True):
            said[n][part.tag] = replace(
                part.connector, letters=letters(number), sheet=first + other, field=_field(sheets[other], mate)
            )
    return [
        replace(sheet, title=f"{sheet.title}, sheet {first + n}", drawing=_with_letters(sheet.drawing, said[n]))
        for n, sheet in enumerate(sheets)
    ]


def letters(number: int) -> str:
    """A, B … Z without I and O, then AA, AB …, for numbers from 0."""
    high, low = divmod(number, len(LETTERS))
    return (letters(high - 1) if high else "") + LETTERS[low]


def _field(sheet: Sheet, part: PartItem) -> str:
    middle = part.box.centre
    return field_at(PAGES[sheet.page], sheet.onto.x(middle.x), sheet.onto.y(middle.y))


def _with_letters(drawing: Drawing, said: Mapping[str, Connector]) -> Drawing:
    parts = tuple(_flag(part, said[part.tag]) if part.tag in said else part for part in drawing.parts)
    labels = tuple(_label(label, said[label.subject]) if label.subject in said else label for label in drawing.labels)
    return replace(drawing, parts=parts, labels=labels)


def _flag(part: PartItem, connector: Connector) -> PartItem:
    """A connector with its letters, in the middle of the flag's straight part."""
    ((_, port),) = part.ports
    middle = part.box.centre
    towards = 1 if port.x < middle.x else -1
    x = middle.x + (-INSET if connector.out else INSET) * towards
    tag = tag_of(connector)
    text = Text(x, middle.y + LABEL_CAP / 2, connector.letters, LABEL_CAP, True, "middle", subject=tag)
    return replace(
        part, tag=tag, shapes=(*part.shapes, text), connector=connector, name="connector to another sheet",
        title=f"Connector {connector.letters} {connector.text}", desc=f"Pipe {connector.pipe} goes on there.", facts=(),
    )  # fmt: skip


def _label(label: LabelItem, connector: Connector) -> LabelItem:
    tag = tag_of(connector)
    texts = tuple(replace(text, text=connector.text, subject=tag) for text in label.texts)
    return replace(label, subject=tag, texts=texts)


def tag_of(connector: Connector) -> str:
    """What texts at a connector are for."""
    return f"connector {connector.letters}"
