"""The schedules of the set on paper: parts, pipes, and the valve chart with its tags to cut out."""

from collections.abc import Sequence

from schemagen.base.units import figures
from schemagen.drawing.style import shipped_style
from schemagen.papers.material import NONE, Chapter, Material, said
from schemagen.papers.paper import Grid, Heading, NewPage, Paragraph
from schemagen.schedules.dossier import Dossier
from schemagen.schedules.naming import kind_words
from schemagen.schedules.parts import data_of
from schemagen.schedules.pipes import pipe_runs, pipes_schedule
from schemagen.schedules.schedule import Cell
from schemagen.schedules.valves import valves_schedule

_SERIAL = ("sources", "stores", "movers", "vessels", "controls", "instruments")
"""Families whose parts carry a maker's plate."""

_PLATED = (
    "relief-valve", "temperature-and-pressure-relief-valve", "expansion-relief-valve", "inlet-control-group",
    "thermostatic-mixing-valve", "diverter-valve", "zone-valve", "mid-position-valve", "pressure-reducer",
    "disconnecting-preventer", "magnetic-filter", "thermal-discharge-valve", "loading-valve", "tundish",
)  # fmt: skip

TAGS_IN_A_ROW = 3


def parts_paper(material: Material) -> Chapter:
    """Parts with blanks for maker and serial number, where a part has a plate."""
    dossier = material.dossier
    rows = tuple(
        (
            part.tag, _what(part.label, kind_words(part)), said(part.place), said(part.texts.get("size")),
            said(data_of(part)), *(("", "") if _has_plate(part.kind) else (NONE, NONE)),
            said(dossier.zones.get(part.tag)),
        )
        for part in dossier.listed_parts
    )  # fmt: skip
    columns = ("Tag", "Part", "Place", "Size", "Data", "Maker and type", "Serial no.", "Drawing")
    note = Paragraph(
        "Drawing: the field of the drawing's grid in which the part stands. Tees are not listed.", "remark"
    )
    grid = Grid(columns, rows, (2, 7, 4, 2, 8, 6, 5, 2))
    return Chapter("parts", "Parts schedule", (note, grid), landscape=True)


def _what(label: str, kind: str) -> str:
    return f"{kind}: {label}" if label and label.casefold() != kind.casefold() else kind


def _has_plate(kind) -> bool:
    return kind.family in _SERIAL and kind.shape != "stub" or kind.name in _PLATED


def pipes_paper(material: Material) -> Chapter:
    """Runs of pipe with blanks for what the list does not say: material, length, insulation."""
    dossier = material.dossier
    runs = list(pipe_runs(dossier))
    schedule = pipes_schedule(dossier)
    columns = (
        "From", "To", "Through", "Section", "Size", "Material", "Length\nm", "Content\nL", "Largest flow\nL/min",
        "Velocity\nm/s", "Hottest\n°C", "Insulation\nmm",
    )  # fmt: skip
    rows = tuple(_pipe(dossier, row) for row in schedule.rows)
    codes = list(dict.fromkeys(row[4] for row in schedule.rows if row[4]))
    names = {s.code: s.name for s in shipped_style().sections.values()}
    key = Paragraph("; ".join(f"{code}: {names[code]}" for code in codes) + ".", "remark")
    note = Paragraph(
        "A row is a run of one section and size. Flow, velocity and temperature are the largest of all states.",
        "remark",
    )
    grid = Grid(columns, rows, (5, 5, 7, 2.4, 2.6, 4, 2.6, 2.6, 3, 2.8, 2.8, 3))
    return Chapter("pipes", "Pipe schedule", (key, note, grid) if runs else (note,), landscape=True)


def _pipe(dossier: Dossier, row: Sequence[Cell]) -> tuple[str, ...]:
    start, end, through, _, code, size, length, content, flow, _, speed, heat = row
    ends = (_end(dossier, str(end)) for end in (start, end))
    measured = "" if length is None else figures(length)
    return (
        *ends, said(through), said(code), said(size), "", measured,
        *(_number(v) for v in (content, flow, speed, heat)), "",
    )  # fmt: skip


def _end(dossier: Dossier, port: str) -> str:
    """The part, with its opening if it matters which; a tee by its place on the drawing, where it has no name."""
    tag, _, name = port.rpartition(".")
    shape = dossier.network.parts[tag].kind.shape
    if shape == "tee" and tag in dossier.zones:
        return f"joint at {dossier.zones[tag]}"
    return tag if shape in ("inline", "stub") or len(name) == 1 else f"{tag} {name.replace('-', ' ')}"


def _number(value: Cell) -> str:
    return NONE if value is None else figures(float(value))


def valve_chart(material: Material) -> Chapter | None:
    """The chart to hang beside the plant, and a tag for each valve to cut out."""
    dossier = material.dossier
    schedule = valves_schedule(dossier)
    if not schedule.rows:
        return None
    columns = (
        "No.",
        "Valve",
        "Section",
        "Size",
        "What it does",
        "Normal position",
        "Isolates",
        "If shut, no more",
        "Place",
        "Drawing",
    )
    rows = tuple(_valve(row) for row in schedule.rows)
    tags = [_tag(row) for row in schedule.rows]
    tags += [NONE] * (-len(tags) % TAGS_IN_A_ROW)
    cut = tuple(tuple(tags[i : i + TAGS_IN_A_ROW]) for i in range(0, len(tags), TAGS_IN_A_ROW))
    pieces = (
        Paragraph("Hang this chart beside the plant. A lever across the pipe is shut; a wheel is shut clockwise."),
        Grid(columns, rows, (2.2, 6, 2.6, 2.4, 7, 4, 6, 5.5, 4, 2.4)),
        NewPage(),
        Heading("Valve tags to cut out"),
        Paragraph("Number, section, name and normal position. Laminate them, and hang each on its valve.", "remark"),
        Grid(("",) * TAGS_IN_A_ROW, cut),
    )
    return Chapter("valve-chart", "Valve chart", pieces, landscape=True)


def _valve(row: Sequence[Cell]) -> tuple[str, ...]:
    tag, kind, label, size, section, does, normal, place, isolates, stops, zone = (str(cell) for cell in row)
    return (
        tag, _what(label, kind), said(section), said(size), does, said(normal), said(isolates), said(stops),
        said(place), said(zone),
    )  # fmt: skip


def _tag(row: Sequence[Cell]) -> str:
    """Number and section, name, and normal position if it has one."""
    number_, kind, label, _, section, _, normal, *_ = (str(cell) for cell in row)
    return "\n".join(filter(None, (" · ".join(filter(None, (number_, section))), (label or kind)[:40], normal)))
