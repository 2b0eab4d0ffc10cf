"""Lists in tables: CSV as spreadsheets of all countries save it, and workbooks as people fill them in."""

import datetime
import io
import zipfile

import pytest
from openpyxl import Workbook

from schemagen.joblist.joblist import ListUnreadable
from schemagen.joblist.read import read
from schemagen.joblist.words import SYNONYMS, TABLES
from schemagen.parts.library import shipped_library

PARTS = "tag,kind,size\nA,tee,22 mm\n"
PIPES = "from,to\nA.a,B.in\n"


def entries(line):
    return {e.key: e.text for e in line.entries}


def csv_job(folder, parts=PARTS, pipes=PIPES, **others):
    for name, data in {"parts": parts, "connections": pipes, **others}.items():
        (folder / f"{name}.csv").write_bytes(data if isinstance(data, bytes) else data.encode())
    return read(folder)


def csv_faults(folder, *tables, **others):
    with pytest.raises(ListUnreadable) as caught:
        csv_job(folder, *tables, **others)
    return [(str(e.place).removeprefix(f"{folder}/"), e.message, e.cure) for e in caught.value.errors]


def book(path, **sheets):
    workbook = Workbook()
    workbook.remove(workbook.active)
    for name, rows in sheets.items():
        sheet = workbook.create_sheet(name)
        for row in rows:
            sheet.append(row)
    workbook.save(path)
    return path


def book_faults(path):
    with pytest.raises(ListUnreadable) as caught:
        read(path)
    return [(str(e.place).removeprefix(f"{path}, "), e.message, e.cure) for e in caught.value.errors]


def test_a_folder_either_of_its_files_and_a_pair_alone_give_one_list(tmp_path):
    job = csv_job(tmp_path)
    assert [(p.tag, p.kind, entries(p), p.place.line) for p in job.parts] == [("A", "tee", {"size": "22 mm"}, 2)]
    assert [(c.stops, c.place.line) for c in job.connections] == [(("A.a", "B.in"), 2)]
    assert job == read(tmp_path / "parts.csv") == read(str(tmp_path / "connections.csv"))
    assert job.name == tmp_path.name


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_every_usual_separator_code_and_line_end_is_read(tmp_path, separator, encoding, newline):
    text = f"tag{separator}kind{separator}label\nA{separator}tee{separator}Küche\n".replace("\n", newline)
    job = csv_job(tmp_path, text.encode(encoding))
    assert [(p.tag, p.kind, entries(p), p.place.line) for p in job.parts] == [("A", "tee", {"label": "Küche"}, 2)]
    assert bool(job.notes) == (encoding == "cp1252")


def test_a_sep_line_names_the_separator(tmp_path):
    job = csv_job(tmp_path, "sep=|\ntag|kind|note\nA|tee|a,b;c\n")
    assert entries(job.parts[0]) == {"note": "a,b;c"} and job.parts[0].place.line == 3


def test_quotes_line_breaks_frozen_numbers_and_stray_blanks_are_understood(tmp_path):
    rows = 'tag,kind,note,size,\n\n , ,,,\nA , tee ,"two\nlines, ""so"" ",="001",\n,,,,\nB,pump,\'=1+1,22\u00a0mm,\n'
    one, two = csv_job(tmp_path, rows).parts
    assert (one.tag, one.kind, one.place.line) == ("A", "tee", 4)
    assert entries(one) == {"note": 'two lines, "so"', "size": "001"}
    assert (entries(two), two.place.line) == ({"note": "=1+1", "size": "22 mm"}, 7)


def test_a_title_above_the_headings_is_passed_over(tmp_path):
    job = csv_job(tmp_path, "Parts list; house 3\n;\nTag;Kind;Size\nA;tee;22\n")
    assert entries(job.parts[0]) == {"size": "22"}


def test_headings_in_other_spellings_and_languages_are_known(tmp_path):
    job = csv_job(
        tmp_path, "Kennzeichen;Bauart;Größe (mm);Ort\nA;Zone valve;22;Keller\n", "Von;Nach;Nennweite\nA.out;B.in;DN20\n"
    )
    assert (job.parts[0].kind, entries(job.parts[0])) == ("zone-valve", {"size": "22 mm", "place": "Keller"})
    assert (job.connections[0].stops, entries(job.connections[0])) == (("A.out", "B.in"), {"size": "DN20"})


def test_a_comma_is_decimal_where_semicolons_separate(tmp_path):
    job = csv_job(tmp_path, "tag;kind;volume;flow;label\nA;tee;1,234 L;22,5 l/min;1,234\n")
    assert entries(job.parts[0]) == {"volume": "1.234 L", "flow": "22,5 l/min", "label": "1,234"}


def test_runs_stand_beside_single_pipes(tmp_path):
    job = csv_job(tmp_path, pipes="from,to,run,size\nA.a,B.in,,22\n,,A.b > T1 > C,28\n")
    assert [(c.stops, entries(c)) for c in job.connections] == [
        (("A.a", "B.in"), {"size": "22"}),
        (("A.b", "T1", "C"), {"size": "28"}),
    ]


def test_the_other_tables_are_read(tmp_path):
    job = csv_job(
        tmp_path,
        sheet="key,value\ntitle,One house\nrevision,B\n",
        states="name,calling\nwinter,\"RT1, RT2\"\n",
        accept="check,parts,reason\nno-drain-point,A,low\n",
        fluids="fluid,content\nheating-water,230 L\n",
        symbols="folder\nmy-kinds\n",
    )
    assert [(e.key, e.text) for e in job.sheet] == [("title", "One house"), ("revision", "B")]
    assert [(r.name, entries(r)) for r in job.states] == [("winter", {"calling": "RT1, RT2"})]
    assert [(r.name, entries(r)) for r in job.accept] == [("no-drain-point", {"parts": "A", "reason": "low"})]
    assert [(r.name, entries(r)) for r in job.fluids] == [("heating-water", {"content": "230 L"})]
    assert job.symbols == "my-kinds"


@pytest.mark.parametrize(
    ("parts", "place", "message", "cure"),
    [
        ("tag,kind\nA,tee,22 mm\n", "parts.csv:2", "'22 mm' stands in a column without a heading", "heading"),
        ("tag,kind,size\nA,tee,#N/A\n", "parts.csv:2", "#N/A", "type the value"),
        ("tag,kind\nA,\n", "parts.csv:2", "part A has no kind", "kind"),
        ("tag,kind\n,tee\n", "parts.csv:2", "no tag", "tag"),
        ("tag,type\nA,tee\n", "parts.csv:1", "no columns `tag` and `kind`", "headings"),
        ('tag,kind\nA,"tee\nB,pump\n', "parts.csv:2", "never closed", "close it"),
        ('tag,kind\nA,"te"e\n', "parts.csv:2", "closing quotation mark", "whole cell"),
        ("tag,kind,size,Size\nA,tee,1,2\n", "parts.csv:1", "`Size` is written twice", "keep one"),
        ("tag,kind\nA,te\x07e\n", "parts.csv:2", "U+0007", "take it out"),
        (b"\x00\x01\x02", "parts.csv", "no text", "suffix"),
    ],
)
def test_a_fault_in_csv_is_told_with_its_line_and_cure(tmp_path, parts, place, message, cure):
    found = csv_faults(tmp_path, parts)
    assert [f for f in found if f[0] == place and message in f[1] and cure in f[2]], found


def test_a_lone_table_is_refused_with_what_the_folder_holds(tmp_path):
    (tmp_path / "parts.csv").write_text(PARTS)
    (tmp_path / "conections.csv").write_text(PIPES)
    with pytest.raises(ListUnreadable, match="no connections.csv; it has conections.csv, parts.csv"):
        read(tmp_path)
    with pytest.raises(ListUnreadable, match="conections.csv is no table of a list"):
        read(tmp_path / "conections.csv")


def test_a_workbook_is_read_as_people_fill_it_in(tmp_path):
    path = book(
        tmp_path / "house.xlsx",
        Parts=[
            ["Parts of the house"],
            [],
            ["Tag ", "KIND", "Size (mm)", "Drinking", "Revised"],
            ["A", " tee\u00a0", 22, True, None],
            [None, None, None, None, None],
            [101, "pump", 22.5, False, "no\u2011one"],
        ],
        Connections=[["from", "to", "run"], ["A.a", "101.in", None], [None, None, "101.out > A"]],
        Notes=[["anything", 1]],
    )
    job = read(path)
    assert [(p.tag, p.kind, entries(p)) for p in job.parts] == [
        ("A", "tee", {"size": "22 mm", "drinking": "yes"}),
        ("101", "pump", {"size": "22.5 mm", "drinking": "no", "revised": "no\u2011one"}),
    ]
    assert str(job.parts[1].entries[2].place) == f"{path}, sheet Parts, cell C6"
    assert [c.stops for c in job.connections] == [("A.a", "101.in"), ("101.out", "A")]
    assert job.name == "house"


def test_a_size_that_became_a_date_is_told_with_its_cell(tmp_path):
    path = book(
        tmp_path / "a.xlsx",
        parts=[["tag", "kind", "size"], ["A", "tee", datetime.date(2025, 4, 3)], ["B", "tee", datetime.time(1, 30)]],
        connections=[["from", "to"]],
    )
    (date, time) = book_faults(path)
    assert date[0] == "sheet parts, cell C2" and "3/4 or 4/3" in date[1] and "format the column as text" in date[2]
    assert time[0] == "sheet parts, cell C3" and "01:30" in time[1]


def test_a_date_is_welcome_in_the_title_block(tmp_path):
    path = book(
        tmp_path / "a.xlsx",
        sheet=[["key", "value"], ["date", datetime.date(2025, 4, 3)]],
        parts=[["tag", "kind"], ["A", "tee"]],
        connections=[["from", "to"]],
    )
    assert [(e.key, e.text) for e in read(path).sheet] == [("date", "2025-04-03")]


def test_a_misspelt_sheet_is_told_with_the_near_miss(tmp_path):
    path = book(tmp_path / "a.xlsx", part_s=[["tag", "kind"]], conections=[["from", "to"]])
    found = book_faults(path)
    assert any("no sheet `parts`" in message for _, message, _ in found)
    assert ("sheet conections", "the sheet `conections` is no table of a list", "did you mean `connections`?") in found


def test_an_open_document_sheet_is_read(tmp_path):
    def sheet(name, rows):
        cell = '<table:table-cell office:value-type="string"><text:p>{}</text:p></table:table-cell>'
        cells = "".join(f"<table:table-row>{''.join(map(cell.format, row))}</table:table-row>" for row in rows)
        return f'<table:table table:name="{name}">{cells}</table:table>'

    names = {"office": "office", "table": "table", "text": "text"}
    space = " ".join(f'xmlns:{k}="urn:oasis:names:tc:opendocument:xmlns:{v}:1.0"' for k, v in names.items())
    parts = sheet("parts", [["tag", "kind", "size"], ["A", "tee", "3/4 in"]])
    pipes = sheet("connections", [["from", "to"], ["A.a", "B.in"]])
    content = f"<?xml version='1.0'?><office:document-content {space}><office:body><office:spreadsheet>{parts}{pipes}"
    content += "</office:spreadsheet></office:body></office:document-content>"
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    with zipfile.ZipFile(tmp_path / "a.ods", "w") as packed:
        packed.writestr("mimetype", kind)
        packed.writestr("content.xml", content)
        entry = f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
        space = 'xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"'
        packed.writestr("META-INF/manifest.xml", f"<manifest:manifest {space}>{entry}</manifest:manifest>")
    job = read(tmp_path / "a.ods")
    assert [(p.tag, p.kind, entries(p)) for p in job.parts] == [("A", "tee", {"size": "3/4 in"})]
    assert str(job.parts[0].place).endswith("sheet parts, cell A2")


def packed(path, members):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return path


def test_a_workbook_that_unpacks_without_end_is_refused_before_it_is_unpacked(tmp_path):
    path = packed(tmp_path / "bomb.xlsx", {f"xl/worksheets/sheet{n}.xml": b" " * 60_000_000 for n in range(3)})
    assert path.stat().st_size < 1_000_000
    assert "unpacks to 180 MB" in book_faults(path)[0][1]


def test_a_workbook_with_a_cell_at_the_far_corner_is_refused(tmp_path):
    good = io.BytesIO()
    workbook = Workbook()
    workbook.active.title = "parts"
    workbook.active["A1"] = "tag"
    workbook.active["XFD1048576"] = "x"
    workbook.save(good)
    path = tmp_path / "far.xlsx"
    path.write_bytes(good.getvalue())
    assert "far too large" in book_faults(path)[0][1]


@pytest.mark.parametrize("suffix", [".xlsx", ".ods", ".xls"])
@pytest.mark.parametrize(
    "data", [b"", b"PK\x03\x04", b"PK\x05\x06" + b"\0" * 18, b"\xd0\xcf\x11\xe0" + b"\0" * 600, b"tag,kind"]
)
def test_what_is_no_workbook_is_refused_in_words(tmp_path, suffix, data):
    path = tmp_path / f"a{suffix}"
    path.write_bytes(data)
    (fault,) = book_faults(path)
    assert "no sound workbook" in fault[1] and "save it" in fault[2]


def test_a_workbook_cut_short_anywhere_is_refused_in_words(tmp_path):
    path = book(tmp_path / "a.xlsx", parts=[["tag", "kind"], ["A", "tee"]], connections=[["from", "to"]])
    data = path.read_bytes()
    for length in range(1, len(data) - 1, 211):
        path.write_bytes(data[:length])
        assert book_faults(path)


def test_no_other_word_for_a_column_hides_a_key_of_a_kind():
    library = shipped_library()
    keys = {key for name in library.names for key in library.kind(name).attributes}
    others = {word for table in ("", "parts") for word in SYNONYMS[table]}
    assert not keys & others
    assert all(TABLES[name] == name for name in TABLES.values())
