"""The revisions of a sheet: the same in every form of the list, and a table above the title block of every sheet."""

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemagen.drawing.shape import Rect, Text
from schemagen.drawing.style import shipped_style
from schemagen.joblist.door import schema
from schemagen.joblist.joblist import ListUnreadable
from schemagen.joblist.read import read, read_text
from schemagen.joblist.revisions import pieces_of, revisions_of, text_of_pieces
from schemagen.joblist.write import text_of, write
from schemagen.pipeline import Comparison, job_of
from schemagen.sheets.revision_table import MOST, revision_table

STYLE = shipped_style()

LIST = """
sheet:
  title: One radiator
  revision: B
  revisions:
    - {index: A, date: 2025-03-17, what: First issue, by: K. Lund}
    - {index: B, date: 2025-05-02, what: "Pump, with speed control", by: K. Lund}
parts:
  B1: {kind: system-boiler, label: Boiler, output: 12 kW, capped: [condensate]}
  R1: {kind: radiator, label: Hall, output: 1.5 kW}
  RT1: {kind: room-thermostat, switches: [B1]}
connections:
  - {run: [B1.flow, R1, B1.return], size: 15 mm}
"""

words = st.text("AB12-.x ()", min_size=1, max_size=12).map(str.strip).filter(bool)
revisions = st.lists(st.builds(lambda i, w, b: {"index": i, "what": w, "by": b}, words, words, words), max_size=5)


def data_of(job) -> dict[str, str]:
    return {entry.key: entry.text for entry in job.sheet}


@given(revisions)
def test_pieces_of_a_text_are_the_revisions_it_was_made_of(made):
    assert pieces_of(text_of_pieces(made)) == made


@given(st.text(max_size=60))
def test_any_text_at_all_is_taken_apart_without_losing_its_words(text):
    assert sum(len(value) for piece in pieces_of(text) for value in piece.values()) <= len(text)
    assert not text or pieces_of(text)


@pytest.mark.parametrize("name", ["a.yaml", "a.json", "a.xlsx", "folder"])
def test_revisions_are_the_same_in_every_form(name, tmp_path):
    job = read_text(LIST, "yaml")
    write(job, tmp_path / name)
    assert data_of(read(tmp_path / name)) == data_of(job)


def test_a_table_has_a_row_for_each_revision_and_yaml_a_line(tmp_path):
    job = read_text(LIST, "yaml")
    write(job, tmp_path / "folder")
    rows = (tmp_path / "folder" / "sheet.csv").read_text(encoding="utf-8-sig").splitlines()
    assert [row.split(",")[0] for row in rows] == ["key", "title", "revision", "revisions", "revisions"]
    assert '    - {index: B, date: 2025-05-02, what: "Pump, with speed control", by: K. Lund}\n' in text_of(job, "yaml")
    assert json.loads(text_of(job, "json"))["sheet"]["revisions"][0]["what"] == "First issue"


def test_a_word_that_no_revision_has_is_refused_at_its_line_with_a_cure():
    with pytest.raises(ListUnreadable) as told:
        read_text(LIST.replace("what: First issue", "reason: First issue"), "yaml")
    (error,) = told.value.errors
    assert error.place.line == 6
    assert "revision" in error.message and "what:" in error.cure


def test_the_schema_tells_an_editor_the_words_of_a_revision():
    published = json.dumps(schema())
    assert '"revisions"' in published and '"RevisionIn"' in published


def test_the_newest_is_on_top_by_date_or_else_by_the_order_of_the_list():
    dated = revisions_of("index: B, date: 2025-05-02, index: A, date: 2025-03-17, index: C, date: 2026-01-09")
    assert [r.index for r in dated] == ["C", "B", "A"]
    assert [r.index for r in revisions_of("index: A, what: x, index: B, date: May")] == ["B", "A"]


def test_the_table_stands_on_the_title_block_and_nothing_of_the_sheet_lies_on_it():
    (sheet,) = job_of(read_text(LIST, "yaml")).sheets()
    blocks = {block.name: block for block in sheet.blocks}
    table, title = (next(s for s in blocks[n].shapes if isinstance(s, Rect)) for n in ("revisions", "title-block"))
    assert (table.x, table.w) == (title.x, title.w)
    assert table.y + table.h == pytest.approx(title.y)
    texts = [shape.text for shape in blocks["revisions"].shapes if isinstance(shape, Text)]
    assert texts[:3] == ["B", "2025-05-02", "Pump, with speed control"]
    for name, block in blocks.items():
        if name not in ("frame", "title-block", "revisions"):
            for shape in block.shapes:
                if isinstance(shape, Text) and shape.x >= table.x:
                    assert not table.y < shape.y < title.y, (name, shape.text)
    box = sheet.drawing.box
    assert sheet.onto.y(box.bottom) <= table.y


def test_a_list_without_revisions_has_no_table_and_the_same_sheet_as_before():
    with_none = LIST[: LIST.index("  revisions")] + LIST[LIST.index("parts:") :]
    (sheet,) = job_of(read_text(with_none, "yaml")).sheets()
    assert "revisions" not in {block.name for block in sheet.blocks}
    assert revision_table({}, 180, STYLE)[1] == 0.0


def test_every_sheet_has_it_of_states_and_of_comparisons_too():
    job = job_of(read_text(LIST, "yaml"))
    other = job_of(read_text(LIST.replace("12 kW", "15 kW"), "yaml"))
    for sheet in (*job.state_sheets(job.states), *Comparison(job, other).sheets()):
        assert "revisions" in {block.name for block in sheet.blocks}


def test_of_many_revisions_the_newest_are_printed_and_the_rest_counted():
    text = ", ".join(f"index: {n}, what: issue {n}" for n in range(1, 21))
    block, high = revision_table({"revisions": text}, 180, STYLE)
    texts = [shape.text for shape in block.shapes if isinstance(shape, Text)]
    assert texts[0] == "20"
    assert f"and {20 - MOST + 1} earlier revisions" in texts
    assert high < 60


def test_a_long_or_hostile_revision_stays_inside_its_cell():
    text = "index: <b>&, what: " + "W" * 300 + ", by: " + "=1+1" * 30
    block, high = revision_table({"revisions": text}, 130, STYLE)
    frame = next(s for s in block.shapes if isinstance(s, Rect))
    assert (frame.w, frame.h) == (130, high)
    assert all(0 < s.x < 130 and 0 < s.y < high for s in block.shapes if isinstance(s, Text))


def test_revisions_are_about_the_paper_and_no_change_of_the_system():
    job = read_text(LIST, "yaml")
    fewer = replace(job, sheet=job.sheet[:-1])
    assert Comparison(job_of(job), job_of(fewer)).changes.sheet == ()
