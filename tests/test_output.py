"""Files: the SVG other programs read, a PNG of true size, and no file half written."""

import os
import re
import struct
import zlib
from dataclasses import replace
from xml.etree import ElementTree

import never
import pytest
from hand_plan import FINDINGS, hand_drawing
from hypothesis import given
from hypothesis import strategies as st

from schemagen.base.finding import Finding
from schemagen.network.waters import SECTIONS
from schemagen.output.as_png import TooManyDots, png_of, with_dot_size
from schemagen.output.as_svg import svg_text
from schemagen.output.write import UnknownSuffix, formats, write, write_whole
from schemagen.sheets.publish import publish

SVG = "{http://www.w3.org/2000/svg}"


def sheet_of(findings=(), page="A3"):
    network, report, drawing = hand_drawing(findings)
    (sheet,) = publish(drawing, network, report, page)
    return sheet


@pytest.fixture(scope="module")
def sheet():
    return sheet_of(FINDINGS)


@pytest.fixture(scope="module")
def svg(sheet):
    return svg_text(sheet)


@pytest.fixture(scope="module")
def root(svg):
    return ElementTree.fromstring(svg.encode())


def of_class(root, name):
    return [e for e in root.iter() if name in (e.get("class") or "").split()]


# what other programs read


def test_one_unit_is_one_millimetre(root):
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("420mm", "297mm", "0 0 420 297")


def test_every_part_has_tag_kind_title_body_and_ports(root):
    parts = of_class(root, "part")
    assert {p.get("data-part") for p in parts} == {"B1", "V1", "T1", "P1", "R1", "EV1", "G1", "T2", "C1", "M1"}
    for part in parts:
        assert part.get("data-kind")
        assert part.find(f"{SVG}title").text and part.find(f"{SVG}desc").text
        (body,) = of_class(part, "body")
        x, y, w, h = (float(body.get(k)) for k in ("x", "y", "width", "height"))
        for port in of_class(part, "port"):
            px, py = float(port.get("cx")), float(port.get("cy"))
            assert port.get("data-port")
            assert min(abs(px - x), abs(px - x - w), abs(py - y), abs(py - y - h)) < 1e-6


def test_every_pipe_says_its_ends_medium_section_and_size(root):
    pipes = of_class(root, "pipe")
    assert len(pipes) == 9
    assert all(p.tag == f"{SVG}path" and p.find(f"{SVG}title").text and p.find(f"{SVG}desc").text for p in pipes)
    cold = next(p for p in pipes if p.get("data-from") == "M1.out")
    assert cold.get("data-to") == "C1.in"
    assert (cold.get("data-medium"), cold.get("data-section"), cold.get("data-size")) == ("cold", "cold", "15 mm")
    for pipe in pipes:
        assert re.fullmatch(r"M[\d. ]+(?:[HV][\d.]+(?:A[\d.]+ [\d.]+ 0 0 [01] [\d.]+ [\d.]+)?)+", pipe.get("d"))
        assert pipe.get("transform") is None


def test_no_group_above_a_pipe_moves_it(root):
    assert not [g for g in root.iter(f"{SVG}g") if g.get("transform")]


def test_hops_bulge_to_the_left_on_an_upright_pipe_and_upwards_on_a_level_one():
    network, report, drawing = hand_drawing()
    for turn in (False, True):
        pipes = drawing.pipes
        if turn:
            pipes = tuple(replace(p, points=p.points[::-1], hops=_from_the_end(p)) for p in pipes)
        (sheet,) = publish(replace(drawing, pipes=pipes), network, report, "A3")
        root = ElementTree.fromstring(svg_text(sheet).encode())
        cold = next(p.get("d") for p in of_class(root, "pipe") if p.get("data-section") == "cold")
        for r, sweep, x, y in re.findall(r"A([\d.]+) [\d.]+ 0 0 ([01]) ([\d.]+) ([\d.]+)", cold):
            assert float(r) == pytest.approx(2.0)
            start = float(re.search(rf"V([\d.]+)A{r} {r} 0 0 {sweep} {x} {y}", cold)[1])
            downwards = float(y) > start
            assert int(sweep) == (0 if downwards else 1)


def _from_the_end(pipe):
    return tuple(replace(h, segment=len(pipe.points) - 2 - h.segment) for h in reversed(pipe.hops))


def test_arrows_texts_marks_and_blocks_carry_what_they_belong_to(root):
    assert {a.get("data-pipe") for a in of_class(root, "arrow")} >= {"B1.flow→V1.a", "M1.out→C1.in"}
    named = {t.get("data-for") for t in root.iter(f"{SVG}text")}
    assert {"B1", "P1", "M1.out→C1.in"} <= named
    marks = of_class(root, "finding")
    assert [(m.get("data-check"), m.get("data-severity"), m.get("data-for")) for m in marks] == [
        ("pump-missing", "error", "T2.b→P1.in"),
        ("no-drain-point", "warning", "R1"),
        ("label-missing", "advice", "V1"),
        ("no-relief-valve", "error", "EV1"),
    ]
    for name in ("legend", "title-block", "section-key", "findings", "cautions", "notes", "frame"):
        assert len(of_class(root, name)) == 1, name
    (place,) = of_class(root, "place")
    assert place.get("data-place") == "Kitchen"


def test_sections_stand_in_teaching_order(root):
    order = [g.get("data-section") for g in of_class(root, "section")]
    known = [s for s in order if s in SECTIONS]
    assert known == sorted(known, key=SECTIONS.index) == ["cold", "heating-flow", "heating-return"]


# the plain profile

ELEMENTS = {"svg", "title", "desc", "rect", "g", "path", "circle", "ellipse", "text"}
ATTRIBUTES = {
    "width", "height", "viewBox", "role", "lang", "aria-labelledby", "aria-label", "aria-hidden", "font-family", "id",
    "class", "x", "y", "rx", "ry", "cx", "cy", "r", "d", "fill", "stroke", "stroke-width", "stroke-dasharray",
    "stroke-dashoffset", "stroke-linecap", "stroke-linejoin", "font-size", "font-weight", "text-anchor", "transform",
}  # fmt: skip


def test_only_plain_elements_and_attributes_are_used(svg, root):
    assert {e.tag.removeprefix(SVG) for e in root.iter()} <= ELEMENTS
    keys = {key for e in root.iter() for key in e.attrib}
    assert {key for key in keys if not key.startswith("data-")} <= ATTRIBUTES
    assert "href" not in svg and "url(" not in svg and "<!DOCTYPE" not in svg
    assert not re.search(r"http(?!://www\.w3\.org/2000/svg)", svg)


def test_the_title_comes_first_then_the_description_then_a_white_sheet(root):
    assert [e.tag.removeprefix(SVG) for e in list(root)[:3]] == ["title", "desc", "rect"]
    assert list(root)[2].get("fill") == "#ffffff"


def test_numbers_have_three_decimals_at_most_and_no_minus_nought(svg):
    assert not re.search(r"\d\.\d{4,}", svg)
    assert not re.search(r'[" ,]-0[" ,A-Za-z]', svg)


def test_dash_patterns_and_pens_are_finite_and_pens_of_the_series(root):
    series = {"0.18", "0.25", "0.35", "0.5", "0.7", "1", "1.4", "2"}
    drawn = [e for e in root.iter() if e.get("stroke") and e.get("class") != "casing"]
    emphasis = {e for group in of_class(root, "emphasis") for e in group.iter()}
    assert {e.get("stroke-width") for e in drawn if e not in emphasis} <= series


@pytest.mark.parametrize("page", ["A4", "A3", "A1", "fit"])
@pytest.mark.parametrize("findings", [(), FINDINGS], ids=["clean", "marked"])
def test_nothing_is_drawn_that_must_never_be_seen(page, findings):
    assert never.faults(svg_text(sheet_of(findings, page))) == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (('data-port="in" cx="', 'data-port="in" cx="9'), "not on"),
        (('class="pipe" data-from="M1.out"', 'class="pipe" data-from="V1.b"'), "not on V1.b"),
        (('font-size="3.43"', 'font-size="2.4"'), "capitals of"),
        ((r'(data-for="P1">)P1<', r"\1P1 the pump of the whole heating system of this large house<"), "lies on"),
        ((r'(data-for="R1">)R1<', r"\1" + "W" * 400 + "<"), "leaves the sheet"),
        ((r'(data-from="M1.out"[^>]* d="M\S+ \S+ )?A\S+ \S+ 0 0 \d (\S+) ([\d.]+)', r"\1L\2 \3"), "hops"),
        ((r'(data-from="M1.out"[^>]* d="M[\d.]+ [\d.]+)H', r"\1L400 20H"), "not level"),
        ((r'class="arrow" data-pipe="M1', r'class="arrow" data-pipe="X1'), "does not lie along"),
        ((r'(data-kind="tee"[\s\S]*?<circle [^>]*?)fill="#[^"]+"', r'\1fill="none"'), "has no dot"),
        ((r'(data-part="V1"[\s\S]*?class="body"[^>]* width=")', r"\g<1>9"), "V1 lies on"),
        ((r'(data-part="V1"[\s\S]*?class="body"[^>]* width=")', r"\g<1>9"), "runs through V1"),
        ((r'(data-from="B1.flow"[^>]* d="M[\d.]+ [\d.]+H)', r"\g<1>3"), "share"),
    ],
)
def test_the_reader_sees_each_fault_when_it_is_there(change, said):
    svg = svg_text(sheet_of())
    changed = re.sub(change[0], change[1], svg)
    assert changed != svg
    assert any(re.search(said, sentence) for sentence in never.faults(changed))


# hostile words, same bytes


@given(st.text(max_size=60))
def test_any_text_is_shown_as_text_or_left_out_and_the_file_stays_well_formed(words):
    network, report, drawing = hand_drawing((Finding(words, "error", words, words, parts=("V1",)),))
    part = replace(drawing.parts[0], title=words, desc=words, tag=words)
    drawing = replace(drawing, title=words, parts=(part, *drawing.parts[1:]))
    network = replace(network, sheet={"title": words, "client": words})
    (sheet,) = publish(drawing, network, report, "fit")
    root = ElementTree.fromstring(svg_text(sheet).encode("utf-8"))
    assert {e.tag.removeprefix(SVG) for e in root.iter()} <= ELEMENTS
    expected = "".join(c for c in words if c in "\t\n\r" or c >= " " and c not in "\ufffe\uffff")
    assert (root.find(f"{SVG}title").text or "") == expected.replace("\r\n", "\n").replace("\r", "\n")


def test_lone_surrogates_and_controls_are_left_out():
    network, report, drawing = hand_drawing()
    (sheet,) = publish(replace(drawing, title="a\x00b\ud800c\ufffed\x1b[31m"), network, report, "A3")
    root = ElementTree.fromstring(svg_text(sheet).encode("utf-8"))
    assert root.find(f"{SVG}title").text == "abcd[31m"


def test_the_same_drawing_gives_the_same_bytes():
    assert svg_text(sheet_of(FINDINGS)) == svg_text(sheet_of(FINDINGS))


# png


def test_a_png_has_the_sheets_size_and_says_so(sheet):
    png = png_of(sheet, 100)
    assert png.startswith(b"\x89PNG\r\n\x1a\n")
    wide, high = struct.unpack(">II", png[16:24])
    assert (wide, high) == (round(420 / 25.4 * 100), round(297 / 25.4 * 100))
    chunks = dict(_chunks(png))
    assert struct.unpack(">IIB", chunks[b"pHYs"]) == (3937, 3937, 1)


def _chunks(png: bytes):
    at = 8
    while at < len(png):
        (length,) = struct.unpack(">I", png[at : at + 4])
        name, data = png[at + 4 : at + 8], png[at + 8 : at + 8 + length]
        assert struct.unpack(">I", png[at + 8 + length : at + 12 + length])[0] == zlib.crc32(name + data)
        yield name, data
        at += 12 + length


def test_text_in_a_png_is_drawn_with_the_shipped_font(sheet):
    """Without letters the picture would have fewer dark dots; no font of the system is there to help."""
    wordless = replace(sheet, blocks=())
    assert len(png_of(sheet, 60)) > len(png_of(wordless, 60))
    no_text = re.sub(r"<text[\s\S]*?</text>", "", svg_text(wordless))
    import resvg_py

    bare = bytes(resvg_py.svg_to_bytes(svg_string=no_text, dpi=96, skip_system_fonts=True, width=992))
    assert len(png_of(wordless, 60)) > len(with_dot_size(bare, 60))


def test_a_picture_too_large_for_memory_is_refused_with_a_number_that_does(sheet):
    with pytest.raises(TooManyDots, match=r"use \d+ dpi at most"):
        png_of(replace(sheet, width=20000.0, height=20000.0), 600)


# files


def test_the_suffix_picks_the_format_and_an_unknown_one_names_those_there_are(sheet, tmp_path):
    assert {".svg", ".png"} <= set(formats())
    with pytest.raises(UnknownSuffix, match=r"cannot write \.bmp; use .*\.png.*\.svg"):
        write((sheet,), tmp_path / "x.bmp")
    with pytest.raises(UnknownSuffix, match="without suffix"):
        write((sheet,), tmp_path / "x")
    assert list(tmp_path.iterdir()) == []
    assert write((sheet,), tmp_path / "x.SVG") == (tmp_path / "x.SVG",)


def test_several_sheets_become_numbered_files(sheet, tmp_path):
    assert write((sheet, sheet), tmp_path / "x.svg") == (tmp_path / "x-1.svg", tmp_path / "x-2.svg")
    assert (tmp_path / "x-1.svg").read_bytes() == (tmp_path / "x-2.svg").read_bytes() == svg_text(sheet).encode()


@pytest.mark.parametrize("fault", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(tmp_path, monkeypatch, fault):
    target = tmp_path / "x.svg"
    target.write_text("old")

    def fail(*_):
        raise fault

    monkeypatch.setattr(os, "replace", fail)
    with pytest.raises(type(fault)) as caught:
        write_whole(target, b"new")
    assert target.read_text() == "old" and list(tmp_path.iterdir()) == [target]
    if isinstance(fault, OSError):
        assert caught.value.filename == str(target) and "space" in caught.value.strerror


def test_a_folder_that_is_not_there_and_a_name_that_is_a_folder_are_said(tmp_path):
    with pytest.raises(FileNotFoundError) as caught:
        write_whole(tmp_path / "absent" / "x.svg", b"")
    assert caught.value.filename.endswith("x.svg")
    with pytest.raises(IsADirectoryError, match="is a folder"):
        write_whole(tmp_path, b"")


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="permissions do not bind here")
def test_a_folder_that_may_not_be_written_is_said(tmp_path):
    tmp_path.chmod(0o500)
    with pytest.raises(PermissionError):
        write_whole(tmp_path / "x.svg", b"")


def test_a_new_file_can_be_read_by_others_as_the_umask_says_and_an_old_one_keeps_its_rights(tmp_path):
    target = tmp_path / "x.svg"
    write_whole(target, b"1")
    mask = os.umask(0)
    os.umask(mask)
    assert target.stat().st_mode & 0o777 == 0o666 & ~mask
    target.chmod(0o640)
    write_whole(target, b"2")
    assert target.stat().st_mode & 0o777 == 0o640 and target.read_bytes() == b"2"
