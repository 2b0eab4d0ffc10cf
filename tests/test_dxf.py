"""Sheets as DXF, read back by another library: sound files, the same lines as the SVG, layers, blocks and real text."""

import io
import math
import os
import re
import subprocess
import sys
from collections import Counter, defaultdict
from dataclasses import replace
from functools import cache

import pytest
from example_sheets import EXAMPLES, FOLDER, HOSTILE, SVG, roots_of, sheets_of
from test_pdf import hostile_sheet

from schemagen.base.path import parsed
from schemagen.drawing.style import shipped_style
from schemagen.output.as_dxf import APPLICATION, encode, pipe_layer
from schemagen.output.plain_text import plain
from schemagen.output.write import write
from schemagen.sheets.sheet import CannotDraw

ezdxf = pytest.importorskip("ezdxf")
from ezdxf import bbox  # noqa: E402
from ezdxf import path as paths  # noqa: E402
from ezdxf.math import bulge_to_arc  # noqa: E402

NEAR = 0.01
"""Millimetres."""

LAYER = re.compile(r"H-[A-Z0-9-]{6}[ETKBV]-")
"""ISO 13567-2: agent, element of six signs, presentation."""


def read_back(data):
    """The file as the library reads it without repairing anything, and with nothing that it would repair."""
    doc = ezdxf.read(io.StringIO(data.decode("utf-8")))
    auditor = doc.audit()
    assert not auditor.errors and not auditor.fixes, [e.message for e in (*auditor.errors, *auditor.fixes)]
    return doc


@cache
def files_of(name):
    return encode(sheets_of(name))


@cache
def drawings_of(name):
    """Each sheet's SVG and the model space of its DXF."""
    spaces = [read_back(data).modelspace() for data in files_of(name)]
    return [*zip(sheets_of(name), roots_of(sheets_of(name)), spaces, strict=True)]


def of_class(root, name):
    return [e for e in root.iter() if name in (e.get("class") or "").split()]


def xdata_of(entity):
    return dict(tag.value.split("=", 1) for tag in entity.get_xdata(APPLICATION) if tag.code == 1000)


def pipes_in(space):
    """Lines of pipes by the ends that they name."""
    lines = [e for e in space.query("LWPOLYLINE") if e.has_xdata(APPLICATION)]
    return {(data["from"], data["to"]): line for line in lines for data in [xdata_of(line)]}


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_file_is_sound_and_in_millimetres_on_the_sheets_size(name):
    for sheet, _, space in drawings_of(name):
        assert (space.doc.dxfversion, space.doc.header["$INSUNITS"]) == ("AC1024", 4)
        assert tuple(space.dxf.extmax)[:2] == pytest.approx((sheet.width, sheet.height))


# the same lines as the SVG


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_pipe_runs_where_it_runs_on_the_svg(name):
    for sheet, root, space in drawings_of(name):
        drawn, found = of_class(root, "pipe"), pipes_in(space)
        assert len(drawn) == len(found) > 0
        for pipe in drawn:
            line = found[pipe.get("data-from"), pipe.get("data-to")]
            points = corners_of(parsed(pipe.get("d")))
            wanted = [(x, sheet.height - y) for x, y in points]
            assert len(wanted) == len(corners_in(line))
            for a, b in zip(wanted, corners_in(line), strict=True):
                assert math.dist(a, b) < NEAR, pipe.get("data-from")


def corners_of(segments):
    """Corners of a line in an SVG, and the top of each of its half circles (SVG 1.1, 8.3.8: sweep 1 is clockwise)."""
    out = []
    for command, numbers in segments:
        x, y = numbers[-2:]
        if command == "A":
            x0, y0 = out[-1]
            cx, cy, quarter = (x0 + x) / 2, (y0 + y) / 2, 1 if numbers[4] else -1
            assert math.dist((x0, y0), (x, y)) == pytest.approx(2 * numbers[0], abs=0.002)
            out.append((cx - (y0 - cy) * quarter, cy + (x0 - cx) * quarter))
        out.append((x, y))
    return out


def corners_in(line):
    """Corners of a line in a DXF, and the middle of each of its arcs."""
    out = []
    vertices = line.get_points("xyb")
    for (x0, y0, bulge), (x1, y1, _) in zip(vertices, [*vertices[1:], vertices[-1]], strict=True):
        out.append((x0, y0))
        if bulge:
            centre, start, end, r = bulge_to_arc((x0, y0), (x1, y1), bulge)
            middle = start + (end - start) % (2 * math.pi) / 2
            out.append((centre.x + r * math.cos(middle), centre.y + r * math.sin(middle)))
    return out


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_symbol_stands_as_on_the_svg_turned_and_mirrored_alike(name):
    for sheet, root, space in drawings_of(name):
        drawn, found = of_class(root, "part"), list(space.query("INSERT"))
        assert sorted(g.get("data-part") for g in drawn) == sorted(i.get_attrib_text("TAG") for i in found)
        by_tag = {i.get_attrib_text("TAG"): i for i in found}
        for group in drawn:
            insert = by_tag[group.get("data-part")]
            ink = [e for e in insert.virtual_entities() if e.dxftype() in ("LWPOLYLINE", "HATCH")]
            vertices = [v for e in ink for v in vertices_of(e)]
            for x, y in points_of(group):
                assert min(math.dist((x, sheet.height - y), v) for v in vertices) < NEAR, group.get("data-part")
            assert_same_box(sheet, group, ink)


def vertices_of(entity):
    found = paths.from_hatch(entity) if entity.dxftype() == "HATCH" else [paths.make_path(entity)]
    return [(v.x, v.y) for path in found for v in path.control_vertices()]


def points_of(group):
    """Where the lines of a symbol's paths begin, bend and end."""
    for path in group.iter(f"{SVG}path"):
        if path.get("fill") == "#ffffff" and not path.get("stroke"):
            continue  # only hides what lies below
        yield from (numbers[-2:] for command, numbers in parsed(path.get("d")) if command != "Z")


def assert_same_box(sheet, group, ink):
    circles = [c for c in group.iter(f"{SVG}circle") if c.get("class") != "port"]
    if not circles:
        return
    box = bbox.extents(ink)
    for circle in circles:
        cx, cy, r = (float(circle.get(k)) for k in ("cx", "cy", "r"))
        for x, y in ((cx - r, cy), (cx + r, cy), (cx, cy - r), (cx, cy + r)):
            assert box.extmin.x - NEAR < x < box.extmax.x + NEAR
            assert box.extmin.y - NEAR < sheet.height - y < box.extmax.y + NEAR


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_arrow_points_where_it_points_on_the_svg(name):
    for sheet, root, space in drawings_of(name):
        wanted = [corners_of(parsed(a.get("d"))[:-1]) for a in of_class(root, "arrow")]
        found = [(s.dxf.vtx0, s.dxf.vtx1, s.dxf.vtx2) for s in space.query("SOLID")]
        for arrow in wanted:
            corners = [(x, sheet.height - y) for x, y in arrow]
            assert any(
                all(math.dist(a, (b.x, b.y)) < NEAR for a, b in zip(corners, solid, strict=True)) for solid in found
            )
        assert len(wanted) == len(found)


# text


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_text_is_text_at_the_same_place_and_size(name):
    for sheet, root, space in drawings_of(name):
        found = defaultdict(list)
        for text in shown_texts(space):
            x, y, _ = text.get_placement()[1]
            found[text.plain_text()].append((x, y, text.dxf.height))
        drawn = [t for t in root.iter(f"{SVG}text") if (t.text or "").strip()]
        assert Counter(" ".join(t.text.split()) for t in drawn) == Counter({k: len(v) for k, v in found.items()})
        for text in drawn:
            at = float(text.get("x")), sheet.height - float(text.get("y")), float(text.get("font-size")) * 0.729
            assert min(math.dist(at, place) for place in found[" ".join(text.text.split())]) < 2 * NEAR


def shown_texts(space):
    return [*space.query("TEXT"), *(a for i in space.query("INSERT") for a in i.attribs if not a.is_invisible)]


def test_text_names_the_shipped_font_and_capitals_are_high_enough():
    for _, _, space in drawings_of(EXAMPLES[2]):
        styles = {style.dxf.name: style.dxf.font for style in space.doc.styles}
        assert (styles["PLAN"], styles["PLAN-BOLD"]) == ("plan-regular.ttf", "plan-bold.ttf")
        assert {t.dxf.style for t in shown_texts(space)} == {"PLAN", "PLAN-BOLD"}
        assert min(t.dxf.height for t in shown_texts(space)) >= 1.8


# layers, line types, blocks, data


@pytest.mark.parametrize("name", EXAMPLES)
def test_layers_are_named_after_the_standard_and_every_section_has_its_own(name):
    style = shipped_style()
    for _, root, space in drawings_of(name):
        layers = {e.dxf.layer for e in space}
        assert all(LAYER.fullmatch(layer) for layer in layers)
        assert layers <= {layer.dxf.name for layer in space.doc.layers}
        sections = {p.get("data-section") for p in of_class(root, "pipe")}
        for line in pipes_in(space).values():
            assert line.dxf.layer == pipe_layer(style.sections[xdata_of(line)["section"]].code)
        for section in sections:
            look = style.sections[section]
            layer = space.doc.layers.get(pipe_layer(look.code))
            assert layer.rgb is None or layer.rgb == tuple(bytes.fromhex(look.pen.colour[1:]))
            assert layer.dxf.lineweight == look.pen.width * 100


def test_no_two_sections_share_a_layer():
    codes = [section.code for section in shipped_style().sections.values()]
    assert len({pipe_layer(code) for code in codes}) == len(codes)


def test_a_line_type_has_the_pattern_of_its_section_in_millimetres():
    for _, _, space in drawings_of(EXAMPLES[2]):
        cold = space.doc.linetypes.get("PIPE-CW")
        assert [abs(t.value) for t in cold.pattern_tags.tags if t.code == 49] == [7, 1.2, 0.7, 1.2]
        assert space.doc.layers.get("H-PIPCW-E-").dxf.linetype == "PIPE-CW"


def test_parts_of_one_kind_share_a_block_however_they_are_turned():
    for _, _, space in drawings_of(EXAMPLES[2]):
        valves = [i for i in space.query("INSERT") if i.get_attrib_text("KIND") == "isolating-valve"]
        assert {i.dxf.name for i in valves} == {"ISOLATING-VALVE"}
        assert len({(i.dxf.rotation, i.dxf.xscale) for i in valves}) > 1


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_part_carries_its_tag_name_and_kind_and_stands_by_its_first_port(name):
    for sheet, root, space in drawings_of(name):
        inserts = {i.get_attrib_text("TAG"): i for i in space.query("INSERT")}
        for group in of_class(root, "part"):
            insert = inserts[group.get("data-part")]
            assert insert.get_attrib_text("KIND") == group.get("data-kind")
            assert insert.get_attrib_text("NAME") == plain(group.find(f"{SVG}title").text)
            for port in of_class(group, "port")[:1]:
                at = float(port.get("cx")), sheet.height - float(port.get("cy"))
                assert math.dist(at, (insert.dxf.insert.x, insert.dxf.insert.y)) < NEAR


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_connections_of_the_list_can_be_had_back(name):
    for _, root, space in drawings_of(name):
        keys = ("from", "to", "medium", "section", "size")
        wanted = {tuple(p.get(f"data-{k}") or "" for k in keys) for p in of_class(root, "pipe")}
        assert {tuple(xdata_of(line)[k] for k in keys) for line in pipes_in(space).values()} == wanted


def test_findings_are_on_a_layer_of_their_own():
    for _, root, space in drawings_of("10_boiler_with_mistakes.yaml"):
        numbers = [t.plain_text() for t in space.query('TEXT[layer=="H-FIND--K-"]')]
        assert sorted(numbers) == sorted(g.get("data-number") for g in of_class(root, "finding"))


# hostile words, same bytes, files


@pytest.mark.parametrize("words", HOSTILE.values(), ids=HOSTILE)
def test_hostile_words_are_shown_as_words_and_break_nothing(words):
    (data,) = encode((hostile_sheet(words),))
    space = read_back(data).modelspace()
    assert {e.dxftype() for e in space} <= {"LWPOLYLINE", "TEXT", "INSERT", "SOLID", "WIPEOUT", "HATCH"}
    assert all(len(line) <= 2049 for line in data.decode("utf-8").splitlines())
    if len(words) < 200 and words.strip():
        tags = [i.get_attrib("TAG").plain_text() for i in space.query("INSERT")]
        assert plain(words).replace("\\U", "\\\u200bU") in tags


def test_a_sheet_of_a_state_is_sound_too():
    sheet = sheets_of(EXAMPLES[0])[0]
    still = [replace(pipe, moves="still", pen=replace(pipe.pen, colour="#767676")) for pipe in sheet.drawing.pipes]
    (data,) = encode((replace(sheet, drawing=replace(sheet.drawing, pipes=tuple(still), state="off")),))
    space = read_back(data).modelspace()
    assert {line.rgb for line in pipes_in(space).values()} == {(0x76, 0x76, 0x76)}


def test_each_sheet_becomes_a_file(tmp_path):
    sheets = sheets_of(EXAMPLES[0])[:1] * 2
    assert [path.name for path in write(sheets, tmp_path / "x.dxf")] == ["x-1.dxf", "x-2.dxf"]


def test_the_same_list_gives_the_same_bytes_in_every_run(tmp_path):
    name = "01_one_radiator_circuit.yaml"
    out = tmp_path / "x.dxf"
    command = [sys.executable, "-m", "schemagen", "draw", str(FOLDER / name), "-o", str(out)]
    subprocess.run(command, env=os.environ | {"PYTHONHASHSEED": "1"}, check=True, capture_output=True)
    assert out.read_bytes() == files_of(name)[0] == encode(sheets_of(name))[0]


def test_other_users_of_the_library_in_this_process_keep_their_setting():
    encode(sheets_of(EXAMPLES[0]))
    assert ezdxf.options.write_fixed_meta_data_for_testing is False


def test_without_the_library_it_is_said_how_to_get_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "ezdxf", None)
    with pytest.raises(CannotDraw, match=r"pip install 'schemagen\[dxf\]'"):
        encode(sheets_of(EXAMPLES[0]))
