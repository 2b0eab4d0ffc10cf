"""Papers as PDF, read back by another library: header, footer, tables, blanks, bookmarks, and words that stay words."""

import hashlib
import io
import os
import re
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest
from example_sheets import HOSTILE
from hand_plan import hand_drawing
from hypothesis import given
from hypothesis import strategies as st

from schemagen.base.text import text_width
from schemagen.output.papers_pdf import TABLE_SIZE, column_widths, papers_pdf
from schemagen.output.plain_text import plain
from schemagen.papers.paper import Fields, Grid, Heading, Lines, NewPage, Paper, Paragraph, Picture, Points
from schemagen.sheets.publish import publish
from schemagen.sheets.sheet import CannotDraw

pypdf = pytest.importorskip("pypdf")
pytest.importorskip("typst")

MM = 25.4 / 72
CAPITALS = 0.729
"""Height of the font's capitals in em."""

HEAD = {"client": "Mill Lane", "date": "2026-03-01", "revision": "C", "drawn": "M", "list": "house.yaml 3fa91c02"}
WORDS = "water moves from the source through the store and back again"


@cache
def sheet():
    network, report, drawing = hand_drawing()
    return publish(drawing, network, report, "A3")[0]


def read(data):
    return pypdf.PdfReader(io.BytesIO(data), strict=True)


def pages_of(*papers, title="Set"):
    return read(papers_pdf(papers, title)).pages


def paper(*pieces, **more):
    return Paper(**({"name": "p", "number": "H-1-01", "title": "Valve guide", "pieces": pieces, "head": HEAD} | more))


def text_of(page):
    return " ".join(page.extract_text().split())


EVERYTHING = (
    Heading("First chapter"),
    Heading("Part of it", 2),
    Paragraph("A plain paragraph."),
    Paragraph("Water can scald.", "caution"),
    Paragraph("Never block a relief valve.", "caution"),
    Paragraph("A remark in small letters.", "remark"),
    Points(("first bullet", "second bullet")),
    Points(("step one", "step two"), "number"),
    Points(("seen to open",), "box"),
    Grid(("Tag", "Setting", "As left"), (("RV1", "3 bar", ""), ("RV2", "10 bar", ""))),
    Fields((("Installer", ""), ("System", "Twin coil"))),
    Lines(3),
    NewPage(),
    Paragraph("On the second page."),
    Picture(sheet(), "a circuit told in words"),
)


@cache
def everything():
    return papers_pdf((paper(*EVERYTHING),), "Handover set", "en")


def test_every_word_is_in_the_file_in_its_order():
    found = " ".join(text_of(page) for page in read(everything()).pages)
    said = [
        "Valve guide", "First chapter", "Part of it", "A plain paragraph.", "Water can scald.",
        "Never block a relief valve.", "A remark in small letters.", "first bullet", "second bullet", "step one",
        "step two", "seen to open", "Tag Setting As left", "RV1 3 bar", "RV2 10 bar", "Installer", "System",
        "Twin coil", "On the second page.",
    ]  # fmt: skip
    places = [found.index(words) for words in said]
    assert places == sorted(places)


def test_the_file_says_title_and_language_and_neither_author_nor_time_and_tells_the_picture_in_words():
    reader = read(everything())
    assert reader.metadata.title == "Handover set"
    assert reader.trailer["/Root"]["/Lang"] == "en"
    assert {"/Author", "/CreationDate", "/ModDate"}.isdisjoint(reader.metadata)
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"].value is True
    assert b"a circuit told in words" in b"".join(_alts(reader.trailer["/Root"]["/StructTreeRoot"]))
    assert {"/H1", "/H2", "/H3", "/Table", "/TH", "/TD", "/L", "/Figure"} <= _roles(reader.trailer["/Root"])


def _elements(element):
    element = element.get_object()
    if isinstance(element, dict):
        yield element
        below = element.get("/K", [])
        for child in below if isinstance(below, list) else [below]:
            yield from _elements(child)


def _alts(root):
    return [str(e["/Alt"]).encode() for e in _elements(root) if "/Alt" in e]


def _roles(root):
    return {e.get("/S") for e in _elements(root["/StructTreeRoot"])}


def test_the_header_has_the_data_and_a_ruled_line_for_what_is_blank():
    more = {"site": "Plot 4", "checked": "K", "approved": "L", "firm": "F", "status": "S"}
    (full,) = pages_of(paper(head=HEAD | more))
    for words in ("H-1-01", "Mill Lane", "Plot 4", "2026-03-01", "Revision C", "Valve guide"):
        assert words in text_of(full)
    (bare,) = pages_of(paper(head={}))
    blank = ("client", "site", "date", "revision", "drawn", "checked", "approved", "firm", "status")
    assert strokes(bare) - strokes(full) == len(blank)


def strokes(page):
    """How often something is drawn that is no text."""
    return len(re.findall(rb"(?<=\s)(?:S|s|f|F|B|b|f\*)\s", page.get_contents().get_data()))


def test_a_blank_field_has_a_line_to_write_on_and_a_blank_cell_is_a_box():
    counts = [
        strokes(*pages_of(paper(*pieces)))
        for pieces in (
            (), (Fields((("Installer", ""),)),), (Grid(("a", "b"), (("1", "2"),)),), (Grid(("a", "b"), (("1", ""),)),)
        )
    ]  # fmt: skip
    assert counts[1] > counts[0]
    assert counts[3] >= counts[2] + 2, "a left and a right side"


def test_every_page_says_number_page_and_list_and_later_pages_title_revision_and_date():
    three = paper(Paragraph("a"), NewPage(), Paragraph("b"), NewPage(), Paragraph("c"))
    pages = pages_of(three, paper(number="H-1-02"))
    assert len(pages) == 4
    for n, page in enumerate(pages[:3], 1):
        assert re.search(rf"H-1-01.*house\.yaml 3fa91c02.*Page {n} of 3", text_of(page))
    assert "H-1-02" in text_of(pages[3]) and "Page 1 of 1" in text_of(pages[3])
    assert "H-1-01 Valve guide Revision C, 2026-03-01" in text_of(pages[1])
    assert "Revision C, 2026-03-01" not in text_of(pages[0]) + text_of(pages[3])


def test_only_a_page_with_a_picture_says_that_it_is_not_to_scale():
    pages = pages_of(paper(Paragraph("words"), NewPage(), Picture(sheet(), "a circuit")))
    said = ["Diagram, not to scale ·" in text_of(page) for page in pages]
    assert said == [False, True]


def test_text_stands_on_a4_and_a_drawn_sheet_on_a_page_of_its_own_size():
    pages = pages_of(paper(Paragraph("a")), paper(Paragraph("b"), landscape=True), paper(sheets=(sheet(),)))
    sizes = [(round(float(p.mediabox.width) * MM), round(float(p.mediabox.height) * MM)) for p in pages]
    assert sizes == [(210, 297), (297, 210), (420, 297)]


def test_every_paper_has_a_bookmark_and_under_it_its_chapters_and_further_sheets():
    reader = read(
        papers_pdf(
            (
                paper(Heading("One"), NewPage(), Heading("Two"), Heading("Part", 2)),
                paper(number="H-1-02", title="Schematic", sheets=(sheet(), sheet())),
                paper(Paragraph("a"), number="H-1-03", title="With a drawing", sheets=(sheet(),)),
            ),
            "Set",
        )
    )
    title = sheet().title
    assert list(bookmarks(reader, reader.outline)) == [
        (0, "H-1-01 Valve guide", 0), (1, "One", 0), (1, "Two", 1), (2, "Part", 1),
        (0, "H-1-02 Schematic", 2), (1, title, 3),
        (0, "H-1-03 With a drawing", 4), (1, title, 5),
    ]  # fmt: skip


def bookmarks(reader, outline, depth=0):
    for entry in outline:
        if isinstance(entry, list):
            yield from bookmarks(reader, entry, depth + 1)
        else:
            yield depth, entry.title, reader.get_destination_page_number(entry)


# tables


def test_a_long_table_repeats_its_heading_and_breaks_no_row():
    rows = tuple((f"r{n}begin", WORDS, f"{WORDS} {WORDS} r{n}end", "") for n in range(60))
    pages = [text_of(page) for page in pages_of(paper(Grid(("Tag", "What it does", "How", "Left"), rows)))]
    assert len(pages) > 2
    assert all("Tag What it does How Left" in text for text in pages)
    for n in range(60):
        (page,) = (text for text in pages if f"r{n}begin" in text)
        assert f"r{n}end" in page


def test_a_heading_does_not_stand_alone_at_the_foot_of_a_page():
    for count in range(38, 46):
        filler = Points(tuple(f"line {n}" for n in range(count)))
        pages = pages_of(paper(filler, Heading("The table"), Grid(("Tag", "What"), (("V1", "x"),) * 4)))
        (page,) = (text_of(p) for p in pages if "The table" in text_of(p))
        assert "The table Tag What V1 x" in page


def test_numbers_stand_to_the_right_so_that_they_can_be_compared():
    rows = (("V1", "75"), ("V2", "12345"), ("V3", "–"))
    (page,) = pages_of(paper(Grid(("Tag", "Flow"), rows)))
    starts = {text.strip(): x for text, x, *_ in chunks(page)}
    assert starts["75"] - starts["12345"] == pytest.approx(text_width("123", 8.5), abs=0.1)


def chunks(page):
    """Pieces of text with place and font size, in points."""
    found = []

    def visit(text, cm, tm, font, size):
        if text.strip():
            x, y = tm[4] * cm[0] + tm[5] * cm[2] + cm[4], tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
            found.append((text, x, y, abs(size * tm[3] * cm[3])))

    page.extract_text(visitor_text=visit)
    return found


cells = st.text(st.sampled_from("ab W1.-/ "), max_size=60)


@given(st.lists(st.tuples(cells, cells, cells), min_size=1, max_size=6), st.sampled_from([(), (1, 2, 3), (1, 1, 30)]))
def test_columns_fill_the_width_and_hold_their_longest_word_if_there_is_room(rows, widths):
    found = column_widths(Grid(rows[0], tuple(rows[1:]), widths), 175)
    assert sum(found) == pytest.approx(175)
    assert min(found) > 5
    for i, width in enumerate(found):
        longest = max((text_width(w, TABLE_SIZE) for row in rows for w in row[i].split()), default=0)
        assert width >= min(longest + 3, 175 / 3) - 1e-6


def test_no_letter_is_lower_than_the_least_of_the_standard():
    pieces = [piece for piece in EVERYTHING if not isinstance(piece, Picture)]
    sizes = [size * MM * CAPITALS for page in pages_of(paper(*pieces)) for *_, size in chunks(page)]
    assert min(sizes) >= 1.8


# hostile words


@pytest.mark.parametrize("words", HOSTILE.values(), ids=HOSTILE)
def test_hostile_words_in_every_field_stay_words_and_stay_on_the_page(words):
    pieces = (
        Heading(words), Paragraph(words), Paragraph(words, "caution"), Paragraph(words, "remark"),
        Points((words,)), Points((words,), "number"), Points((words,), "box"),
        Grid((words, "b"), ((words, "x"), ("y", words)), (1, 6)), Fields(((words, words), ("name", words))),
    )  # fmt: skip
    keys = ("client", "site", "drawn", "checked", "date", "revision", "list", "subtitle", "firm", "purpose")
    data = papers_pdf((Paper(words, words, words, pieces, head=dict.fromkeys(keys, words)),), words)
    reader = read(data)
    assert (reader.metadata.title or "") == plain(words)
    assert b"/JavaScript" not in data and "/OpenAction" not in reader.trailer["/Root"]
    if words.isascii() and plain(words) and len(words) < 200:
        text = "".join("".join(page.extract_text().split()) for page in reader.pages)
        assert text.count("".join(plain(words).split())) >= 10
    for page in reader.pages:
        for piece, x, _, size in chunks(page):
            assert x >= 0 and (x + text_width(piece.rstrip(), size) < 596 - 35 or not piece.isascii()), piece[:80]


def test_a_cell_longer_than_a_page_goes_on_to_the_next():
    pages = pages_of(paper(Grid(("Tag", "Words"), (("V1", f"{WORDS} " * 200 + "last"),))))
    assert len(pages) > 1 and "last" in text_of(pages[-1])


# same bytes, missing library

SCRIPT = """
import hashlib, test_papers_pdf as t
print(hashlib.sha256(t.papers_pdf((t.paper(*t.EVERYTHING), t.paper(sheets=(t.sheet(),))), "Set")).hexdigest())
"""


def test_the_same_papers_give_the_same_bytes_in_every_run():
    papers = (paper(*EVERYTHING), paper(sheets=(sheet(),)))
    run = subprocess.run(
        [sys.executable, "-c", SCRIPT], env=os.environ | {"PYTHONHASHSEED": "1"}, cwd=Path(__file__).parent,
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    here, again = (hashlib.sha256(papers_pdf(papers, "Set")).hexdigest() for _ in range(2))
    assert run.stdout.strip() == here == again


def test_without_the_typesetter_it_is_said_how_to_get_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(CannotDraw, match=r"pip install 'schemagen\[paper\]'"):
        papers_pdf((paper(),), "Set")
