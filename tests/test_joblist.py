"""Reading YAML and JSON: what is typed is kept, the traps of each form are explained, all faults come at once."""

import io
import json

import pytest

from schemagen.joblist.joblist import ListUnreadable
from schemagen.joblist.read import read, read_text
from schemagen.joblist.starter import STARTER
from schemagen.parts.library import shipped_library


def entries(line):
    return {e.key: e.text for e in line.entries}


def faults(text, form="yaml"):
    with pytest.raises(ListUnreadable) as caught:
        read_text(text, form, file="job")
    return [(e.place.line, e.message, e.cure) for e in caught.value.errors]


def parts(text):
    return read_text(f"parts:\n{text}", "yaml").parts


def connections(text):
    return read_text(f"parts: {{}}\nconnections:\n{text}", "yaml").connections


def test_a_list_keeps_tags_kinds_values_and_their_lines():
    job = read_text(
        "sheet:\n  title: Store, and more\n  revision: A\nparts:\n  HP 1: {kind: air-heat-pump, output: 7 kW}\n"
        "connections:\n  - {run: [HP 1.flow, T1, A.in], size: 28 mm}\n",
        "yaml",
        name="job",
        file="job.yaml",
    )
    assert [(e.key, e.text) for e in job.sheet] == [("title", "Store, and more"), ("revision", "A")]
    assert [(p.tag, p.kind, entries(p), str(p.place)) for p in job.parts] == [
        ("HP 1", "air-heat-pump", {"output": "7 kW"}, "job.yaml:5")
    ]
    (line,) = job.connections
    assert (line.stops, entries(line), line.place.line) == (("HP 1.flow", "T1", "A.in"), {"size": "28 mm"}, 7)


def test_yaml_words_and_numbers_stay_as_typed():
    typed = ["on", "no", "yes", "022", "1:30", "22.0", "1e3", "true", "2024-01-02", "0x1F", ".5"]
    for text in typed:
        (part,) = parts(f"  A: {{kind: tee, x: {text}}}")
        assert entries(part) == {"x": text}


def test_lists_and_tables_have_one_text():
    (part,) = parts("  A: {kind: tee, l: [x, y z], t: {a: hot, b: cold}, m: [pump, vessel: 12 L], n: [], o: ~}")
    assert entries(part) == {"l": "x, y z", "t": "a: hot, b: cold", "m": "pump, vessel: 12 L"}


def test_block_and_flow_style_mean_the_same():
    flow = parts("  A: {kind: tee, size: 22 mm, note: a b}")
    block = parts("  A:\n    note: >\n      a\n      b\n    size: '22 mm'\n    kind: tee\n")
    assert [(p.tag, p.kind, entries(p)) for p in flow] == [(p.tag, p.kind, entries(p)) for p in block]


def test_a_part_may_be_written_as_its_kind_alone_and_parts_as_rows():
    found = parts("  T1: tee\n  T2: Air Heat_Pump")
    assert [(p.tag, p.kind) for p in found] == [("T1", "tee"), ("T2", "air-heat-pump")]
    (row,) = parts("  - {tag: T1, kind: tee, size: 5}")
    assert (row.tag, row.kind, entries(row)) == ("T1", "tee", {"size": "5"})


def test_a_tag_written_twice_is_kept_twice():
    found = parts("  A: tee\n  A: {kind: pump}")
    assert [(p.tag, p.kind, p.place.line) for p in found] == [("A", "tee", 2), ("A", "pump", 3)]


@pytest.mark.parametrize(
    "written",
    [
        "  - [A.flow, T1, B.in]",
        "  - A.flow > T1 > B.in",
        "  - A.flow → T1 -> B.in",
        "  - [A.flow > T1, B.in]",
        "  - {run: [A.flow, T1, B.in]}",
        "  - {run: A.flow > T1 > B.in}",
        "  - {Route: A.flow --> T1 => B.in}",
        "  - [A.flow,\u00a0T1 , 'B.in ']",
    ],
)
def test_all_notations_of_a_run_give_the_same_stops(written):
    assert [c.stops for c in connections(written)] == [("A.flow", "T1", "B.in")]


def test_from_and_to_make_a_pipe():
    (line,) = connections("  - {from: A.flow, to: B.in, size: 22, length: 3 m}")
    assert (line.stops, entries(line)) == (("A.flow", "B.in"), {"length": "3 m", "size": "22"})


def test_states_accepted_findings_and_fluids_are_read_from_tables_and_lists():
    job = read_text(
        "parts: {}\nstates: {winter: {calling: [RT1, RT2], positions: {DV1: b}}}\n"
        "accept:\n  - {check: no-drain-point, parts: [A], reason: 'low, and dry'}\n"
        "  - {check: no-drain-point, parts: [B]}\n"
        "fluids: [{fluid: heating-water, content: 230 L}]\nsymbols: my/kinds\n",
        "yaml",
    )
    assert [(r.name, entries(r)) for r in job.states] == [("winter", {"calling": "RT1, RT2", "positions": "DV1: b"})]
    assert [(r.name, entries(r)) for r in job.accept] == [
        ("no-drain-point", {"parts": "A", "reason": "low, and dry"}),
        ("no-drain-point", {"parts": "B"}),
    ]
    assert [(r.name, entries(r)) for r in job.fluids] == [("heating-water", {"content": "230 L"})]
    assert job.symbols == "my/kinds"
    assert entries(read_text("parts: {}\naccept: {no-drain-point: dry}", "yaml").accept[0]) == {"reason": "dry"}


def test_blanks_dashes_and_letter_case_do_not_matter_in_words():
    (part,) = parts("  ' V\u2011101 ': {Kind: Zone\u00a0Valve, Size (mm): 22, Label: 'Zone\u00a0 2 – north'}")
    assert (part.tag, part.kind) == ("V-101", "zone-valve")
    assert entries(part) == {"size": "22 mm", "label": "Zone 2 – north"}


@pytest.mark.parametrize(
    ("text", "line", "message", "cure"),
    [
        ("parts:\n  A: {title: Heat pump, buffer}", 2, "'Heat pump' and 'buffer'", 'title: "Heat pump, buffer"'),
        ("parts:\n  A: {kind: tee, size: 22,5 mm}", 2, "'22' and '5 mm'", "size: 22.5 mm"),
        ("parts:\n  A: {kind:tee}", 2, "no blank after the colon", "kind: tee"),
        ("parts:\n  A: {kind: tee, spare}", 2, "'tee' and 'spare'", '"tee, spare"'),
        ("parts:\n  A: {kind: tee, switches: [B], spare}", 2, "'spare' has no value", "spare:"),
        ("parts:\n\tA: {kind: tee}", 2, "tab", "blanks"),
        ("parts:\n  A: {label: Zone 2: north}", 2, "colon too many", "quote"),
        ("parts:\n  A:\n    label: Zone 2: north", 3, "second colon", "quote"),
        ("parts:\n  A: {kind: tee\n  B: {kind: tee}", 2, "colon too many", "close"),
        ("parts:\n  A: {kind: tee", 2, "not closed", "close"),
        ("parts:\n  A: {kind: tee}}", 2, "bracket", "once"),
        ("parts:\n  A: {kind: tee}\n B: {kind: tee}", 3, "indented", "same column"),
        ('parts:\n  A: {kind: tee, size: "3/4"" }', 2, "quotation mark", "3/4 in"),
        ('parts:\n  A: {kind: tee, note: "C:\\x"}', 2, "backslash", "single quotes"),
        ("parts:\n  A: {kind: tee, note: @x}", 2, "keeps for itself", "quotes"),
        ("parts:\n  A: {kind: tee}\nconnections:\n  - [A, B]\n  -[B, C]", 5, "dash", "blank"),
        ("parts:\n  A: &x {kind: tee}", 2, "&x is an anchor", "take it out"),
        ("parts:\n  A: {kind: tee}\n  B: *x", 3, "*x is an alias", "write the value out"),
        ("parts:\n  A: {<<: {a: b}, kind: tee}", 2, "merge key", "write the keys out"),
        ("parts:\n  A: !!python/object/apply:os.system [ls]", 2, "YAML tag", "take it out"),
        ("parts:\n  ? [a]\n  : {kind: tee}", 2, "not a plain word", "quote"),
        ("parts: {}\n---\nparts: {}", 2, "second document", "one file"),
        ("prts: {}", 1, "`prts` is no part of a list", "did you mean `parts`?"),
        ("parts: {}\nconections: []", 2, "`conections`", "did you mean `connections`?"),
        ("parts: {}\nzzz: 1", 2, "`zzz`", "sheet, parts, connections"),
        ("parts: {}\nparts: {}", 2, "`parts` is written twice", "keep one"),
        ("sheet: {title: x}", 1, "no parts", "parts:"),
        ("- a", 1, "no table of keys", "parts:"),
        ("just text", 1, "no table of keys", "parts:"),
        ("", None, "empty", "schemagen new"),
        ("# only a remark", None, "empty", "schemagen new"),
        ("parts:\n  A: {size: 5}", 2, "part A has no kind", "kind:"),
        ("parts:\n  A:", 2, "part A has no kind", "kind:"),
        ("parts:\n  A: [tee]", 2, "not written as the list wants", "R1: {kind: radiator}"),
        ("parts:\n  - {kind: tee}", 2, "no tag", "tag:"),
        ("parts:\n  '': tee", 2, "no tag", "HP1"),
        ("parts: text", 1, "not written", "TAG"),
        ("parts:\n  A: {kind: tee, size: 1, Size: 2}", 2, "`Size` is written twice", "keep one"),
        ("parts:\n  A: {kind: tee, kind: pump}", 2, "`kind` is written twice", "keep one"),
        ("parts:\n  A: {kind: tee, x: {y: {z: w}}}", 2, "`x` is nested too deep", "plain texts"),
        ("parts: {}\nconnections:\n  - [A]", 3, "two ends", "[A.flow, B.in]"),
        ("parts: {}\nconnections:\n  - [A, B, size: 28 mm]", 3, "not written", "size: 28 mm}"),
        ("parts: {}\nconnections:\n  - {size: 28 mm}", 3, "either `run`", "run:"),
        ("parts: {}\nconnections:\n  - {run: [A, B], from: C, to: D}", 3, "either `run`", "run:"),
        ("parts: {}\nconnections:\n  - A > > B", 3, "empty", "between two arrows"),
        ("parts: {}\nconnections: {A: B}", 2, "not written", "[A.flow, B.in]"),
        ("parts: {}\nstates: {w: {a: b}, w: {c: d}}", 2, "`w` is written twice", "keep one"),
        ("parts: {}\nsymbols: ../kinds", 2, "leads out", "beside the list"),
        ("parts: {}\nsymbols: /etc", 2, "leads out", "beside the list"),
        ("parts: {}\nsymbols: 'C:\\kinds'", 2, "leads out", "beside the list"),
        ('parts:\n  A: {kind: tee, label: "a\\u0007b"}', 2, "U+0007", "take it out"),
        ("parts:\n  A: {kind: tee, note: " + "x" * 10_001 + "}", 2, "10001 characters", "quotation mark"),
        ("parts:\n  A: {kind: tee, x: [" + "a, " * 4000 + "a]}", 2, "`x` has 12001 characters", "bracket"),
        ("parts:\n  " + "x" * 300 + ": tee", 2, "300 characters", "200"),
    ],
)  # fmt: skip
def test_a_fault_in_yaml_is_told_with_its_line_and_cure(text, line, message, cure):
    found = faults(text)
    assert [f for f in found if f[0] == line and message in f[1] and cure in f[2]], found


def test_all_faults_of_a_list_come_at_once_and_in_order():
    found = faults(
        "prts: {}\nparts:\n  A: {size: 22,5 mm}\n  B: {kind: tee, kind: tee}\n  C: [x]\n"
        "connections:\n  - [A]\n  - {a: b}\n"
    )
    assert [line for line, _, _ in found] == [1, 3, 3, 4, 5, 7, 8]


def test_several_syntax_faults_are_told_in_one_run():
    found = faults("sheet:\n  title: a: b\nparts:\n\tA: tee\n  B: {kind: tee\n  C: {label: x: y}\n  D: @\n")
    assert [line for line, _, _ in found] == [2, 4, 5, 7]


@pytest.mark.parametrize(
    ("text", "line", "message", "cure"),
    [
        ('{"parts": {},}', 1, "comma before }", "take the last comma out"),
        ('{"parts":\n {"A": {"kind" "tee"}}}', 2, "missing", '"key": "value"'),
        ("{'parts': {}}", 1, "single quotes", "double quotes"),
        ('{"parts": {}}\n// x', 2, "remarks", "YAML"),
        ('{"parts": {"A": {"kind": "tee", "size": 28 mm}}}', 1, "'mm' is not in double quotes", '"mm"'),
        ('{"parts": {"A": {"kind": "tee", "size": 022}}}', 1, "022", "double quotes"),
        ('{"parts": {"A": {"kind": "tee", "size": NaN}}}', 1, "'NaN'", '"NaN"'),
        ('{"parts": {"A": {"kind": "tee}}}', 1, "not closed", 'close it with "'),
        ('{"parts": {"A": ["x"}}', 1, "} closes what [ opened", "write ]"),
        ('{"parts":\n\n {}', 3, "{ of line 1 is not closed", "close"),
        ('{"parts": {"A": {"kind": "\\q"}}}', 1, "backslash", "\\\\"),
        ('{"parts": {"A": {"kind": "\\ud800"}}}', 1, "U+D800", "take it out"),
        ('{"parts": {}} {}', 1, "more text", "one list"),
        ('{"parts": {}, "parts": {}}', 1, "written twice", "keep one"),
        ('{parts: {}}', 1, "'parts' is not in double quotes", '"parts"'),
        ('{1: {}}', 1, "key is not in double quotes", '"key"'),
        ('{"parts":, "a": 1}', 1, "comma", "comma"),
        ("[]", 1, "no table of keys", "parts"),
        ("", None, "empty", "schemagen new"),
    ],
)  # fmt: skip
def test_a_fault_in_json_is_told_with_its_line_and_cure(text, line, message, cure):
    found = faults(text, "json")
    assert [f for f in found if f[0] == line and message in f[1] and cure in f[2]], found


def test_json_keeps_numbers_as_typed_and_reads_the_same_list_as_yaml():
    text = '{"parts": {"A": {"kind": "tee", "size": 22.0, "x": true, "y": null, "l": ["p", 2]}}}'
    (part,) = read_text(text, "json").parts
    assert entries(part) == {"size": "22.0", "x": "yes", "l": "p, 2"}
    titles = 'ü"\\/ \u2192 x', "{[:,]}", "\U0001f6bf"
    for title in titles:
        for escaped in (True, False):
            text = json.dumps({"parts": {}, "sheet": {"title": title}}, ensure_ascii=escaped, indent=1)
            assert read_text(text, "json").sheet[0].text == title


@pytest.mark.parametrize("form", ["yaml", "json"])
@pytest.mark.parametrize("text", ["[" * 10_000, "{a: " * 10_000, '{"a":' * 10_000, "- " * 10_000, "[" * 30 + "]" * 30])
def test_nesting_without_end_is_refused(form, text):
    assert faults(text, form)


def test_a_bomb_of_anchors_is_refused_at_its_first_line():
    steps = zip("abcdefgh", "bcdefghi", strict=True)
    bomb = "a: &a [x, x]\n" + "".join(f"{b}: &{b} [*{a}, *{a}, *{a}]\n" for a, b in steps)
    assert any("&a is an anchor" in message for _, message, _ in faults(bomb))


def test_files_that_are_no_lists_are_refused_in_words(tmp_path):
    for name, data, message in [
        ("binary.yaml", b"\x7fELF\x00\x00\x01", "no text"),
        ("empty.yaml", b"", "empty"),
        ("list.txt", b"parts: {}", "suffix .txt is no form of a list"),
        ("list", b"parts: {}", "no suffix"),
        ("long.yaml", b"x" * 5_000_001, "larger than 5 MB"),
        ("half.yaml", b"\xff\xfea", "damaged"),
        ("odd.yaml", b"parts: \x81", "no code that can be read"),
        ("picture.xlsx", b"\x89PNG", "no sound workbook"),
        ("nul.json", b'{"parts": "\x00"}', "no text"),
    ]:
        path = tmp_path / name
        path.write_bytes(data)
        with pytest.raises(ListUnreadable) as caught:
            read(path)
        assert message in caught.value.errors[0].message and caught.value.errors[0].cure
        assert caught.value.errors[0].place.file == str(path)


def test_a_missing_file_names_the_near_miss(tmp_path):
    (tmp_path / "house.yaml").write_text("parts: {}")
    with pytest.raises(ListUnreadable, match="no such file") as caught:
        read(tmp_path / "hosue.yaml")
    assert "house.yaml" in caught.value.errors[0].cure
    with pytest.raises(ListUnreadable, match="no such file"):
        read(tmp_path / "nowhere" / "a.yaml")
    with pytest.raises(ListUnreadable, match="parts.csv"):
        read(tmp_path)
    with pytest.raises(ListUnreadable):
        read("a\0b.yaml")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_all_usual_encodings_and_line_ends_are_read(tmp_path, encoding, newline):
    path = tmp_path / "a.yaml"
    text = "parts:\n  A: {kind: tee, label: Küche}\n  B: {kind: tee}\n"
    path.write_bytes(text.replace("\n", newline).encode(encoding))
    job = read(path)
    assert [(p.tag, entries(p), p.place.line) for p in job.parts] == [("A", {"label": "Küche"}, 2), ("B", {}, 3)]
    assert [n.place.line for n in job.notes] == ([2] if encoding == "cp1252" else [])
    assert (job.name, job.folder) == ("a", str(tmp_path))


def test_the_starter_list_is_read_and_names_only_kinds_that_exist():
    job = read_text(STARTER, "yaml")
    library = shipped_library()
    assert all(part.kind in library for part in job.parts)
    tags = {part.tag for part in job.parts}
    for line in job.connections:
        for stop in line.stops:
            assert stop.partition(".")[0] in tags or stop in library
    for part in job.parts:
        assert set(entries(part)) <= set(library.kind(part.kind).attributes)


def test_a_symbols_folder_that_is_a_link_out_of_the_lists_folder_is_refused(tmp_path):
    (tmp_path / "job").mkdir()
    (tmp_path / "job" / "kinds").symlink_to(tmp_path)
    (tmp_path / "job" / "a.yaml").write_text("parts: {}\nsymbols: kinds\n")
    with pytest.raises(ListUnreadable, match="leads out"):
        read(tmp_path / "job" / "a.yaml")


def test_a_stream_is_read_as_yaml_json_or_a_workbook(monkeypatch):
    for data in (b"parts: {A: tee}", b' {"parts": {"A": "tee"}}'):
        monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(data)))
        job = read("-")
        assert [p.tag for p in job.parts] == ["A"] and job.folder is None
        assert str(job.parts[0].place) == "standard input:1"
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"PK\x03\x04 no workbook")))
    with pytest.raises(ListUnreadable, match="no sound workbook"):
        read("-")
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"parts: {}\nsymbols: kinds")))
    with pytest.raises(ListUnreadable, match="no folder"):
        read("-")
