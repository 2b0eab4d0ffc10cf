"""The four forms of a list mean the same: what is written in one is read back, from every other, as the same list."""

import dataclasses
import os
import string

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from schemagen.base.place import Place
from schemagen.joblist import words
from schemagen.joblist.door import KEYS, schema
from schemagen.joblist.joblist import ConnectionLine, Entry, JobList, ListUnreadable, PartLine, Row
from schemagen.joblist.read import read, read_text
from schemagen.joblist.starter import STARTER
from schemagen.joblist.write import FORMS, replace_files, text_of, write
from schemagen.parts.library import shipped_library

HERE = Place("here")
FORM_NAMES = ["job.yaml", "job.json", "job.xlsx", "job"]
HOSTILE = [
    "=1+1", "+1", "-1", "@x", "'=1", "''+", "'", '"', '""', "#N/A", "'#N/A", "#REF!", '="001"', "null", "~",
    "Null", "true", "no", "on", "022", "1:30", "1e5", "22.0", "3/4", "a: b", "a, b", "a,b;c|d", "a #b", "#b",
    "- a", "[a]", "{a: b}", "&a", "*a", "!a", "!!python/object:x", "%a", "@a", "`a`", "|", ">", "? a", "a\\b",
    "\\u0041", "<script>", "]]>", "&amp;", "_x0041_", "_x000D_", "\u202eabc", "\U0001f6bf", "é", "e\u0301", "½",
    "m³", "–", "’", "x" * 500, "sep=;", "tag", "kind", "run", "from", "---", "...", "2025-04-03", "a > b",
    "a -> b", "<<", "key: ", ":", ",", "0 %", "a: x, b: y", "NaN", "inf", "{{x}}", "$(x)", "../x",
]  # fmt: skip
printable = st.characters(exclude_categories=("Cc", "Cs", "Cn", "Co"), exclude_characters="\ufffe\uffff")
any_text = st.one_of(st.sampled_from(HOSTILE), st.text(printable, max_size=12))
texts = any_text.map(words.clean_text).filter(bool)
tags = any_text.map(words.clean_word).filter(lambda t: 0 < len(t) <= 200)
stops = any_text.map(words.clean_word).filter(lambda t: words.stops_of(t) == [t] and t)
known_kinds = st.sampled_from(["tee", "diverter-valve", "room-thermostat"])
kinds = st.one_of(known_kinds, any_text).map(words.hyphened).filter(bool)
plain_keys = st.text(string.ascii_lowercase + "-é=#:,", min_size=1, max_size=8)


def keys(table, taken):
    own = st.one_of(st.sampled_from(["size", "serves", "switches", "built-in", "label"]), plain_keys, any_text)
    known = own.filter(lambda k: len(k) < 100).map(lambda k: words.key_and_unit(k, table)[0])
    return known.filter(lambda k: k and k not in taken and words.key_and_unit(k, table) == (k, ""))


def entries(table, *taken, least=0, ordered=True):
    pairs = st.dictionaries(keys(table, taken), texts, min_size=least, max_size=3)
    return pairs.map(lambda d: tuple(Entry(k, t, HERE) for k, t in (sorted(d.items()) if ordered else d.items())))


def rows(table, name):
    named = st.builds(Row, tags, entries(table, name), st.just(HERE))
    nameless = st.builds(Row, st.just(""), entries(table, name, least=1), st.just(HERE))
    return st.lists(st.one_of(named, nameless), max_size=3).map(tuple)


jobs = st.builds(
    JobList,
    name=st.just("job"),
    folder=st.none(),
    sheet=entries("sheet", ordered=False),
    parts=st.lists(
        st.builds(PartLine, tags, kinds, entries("parts", "tag", "kind"), st.just(HERE)), max_size=4
    ).map(tuple),
    connections=st.lists(
        st.builds(
            ConnectionLine,
            st.lists(stops, min_size=2, max_size=4).map(tuple),
            entries("connections", "from", "to", "run"),
            st.just(HERE),
        ),
        max_size=3,
    ).map(tuple),
    states=rows("states", "name"),
    accept=rows("accept", "check"),
    fluids=rows("fluids", "fluid"),
    symbols=st.sampled_from([None, "kinds", "my/kinds", "a;b", "=x"]),
)


def placeless(value):
    """A value of the list with every place replaced by one, and no folder: what remains is the meaning."""
    if isinstance(value, tuple):
        return tuple(map(placeless, value))
    if not dataclasses.is_dataclass(value):
        return value
    fixed = {"place": HERE, "folder": None}
    fields = {f.name: getattr(value, f.name) for f in dataclasses.fields(value)}
    return type(value)(**{k: fixed[k] if k in fixed else placeless(v) for k, v in fields.items()})


@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(job=jobs)
@pytest.mark.parametrize("name", FORM_NAMES)
def test_any_list_written_in_any_form_is_read_back_as_the_same_list(tmp_path_factory, name, job):
    folder = tmp_path_factory.mktemp("form")
    write(job, folder / name)
    assert placeless(read(folder / name)) == job


@given(any_text)
def test_cleaning_a_text_twice_changes_nothing(text):
    for clean in (words.clean_text, words.clean_word, words.hyphened):
        assert clean(clean(text)) == clean(text)


@settings(deadline=None)
@given(st.text(max_size=300))
def test_any_text_at_all_is_a_list_or_unreadable_in_yaml_and_in_json(text):
    for form in ("yaml", "json"):
        try:
            read_text(text, form)
        except ListUnreadable as e:
            assert all(error.message and error.cure for error in e.errors)


@settings(deadline=None)
@given(st.text(alphabet="ab1 \n:-,[]{}\"'#&*!|>%@?~\t.=", max_size=60))
def test_any_scramble_of_marks_is_a_list_or_unreadable(text):
    for form in ("yaml", "json"):
        try:
            read_text(f"parts: {text}" if form == "yaml" else f'{{"parts": {text}}}', form)
        except ListUnreadable as e:
            assert all(error.message and error.cure for error in e.errors)


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=300), st.sampled_from(["parts.csv", "connections.csv"]))
def test_any_bytes_at_all_as_csv_are_a_list_or_unreadable(tmp_path_factory, data, name):
    folder = tmp_path_factory.mktemp("csv")
    (folder / "parts.csv").write_bytes(b"tag,kind\nA,tee\n")
    (folder / "connections.csv").write_bytes(b"from,to\nA,B\n")
    (folder / name).write_bytes(data)
    try:
        read(folder)
    except ListUnreadable as e:
        assert all(error.message and error.cure for error in e.errors)


@pytest.mark.parametrize("name", FORM_NAMES)
def test_the_same_list_gives_the_same_bytes_in_every_form_whatever_it_was_converted_from(tmp_path, name):
    (tmp_path / "job.yaml").write_text(STARTER)
    job = read(tmp_path / "job.yaml")
    written = []
    for other in FORM_NAMES:
        folder = tmp_path / f"from {other}"
        (folder / "again").mkdir(parents=True)
        write(job, folder / other)
        write(read(folder / other), folder / "again" / name)
        files = sorted(p for p in (folder / "again").rglob("*") if p.is_file())
        written.append([(p.name, p.read_bytes()) for p in files])
    assert all(found == written[0] for found in written)


def test_yaml_is_laid_out_for_people():
    job = read_text(
        'sheet: {title: "Store, and more"}\nparts:\n  A: {kind: diverter-valve, serves: {a: hot-water, b: heating}}\n'
        "  LONG: {kind: room-thermostat, switches: [A, B], label: 'Zone: 2'}\nconnections:\n  - [A.a, B]\n"
        "  - {run: [A.b, T1, C], size: 28}\n",
        "yaml",
    )
    assert text_of(job, "yaml") == (
        'sheet:\n  title: "Store, and more"\n\nparts:\n'
        "  A:    {kind: diverter-valve, serves: {a: hot-water, b: heating}}\n"
        '  LONG: {kind: room-thermostat, label: "Zone: 2", switches: [A, B]}\n\n'
        "connections:\n  - [A.a, B]\n  - {run: [A.b, T1, C], size: 28}\n"
    )


def test_cells_that_a_spreadsheet_would_run_are_disarmed_in_csv(tmp_path):
    cells = ["=cmd|' /C calc'!A0", "+1", "-1", "@SUM(A1)"]
    parts = tuple(PartLine(f"P{n}", "tee", (Entry("note", text, HERE),), HERE) for n, text in enumerate(cells))
    write(JobList("job", None, (), parts, ()), tmp_path / "job")
    text = (tmp_path / "job" / "parts.csv").read_bytes().decode("utf-8-sig")
    for line in text.split("\r\n")[1:-1]:
        assert line.split(",", 2)[2].strip('"').startswith("'")
    assert (tmp_path / "job" / "parts.csv").read_bytes().startswith(b"\xef\xbb\xbf")


def test_a_workbook_holds_text_cells_a_fixed_heading_and_the_kinds_to_choose_from(tmp_path):
    from openpyxl import load_workbook

    write(read_text("parts:\n  A: {kind: tee, size: 3/4, note: =1+1}", "yaml"), tmp_path / "a.xlsx")
    sheet = load_workbook(tmp_path / "a.xlsx")["parts"]
    assert [[c.value for c in row] for row in sheet] == [["tag", "kind", "note", "size"], ["A", "tee", "=1+1", "3/4"]]
    assert {c.data_type for row in sheet for c in row} == {"s"}
    assert {c.number_format for row in sheet for c in row} == {"@"}
    assert sheet.freeze_panes == "A2"
    (offer,) = sheet.data_validations.dataValidation
    assert offer.type == "list" and "B2" in str(offer.sqref)


def test_files_are_replaced_whole_or_left_as_they_were(tmp_path):
    first, second = tmp_path / "a", tmp_path / "missing" / "b"
    first.write_text("old")
    with pytest.raises(OSError):
        replace_files({first: b"new", second: b"new"})
    assert first.read_text() == "old" and os.listdir(tmp_path) == ["a"]
    replace_files({first: b"new"})
    assert first.read_text() == "new" and os.listdir(tmp_path) == ["a"]


def test_tables_left_in_a_folder_from_an_earlier_list_are_emptied(tmp_path):
    write(read_text("parts: {}\nstates: {w: {calling: [A]}}", "yaml"), tmp_path / "job")
    write(read_text("parts: {A: tee}", "yaml"), tmp_path / "job")
    job = read(tmp_path / "job")
    assert [p.tag for p in job.parts] == ["A"] and job.states == ()


def test_a_form_that_cannot_be_written_is_named(tmp_path):
    job = read_text("parts: {}", "yaml")
    for name in ("a.ods", "a.txt"):
        with pytest.raises(ValueError, match=FORMS[0]):
            write(job, tmp_path / name)
    with pytest.raises(ValueError, match="parts.csv"):
        write(job, tmp_path / "a.csv")


def test_the_published_schema_names_the_words_of_a_list_and_the_kinds():
    published = schema()
    assert set(published["properties"]) == set(KEYS) and published["additionalProperties"] is False
    kind = published["$defs"]["PartIn"]["properties"]["kind"]
    assert kind["anyOf"][0]["enum"] == list(shipped_library().names)
    assert {"label", "place", "size"} <= set(published["$defs"]["PartIn"]["properties"])
    assert published["$defs"]["PartIn"]["required"] == ["kind"]
