"""Sheets: the right size, everything inside the frame and nothing on anything else, cautions only where they belong."""

from itertools import combinations
from types import SimpleNamespace

import pytest
from hand_plan import FINDINGS, hand_drawing
from hypothesis import given
from hypothesis import strategies as st

from schemagen.base.finding import Finding
from schemagen.base.geometry import Box
from schemagen.base.text import font_size_for, text_width
from schemagen.checks.check import Report
from schemagen.drawing.shape import Circle, Ellipse, Path, Rect, Text
from schemagen.drawing.style import shipped_style
from schemagen.parts.library import shipped_library
from schemagen.sheets.cautions import ACCEPTED, CAUTIONS, CLOSING, cautions_for
from schemagen.sheets.column import Chapter, Row, set_columns
from schemagen.sheets.publish import DoesNotFit, publish
from schemagen.sheets.sheet import FILING_MARGIN, MARGIN, PAGES, CannotDraw
from schemagen.sheets.title_block import FIELDS, title_block
from schemagen.sheets.typeset import shortened, wrapped

STYLE = shipped_style()


def sheet_of(findings=(), page=None, box=None):
    network, report, drawing = hand_drawing(findings)
    if box:
        drawing = drawing.__class__(**{**drawing.__dict__, "box": box})
    (sheet,) = publish(drawing, network, report, page)
    return sheet


def area(shape) -> tuple[float, float, float, float]:
    match shape:
        case Text():
            size = font_size_for(shape.cap)
            width = text_width(shape.text, size, shape.bold)
            left = shape.x - {"start": 0, "middle": width / 2, "end": width}[shape.anchor]
            return left, shape.y - shape.cap, left + width, shape.y + 0.22 * size
        case Rect():
            return shape.x, shape.y, shape.x + shape.w, shape.y + shape.h
        case Circle():
            return shape.x - shape.r, shape.y - shape.r, shape.x + shape.r, shape.y + shape.r
        case Ellipse():
            return shape.x - shape.rx, shape.y - shape.ry, shape.x + shape.rx, shape.y + shape.ry
        case Path():
            xs = [numbers[-2] for _, numbers in shape.segments if numbers]
            ys = [numbers[-1] for _, numbers in shape.segments if numbers]
            return min(xs), min(ys), max(xs), max(ys)


def hull(shapes):
    areas = [area(s) for s in shapes]
    return tuple(f(a[i] for a in areas) for i, f in enumerate((min, min, max, max)))


# size of the sheet


def test_the_smallest_sheet_is_taken_and_the_module_steps_down_before_the_sheet_grows():
    assert sheet_of(box=Box(0, 0, 500, 300)).page == "A4"
    small = sheet_of(box=Box(0, 0, 850, 500))
    assert (small.page, small.onto.scale) == ("A4", 0.2)
    assert sheet_of(box=Box(0, 0, 1200, 700)).page == "A3"
    tight = sheet_of(box=Box(0, 0, 1650, 1150))
    assert (tight.page, tight.onto.scale) == ("A3", 0.18)
    assert sheet_of(box=Box(0, 0, 2800, 1900)).page == "A1"
    assert sheet_of(box=Box(0, 0, 20000, 3000)).page == "fit"


def test_tables_stand_at_the_right_of_a_drawing_and_below_one_that_is_too_wide_for_that():
    for box, below in ((Box(0, 0, 1200, 900), False), (Box(0, 0, 1850, 700), True)):
        sheet = sheet_of(box=box, page="A3")
        left, top, _, _ = hull(next(b.shapes for b in sheet.blocks if b.name == "section-key"))
        assert (top >= sheet.onto.y(box.bottom)) is below
        assert (left >= sheet.onto.x(box.right)) is not below


@pytest.mark.parametrize("page", [*PAGES, "fit"])
def test_a_sheet_has_the_size_asked_for(page):
    sheet = sheet_of(page=page)
    assert sheet.page == page
    if page != "fit":
        assert (sheet.width, sheet.height) == (PAGES[page].width, PAGES[page].height)


def test_pages_are_of_the_a_series():
    for larger, smaller in (("A1", "A2"), ("A2", "A3"), ("A3", "A4")):
        assert PAGES[larger].height == PAGES[smaller].width
        assert PAGES[larger].width == pytest.approx(2 * PAGES[smaller].height, abs=1)


def test_a_page_that_is_too_small_is_refused_with_one_that_does():
    with pytest.raises(DoesNotFit, match="does not fit A4 .* ask for A1"):
        sheet_of(page="A4", box=Box(0, 0, 2800, 1900))
    with pytest.raises(CannotDraw, match="no page 'B5'; there are A4, A3"):
        sheet_of(page="B5")


def test_as_large_as_it_needs_holds_a_drawing_of_any_shape():
    for box in (Box(0, 0, 100, 100), Box(-50, 20, 9000, 300), Box(0, 0, 300, 9000)):
        sheet = sheet_of(page="fit", box=box, findings=FINDINGS)
        onto = sheet.onto
        assert onto.x(box.x) >= FILING_MARGIN and onto.x(box.right) <= sheet.width - MARGIN
        assert onto.y(box.y) >= MARGIN and onto.y(box.bottom) <= sheet.height - MARGIN


# blocks


@pytest.mark.parametrize("page", [*PAGES, "fit"])
@pytest.mark.parametrize("findings", [(), FINDINGS, FINDINGS * 8], ids=["clean", "four findings", "many findings"])
def test_every_block_stands_inside_the_frame_and_on_no_other_block(page, findings):
    try:
        sheet = sheet_of(findings, page)
    except DoesNotFit:
        pytest.skip("too many findings for this page")
    furniture = {b.name: hull(b.shapes) for b in sheet.blocks if b.name != "frame"}
    assert {"title-block", "findings", "section-key", "legend", "notes", "cautions"} <= set(furniture)
    for name, (left, top, right, bottom) in furniture.items():
        assert left >= FILING_MARGIN and right <= sheet.width - MARGIN + 0.01, name
        assert top >= MARGIN and bottom <= sheet.height - MARGIN + 0.01, name
    onto, box = sheet.onto, sheet.drawing.box
    picture = (onto.x(box.x), onto.y(box.y), onto.x(box.right), onto.y(box.bottom))
    texts = [area(s) for b in sheet.blocks if b.name not in ("frame",) for s in b.shapes if isinstance(s, Text)]
    for left, top, right, bottom in texts:
        assert not (left < picture[2] and picture[0] < right and top < picture[3] and picture[1] < bottom)


@pytest.mark.parametrize("page", [*PAGES, "fit"])
def test_no_line_of_text_lies_on_another_and_none_is_smaller_than_the_least_height(page):
    sheet = sheet_of(FINDINGS, page)
    texts = [s for b in sheet.blocks for s in b.shapes if isinstance(s, Text)]
    assert min(t.cap for t in texts) >= 1.8 - 1e-9
    for (a, one), (b, other) in combinations([(t.text, area(t)) for t in texts], 2):
        across = min(one[2], other[2]) - max(one[0], other[0])
        down = min(one[3], other[3]) - max(one[1], other[1])
        assert not (across > 0.01 and down > 0.01), (a, b)


def test_the_title_block_is_at_the_bottom_right_and_at_most_180_mm_wide():
    for page in PAGES:
        sheet = sheet_of(page=page)
        left, _, right, bottom = hull(next(b for b in sheet.blocks if b.name == "title-block").shapes)
        assert right == pytest.approx(sheet.width - MARGIN) and bottom == pytest.approx(sheet.height - MARGIN)
        assert right - left <= 180


def test_fields_nobody_filled_in_are_ruled_blanks_and_filled_ones_are_printed():
    block = title_block({"title": "Boiler house", "number": "H-014", "client": " "}, "A3", 0, 0, 180, STYLE)
    said = {s.text for s in block.shapes if isinstance(s, Text)}
    assert {"Boiler house", "H-014", "Client", "not to scale"} <= said
    blanks = [s for s in block.shapes if isinstance(s, Path)]
    filled = {"type", "language", "size", "scale", "sheet", "number"}
    assert len(blanks) == len([key for _, key, *_ in FIELDS if key not in filled])


@pytest.mark.parametrize("words", ["W" * 300, "a long title of a house with many parts " * 9, "שלום 🔥 " * 40])
def test_a_title_of_any_length_stays_in_its_field(words):
    data = {key: words for _, key, *_ in FIELDS} | {"title": words, "subtitle": words}
    block = title_block(data, "A4", 0, 0, 130, STYLE)
    for shape in block.shapes:
        left, top, right, bottom = area(shape)
        assert left >= 0 and right <= 130 and top >= 0 and bottom <= 36


def test_the_legend_shows_every_kind_on_the_drawing_once_and_no_other():
    sheet = sheet_of()
    legend = next(b for b in sheet.blocks if b.name == "legend")
    said = " ".join(s.text for s in legend.shapes if isinstance(s, Text))
    library = shipped_library()
    for part in sheet.drawing.parts:
        if part.kind != "tee":
            assert said.count(library.kind(part.kind).title.split()[0]) >= 1
    assert "joint" in said and "crossing" in said and "zone valve" not in said


def test_the_section_key_shows_each_section_on_the_drawing_with_two_periods_of_its_line():
    sheet = sheet_of()
    key = next(b for b in sheet.blocks if b.name == "section-key")
    letters = [s.text for s in key.shapes if isinstance(s, Text) and s.bold]
    assert letters == ["Sections", "CW", "HF", "HR"]
    samples = [s for s in key.shapes if isinstance(s, Path) and s.pen.pattern]
    for sample in samples:
        left, _, right, _ = area(sample)
        assert right - left >= 2 * sum(sample.pen.pattern)


def test_the_panel_says_number_sentence_and_cure_and_what_was_checked():
    panel = next(b for b in sheet_of(FINDINGS).blocks if b.name == "findings")
    said = " ".join(s.text for s in panel.shapes if isinstance(s, Text))
    for number, finding in enumerate(FINDINGS, 1):
        assert f"{number} {finding.message}" in said
        assert f"Cure: {finding.cure}" in said
    assert "Accepted: temporary rig" in said
    clean = next(b for b in sheet_of().blocks if b.name == "findings")
    said = " ".join(s.text for s in clean.shapes if isinstance(s, Text))
    assert "No findings: 42 checks run, 0 not assessed." in said


def test_a_finding_of_ten_thousand_characters_is_cut_not_spilled():
    long = Finding("x", "error", "word " * 2000, "W" * 10000, parts=("V1",))
    sheet = sheet_of((long,))
    panel = next(b for b in sheet.blocks if b.name == "findings")
    assert hull(panel.shapes)[2] <= sheet.width - MARGIN


# cautions


def network_of(*kinds):
    library = shipped_library()
    return SimpleNamespace(parts={k: SimpleNamespace(kind=library.kind(k)) for k in kinds})


EMPTY = Report((), (), 0)


def test_cautions_are_printed_only_for_what_is_there_and_close_with_the_line_that_defers():
    assert cautions_for(network_of("isolating-valve", "tee"), EMPTY) == ()
    solar = cautions_for(network_of("solar-collector"), EMPTY)
    assert CAUTIONS["solar"] in solar and CAUTIONS["solid-fuel"] not in solar
    assert solar[-1] == CLOSING and "Local codes" in CLOSING and "licensed" in CLOSING


def test_every_trigger_that_a_kind_names_has_a_text():
    library = shipped_library()
    triggers = {t for name in library.names for t in library.kind(name).cautions}
    assert triggers <= set(CAUTIONS)


def test_accepted_findings_bring_the_caution_that_they_are_not_cleared():
    accepted = Report((Finding("x", "error", "m", "c", accepted="because"),), (), 1)
    assert cautions_for(network_of("tee"), accepted) == (ACCEPTED, CLOSING)


# setting text


@given(st.text(max_size=300), st.floats(1, 120), st.booleans())
def test_wrapped_lines_are_no_wider_than_asked_and_lose_no_letter(text, width, bold):
    lines = wrapped(text, 2.5, width, bold, most=10000)
    size = font_size_for(2.5)
    for line in lines:
        assert text_width(line, size, bold) <= width + 1e-9 or len(line) == 1
    assert "".join("".join(lines).split()) == "".join(text.split())


@given(st.text(max_size=80), st.floats(8, 60))
def test_shortened_text_fits_and_shows_that_it_was_cut(text, width):
    out = shortened(text, 2.5, width)
    assert out == text or (out.endswith("…") and text_width(out, font_size_for(2.5)) <= width + 1e-9)


@given(st.lists(st.lists(st.floats(3, 40), min_size=1, max_size=12), min_size=1, max_size=4))
def test_rows_flow_through_columns_without_lying_on_each_other(heights):
    chapters = [
        Chapter(f"c{i}", f"C{i}", tuple(Row((Rect(0, 0, 50, h),), h) for h in rows)) for i, rows in enumerate(heights)
    ]
    columns = set_columns(chapters, 50, 100, STYLE)
    boxes = [area(s) for b in columns.blocks for s in b.shapes if isinstance(s, Rect)]
    assert len(boxes) == sum(map(len, heights))
    for one, other in combinations(boxes, 2):
        assert not (one[0] < other[2] - 1e-6 and other[0] < one[2] - 1e-6
                    and one[1] < other[3] - 1e-6 and other[1] < one[3] - 1e-6)  # fmt: skip
    assert max(b[3] for b in boxes) <= 100 + 1e-6
