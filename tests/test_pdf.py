"""Sheets as PDF, read back by another library: true size, lines, text that can be found, and nothing that runs."""

import io
import os
import subprocess
import sys
from dataclasses import replace
from functools import cache

import pytest
from example_sheets import EXAMPLES, FOLDER, HOSTILE, sheets_of, texts_on
from hand_plan import hand_drawing

from schemagen.base.finding import Finding
from schemagen.output.as_pdf import encode
from schemagen.output.plain_text import plain
from schemagen.sheets.publish import publish
from schemagen.sheets.sheet import CannotDraw

pypdf = pytest.importorskip("pypdf")
pytest.importorskip("typst")

POINTS_PER_MM = 72 / 25.4


@cache
def pdf_of(name):
    (data,) = encode(sheets_of(name))
    return data


def reader_of(data):
    return pypdf.PdfReader(io.BytesIO(data), strict=True)


def text_of(data):
    return "\n".join(page.extract_text() for page in reader_of(data).pages)


def resources_of(page, name):
    return [entry.get_object() for entry in page["/Resources"].get(name, {}).values()]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_text_found_in_the_file_is_that_of_the_drawing_and_no_more(name):
    texts, found = texts_on(sheets_of(name)), text_of(pdf_of(name)).split()
    assert "".join(found) == "".join("".join(texts).split())
    assert [text for text in texts if text not in " ".join(found)] == []


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_page_has_the_size_of_its_sheet(name):
    pages = reader_of(pdf_of(name)).pages
    sizes = [(float(p.mediabox.width) / POINTS_PER_MM, float(p.mediabox.height) / POINTS_PER_MM) for p in pages]
    assert sizes == [pytest.approx((s.width, s.height), abs=0.01) for s in sheets_of(name)]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_file_says_its_title_and_language_and_neither_author_nor_time(name):
    reader = reader_of(pdf_of(name))
    assert reader.metadata.title == sheets_of(name)[0].drawing.title
    assert reader.trailer["/Root"]["/Lang"] == "en"
    assert {"/Author", "/CreationDate", "/ModDate"}.isdisjoint(reader.metadata)


@pytest.mark.parametrize("name", EXAMPLES)
def test_it_is_drawn_in_lines_and_letters_of_the_shipped_font_alone(name):
    for page in reader_of(pdf_of(name)).pages:
        assert all(x["/Subtype"] == "/Form" for x in resources_of(page, "/XObject"))
        for font in fonts_on(page):
            assert font["/BaseFont"].split("+")[1] in ("Plan-Regular", "Plan-Bold")
            descriptor = font["/DescendantFonts"][0].get_object()["/FontDescriptor"]
            assert "/FontFile2" in descriptor and "/ToUnicode" in font


def fonts_on(page):
    forms = [form for form in resources_of(page, "/XObject") if "/Resources" in form]
    fonts = [font for holder in (page, *forms) for font in resources_of(holder, "/Font")]
    assert fonts
    return fonts


@pytest.mark.parametrize("name", EXAMPLES)
def test_it_is_tagged_and_each_sheet_is_told_in_words(name):
    root = reader_of(pdf_of(name)).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"].value is True
    assert [alt.split() for alt in alts_below(root["/StructTreeRoot"])] == [s.desc.split() for s in sheets_of(name)]


def alts_below(element):
    element = element.get_object()
    if not isinstance(element, dict):
        return []
    own = [element["/Alt"]] if element.get("/S") == "/Figure" else []
    below = element.get("/K", [])
    below = below if isinstance(below, list) else [below]
    return own + [alt for child in below for alt in alts_below(child)]


def test_several_sheets_become_pages_of_one_file_in_their_order():
    sheets = tuple(sheet for name in EXAMPLES[:2] for sheet in sheets_of(name))
    (data,) = encode(sheets)
    pages = reader_of(data).pages
    assert len(pages) == len(sheets) > 1
    for page, sheet in zip(pages, sheets, strict=True):
        assert "".join(page.extract_text().split()) == "".join("".join(texts_on([sheet])).split())


def hostile_sheet(words):
    network, report, drawing = hand_drawing((Finding("pump-missing", "error", words, words, parts=("V1",)),))
    part = replace(drawing.parts[0], title=words, desc=words, tag=words)
    pipe = replace(drawing.pipes[0], title=words, desc=words, start=words, size=words)
    network = replace(network, sheet={"title": words, "client": words, "site": words, "number": words})
    label = replace(drawing.labels[0], texts=tuple(replace(t, text=words) for t in drawing.labels[0].texts))
    drawing = replace(
        drawing, title=words, desc=words, parts=(part, *drawing.parts[1:]), pipes=(pipe, *drawing.pipes[1:]),
        labels=(label, *drawing.labels[1:]),
    )  # fmt: skip
    (sheet,) = publish(drawing, network, report, "fit")
    return sheet


@pytest.mark.parametrize("words", HOSTILE.values(), ids=HOSTILE)
def test_hostile_words_are_shown_as_words_and_break_nothing(words):
    (data,) = encode((hostile_sheet(words),))
    reader = reader_of(data)
    assert len(reader.pages) == 1
    assert (reader.metadata.title or "") == plain(words)
    root = reader.trailer["/Root"]
    assert {"/OpenAction", "/AA", "/AcroForm"}.isdisjoint(root) and b"/JavaScript" not in data
    assert "/Annots" not in reader.pages[0]


@pytest.mark.parametrize("kind", ["markup", "typesetting", "drawing orders"])
def test_hostile_words_can_be_found_as_they_were_written(kind):
    (data,) = encode((hostile_sheet(HOSTILE[kind]),))
    assert HOSTILE[kind].split()[0] in text_of(data).split()


def test_the_same_list_gives_the_same_bytes_in_every_run(tmp_path):
    name = "01_one_radiator_circuit.yaml"
    out = tmp_path / "x.pdf"
    command = [sys.executable, "-m", "schemagen", "draw", str(FOLDER / name), "-o", str(out)]
    subprocess.run(command, env=os.environ | {"PYTHONHASHSEED": "1"}, check=True, capture_output=True)
    assert out.read_bytes() == pdf_of(name) == encode(sheets_of(name))[0]


def test_without_the_typesetter_it_is_said_how_to_get_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(CannotDraw, match=r"pip install 'schemagen\[paper\]'"):
        encode(sheets_of(EXAMPLES[0]))


def test_neither_typesetter_nor_other_heavy_libraries_are_loaded_to_know_which_formats_there_are():
    code = "from schemagen.output.write import *; import sys; [format_of(s) for s in formats()]; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    assert {"typst", "ezdxf", "resvg_py", "openpyxl", "numpy"}.isdisjoint(loaded)
