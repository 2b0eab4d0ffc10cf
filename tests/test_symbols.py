"""The whole set of part kinds: every pair is sound, is drawn within its box, and can be told from every other."""

import dataclasses
import itertools
import re
import struct
import zlib
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest
import resvg_py

from schemagen.base.geometry import MODULE, Point, turned_point, turned_side, turned_size
from schemagen.base.path import mapped, parsed, written
from schemagen.base.units import DIMENSIONS
from schemagen.drawing.symbol_ink import svg_of, symbol_ink
from schemagen.parts.kind import PartKind
from schemagen.parts.library import Library, SymbolError, shipped_folder, shipped_library
from schemagen.parts.page import kind_page, kinds_table
from schemagen.sheets.kinds_sheet import kinds_sheet

LIBRARY = shipped_library()
NAMES = LIBRARY.names
KINDS = [LIBRARY.kind(name) for name in NAMES]

DRAWN_SMALL = 1.77 / 10 * 300 / 25.4
"""Pixels per unit when a module is 1.77 mm, the smallest that is used, and the print has 300 dots per inch."""

PORTS = """
air-heat-pump: flow>H return<H relief-outlet>D?
heat-pump-indoor-unit: heating-flow>H hot-water-flow>H? return<H relief-outlet>D?
ground-heat-pump: flow>H return<H brine-in<B brine-out>B
ground-loop: in<B out>B
heat-only-boiler: flow>H return<H condensate>K?
system-boiler: flow>H return<H relief-outlet>D? condensate>K?
combi-boiler: flow>H return<H cold-in<C hot-out>W relief-outlet>D? condensate>K?
electric-flow-boiler: flow>H return<H
immersion-heater: boss@S
solid-fuel-stove: flow>H return<H flow-2>H? return-2<H?
wood-boiler: flow>H return<H safety-in<C? safety-out>D?
solar-collector: in<H out>H
heat-interface-unit: network-flow<H network-return>H flow>H return<H cold-in<C? hot-out>W?
indirect-unvented-cylinder: cold-in<C hot-out>W circulation-return<W? relief-tapping.W coil-in<H coil-out>H
direct-unvented-cylinder: cold-in<C hot-out>W circulation-return<W? relief-tapping.W
twin-coil-unvented-cylinder: cold-in<C hot-out>W circulation-return<W? relief-tapping.W
twin-coil-unvented-cylinder: upper-coil-in<H upper-coil-out>H lower-coil-in<H lower-coil-out>H
vented-cylinder: cold-in<C hot-out>W circulation-return<W? coil-in<H coil-out>H
single-feed-cylinder: cold-in<C hot-out>W primary-flow<H primary-return>H
thermal-store: source-flow<H source-return>H load-flow>H load-return<H cold-in<C? hot-out>W?
buffer-four-pipe: primary-flow<H primary-return>H secondary-flow>H secondary-return<H
buffer-three-pipe: top=H load-return<H source-return>H
buffer-two-pipe: top=H bottom=H
cylinder-and-buffer: cold-in<C hot-out>W relief-tapping.W coil-in<H coil-out>H
low-loss-header: primary-flow<H primary-return>H secondary-flow>H secondary-return<H vent.H? drain.H?
close-tees: primary-in<H primary-out>H secondary-flow>H secondary-return<H
plate-heat-exchanger: left-top=X left-bottom=X right-top=X right-bottom=X
radiator: a=H b=H
towel-rail: a=H b=H
heat-leak-radiator: a=H b=H
underfloor-manifold: flow-in<H return-out>H loop-1-flow>H? loop-1-return<H?
underfloor-loop: in<H out>H
fan-coil: in<H out>H condensate>K?
heating-zone: in<H out>H
cold-main: out>C
cold-outlet: in<C
hot-outlet: in<WT
mixer-outlet: hot-in<WT cold-in<C
bath-outlet: hot-in<WT cold-in<C
safe-outlet: in<D
waste-stack: in<DK
collecting-container: in<D
open-vent-end: port.X
tee: a=X b=X branch=X
diverting-tee: a=H b=H branch=H
header: end=X branch-1=X branch-2=X?
flexible-hose: a=X b=X
inlet-control-group: main-in<C balanced-cold-out>C? cylinder-out>C vessel.C? relief-outlet>D
isolating-valve: a=X b=X
balancing-valve: a=X b=X
thermostatic-radiator-valve: in<H out>H
check-valve: in<X out>X
double-check-valve: in<C out>X
disconnecting-preventer: in<C out>X discharge>D?
pressure-reducer: in<X out>X
relief-valve: inlet.H outlet>D
expansion-relief-valve: inlet.CW outlet>D
temperature-and-pressure-relief-valve: inlet.W outlet>D
zone-valve: in<H out>H
diverter-valve: common=H a=H b=H
mid-position-valve: common<H heating>H hot-water>H
heating-mixing-valve: hot<H cold<H mixed>H
four-port-mixing-valve: source-flow<H source-return>H load-flow>H load-return<H
loading-valve: bypass<H cold<H mixed>H
thermostatic-mixing-valve: hot<W cold<C mixed>T
bypass-valve: in<H out>H
antifreeze-valve: inlet.H outlet>D?
thermal-discharge-valve: in<C out>C
drain-cock: port.X
filling-loop: supply-end<C system-end>H
fill-and-flush-valves: a=H b=H fill.H? flush.H?
tundish: in<D out>D
pump: in<X out>X
wholesome-circulating-pump: in<W out>W
mixing-set: source-flow<H source-return>H load-flow>H load-return<H
strainer: in<X out>X
magnetic-filter: in<X out>X
air-and-dirt-separator: in<H out>H
air-vent: port.H
expansion-vessel: port.X
wholesome-expansion-vessel: port.CW through.CW?
intermediate-vessel: in=H out=H
drain-back-vessel: in<H out>H
feed-and-expansion-cistern: cold-feed.H supply<C? overflow>D?
cold-water-cistern: supply<C outlet>C outlet-2>C? overflow>D?
automatic-fill-unit: supply<C system>H
flow-meter: in<X out>X
heat-meter: in<H out>H pocket-1.H? pocket-2.H?
pressure-gauge: port.X
test-point: port.X
room-thermostat: signal~S
cylinder-thermostat: pocket@S
cut-out-thermostat: pocket@S
pipe-thermostat: strap@S
temperature-sensor: pocket@S
programmer: signal~S
controller: signal~S
"""
"""Openings by which the trade knows each kind: name, way of the water (< in, > out, = either, . none, @ screwed in,
~ signal), medium, and ? where it may stay capped. Common practice, no source."""

ROLES = {"<": "in", ">": "out", "=": "either", ".": "dead", "@": "dead", "~": "dead"}
OTHER_DIMENSIONS = {"text", "word", "words", "flag", "tag", "tags", "port", "ports", "table", "sizes", "lengths"}


def wanted_ports():
    for line in PORTS.strip().splitlines():
        name, _, ports = line.strip().partition(": ")
        for port in ports.split():
            sign = next(c for c in port if c in ROLES)
            word, media = port.split(sign)
            need = {"@": "mount", "~": "signal"}.get(sign) or ("may" if media.endswith("?") else "must")
            yield pytest.param(name, word, ROLES[sign], need, set(media.rstrip("?")), id=f"{name}.{word}")


@pytest.mark.parametrize(("name", "port", "role", "need", "media"), list(wanted_ports()))
def test_every_kind_has_the_openings_by_which_the_trade_knows_it(name, port, role, need, media):
    spec = LIBRARY.kind(name).ports[port]
    assert (spec.role, spec.need) == (role, need)
    assert need == "mount" or media <= set(spec.media)


def test_every_picture_has_a_meaning_and_every_meaning_a_picture():
    folder = shipped_folder()
    assert {p.with_suffix("") for p in folder.glob("*/*.svg")} == {p.with_suffix("") for p in folder.glob("*/*.toml")}


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_ports_lie_on_whole_modules_of_one_side_and_two_modules_apart(kind: PartKind):
    for size in sizes(kind):
        assert size.symbol.w % MODULE == 0 and size.symbol.h % MODULE == 0
        for port in size.ports.values():
            assert port.at.x % MODULE == 0 and port.at.y % MODULE == 0
            on = [port.at.x == 0, port.at.x == size.symbol.w, port.at.y == 0, port.at.y == size.symbol.h]
            assert sum(on) == 1
        for a, b in itertools.combinations(size.ports.values(), 2):
            corner = a.side != b.side and kind.shape == "tee"
            assert corner or abs(a.at.x - b.at.x) + abs(a.at.y - b.at.y) >= 2 * MODULE


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_an_inline_part_takes_the_place_of_any_other_without_moving_the_pipe(kind: PartKind):
    if kind.shape != "inline" or not kind.inlet:
        return
    a, b = kind.ports[kind.inlet].at, kind.ports[kind.outlet].at
    assert a.y == b.y or a.x == b.x
    long = {"filling-loop": 80, "fill-and-flush-valves": 60, "close-tees": 60}
    assert abs(a.x - b.x) + abs(a.y - b.y) == long.get(kind.name, 40)


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_passages_positions_and_pictures_speak_of_the_same_positions(kind: PartKind):
    known = set(kind.positions)
    assert {p for passage in kind.passages for p in passage.positions} <= known
    assert {kind.rest, kind.normal} - {""} <= known
    type_ = kind.attributes.get("type")
    power = {"on", "off"} if kind.family == "sources" else set()
    assert {w for ink in kind.symbol.ink for w in ink.when} <= known | power | set(type_.choices if type_ else ())


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_every_piped_opening_leads_somewhere_or_is_dead_by_design(kind: PartKind):
    reached = {end for passage in kind.passages for end in (passage.a, passage.b)}
    closed = {name for name, p in kind.ports.items() if p.role != "dead" and p.need in ("must", "may")} - reached
    own_outlets = {"relief-outlet", "condensate", "overflow"}
    sheet_end = kind.name == "off-sheet-connector"
    joined_only = {name for name in closed if set(kind.ports[name].media) == {"R"} or sheet_end}
    assert closed - own_outlets - joined_only == set()


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_attributes_have_a_known_dimension_a_unit_of_it_choices_and_help(kind: PartKind):
    for attribute in kind.attributes.values():
        assert attribute.dimension in DIMENSIONS or attribute.dimension in OTHER_DIMENSIONS, attribute
        assert attribute.help and not attribute.help.endswith(".")
        if attribute.dimension in DIMENSIONS and attribute.unit:
            assert attribute.unit in {w for unit in DIMENSIONS[attribute.dimension].units for w in unit.words}
        if attribute.choices and attribute.default:
            assert attribute.default in attribute.choices
        assert bool(attribute.choices) <= (attribute.dimension in ("word", "words"))


@pytest.mark.parametrize("kind", [k for k in KINDS if k.variants], ids=lambda k: k.name)
def test_what_data_change_inside_a_part_hangs_on_data_that_the_kind_knows_and_changes_it(kind: PartKind):
    for variant in kind.variants:
        for key, value in variant.when:
            if key == "piped":
                assert any(port.startswith(value) for port in kind.ports)
                continue
            attribute = kind.attributes[key]
            assert value in (attribute.choices or ("yes", "no")), f"{key}: {value}"
        assert any(getattr(kind, field) != value for field, value in variant.changes)


def test_data_change_what_is_inside():
    pump = LIBRARY.kind("pump").as_listed({"has-check": "yes"}, ())
    assert [p.sort for p in pump.passages] == ["one-way"]
    assert LIBRARY.kind("disconnecting-preventer").as_listed({"type": "BA"}, ()).protects == 4
    assert LIBRARY.kind("zone-valve").as_listed({"rest": "open"}, ()).rest == "open"
    vessel = LIBRARY.kind("wholesome-expansion-vessel")
    assert (vessel.passages, len(vessel.as_listed({"flow-through": "yes"}, ()).passages)) == ((), 1)


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_a_kind_says_in_one_sentence_what_it_is_for(kind: PartKind):
    assert kind.about[0].isupper() and kind.about.endswith(".") and len(kind.about.split()) >= 4
    assert kind.title[0].islower()


CAUTIONS = {
    "unvented-store", "tundish", "hot-outlet", "stored-water", "sealed-heating", "open-vented", "solid-fuel", "solar",
    "fuel-appliance", "heat-pump", "antifreeze", "electric", "backflow", "refrigerant",
}  # fmt: skip


def test_cautions_are_called_by_known_words():
    assert {caution for kind in KINDS for caution in kind.cautions} <= CAUTIONS


def test_tags_made_for_a_kind_tell_it_from_every_other_and_are_not_misread():
    letters = [kind.letter for kind in KINDS]
    assert [x for x in letters if letters.count(x) > 1] == []
    assert all(x.isascii() and x.isupper() and len(x) <= 4 and x[-1] not in "IO" for x in letters)


# the picture


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_no_ink_leaves_the_box_by_more_than_half_a_pen(kind: PartKind):
    edge = 10
    w, h = kind.symbol.w + 2 * edge, kind.symbol.h + 2 * edge
    for words in every_look(kind):
        picture = rendered(symbol_ink(kind, Point(edge, edge), words=words), w, h, DRAWN_SMALL)
        allowed = (edge - 1) * DRAWN_SMALL - 1
        outside = [
            (x, y)
            for y, row in enumerate(picture)
            for x, black in enumerate(row)
            if black and not (allowed < x < len(row) - 1 - allowed and allowed < y < len(picture) - 1 - allowed)
        ]
        assert outside == []


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_ink_reaches_every_opening(kind: PartKind):
    if kind.shape == "tee":
        return
    picture = plain(kind.name)
    for port in kind.ports.values():
        x, y = port.at.x * DRAWN_SMALL, port.at.y * DRAWN_SMALL
        near = [
            picture[j][i]
            for j in range(max(0, int(y - 4)), min(len(picture), int(y + 5)))
            for i in range(max(0, int(x - 4)), min(len(picture[0]), int(x + 5)))
        ]
        assert any(near), port.name


def test_no_two_symbols_of_one_size_and_the_same_openings_look_alike():
    alike = []
    for a, b in itertools.combinations(KINDS, 2):
        if (a.symbol.w, a.symbol.h) != (b.symbol.w, b.symbol.h) or openings(a) != openings(b):
            continue
        if least_difference(plain(a.name), plain(b.name)) < 0.10:
            alike.append((a.name, b.name))
    assert alike == []


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_at_legend_size_no_white_inside_a_symbol_fills_up(kind: PartKind):
    for words in every_look(kind):
        picture = rendered(symbol_ink(kind, words=words), kind.symbol.w, kind.symbol.h, DRAWN_SMALL)
        assert [size for size in enclosed_whites(picture) if size < 4] == []


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_turned_and_mirrored_symbols_are_what_a_renderer_makes_of_the_upright_one(kind: PartKind):
    """Oracle: the renderer's own transform of the same ink; letters, and dashes that begin elsewhere, left out."""
    ink = tuple(i for i in kind.symbol.ink if not (i.upright or i.when or "stroke-dasharray" in dict(i.attrs)))
    bare = replace(kind, symbol=replace(kind.symbol, ink=ink))
    for turn, mirror in turns(kind):
        w, h = turned_size(kind.symbol.w, kind.symbol.h, turn)
        x, y = turned_point(Point(0, 0), kind.symbol.w, kind.symbol.h, turn, mirror)
        flip = " scale(-1 1)" if mirror else ""
        whole = "".join(svg_of(i) for i in ink)
        oracle = bits(f'<g transform="translate({x} {y}) rotate({turn}){flip}">{whole}</g>', w, h, 1.5)
        ours = rendered(symbol_ink(bare, turn=turn, mirror=mirror), w, h, 1.5)
        assert difference(ours, oracle) <= 0.02


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_openings_stay_on_the_outline_in_every_turn(kind: PartKind):
    for turn, mirror in turns(kind):
        w, h = turned_size(kind.symbol.w, kind.symbol.h, turn)
        for port in kind.ports.values():
            p = turned_point(port.at, kind.symbol.w, kind.symbol.h, turn, mirror)
            assert {"L": p.x == 0, "R": p.x == w, "T": p.y == 0, "B": p.y == h}[turned_side(port.side, turn, mirror)]


@pytest.mark.parametrize("kind", [k for k in KINDS if any(i.upright for i in k.symbol.ink)], ids=lambda k: k.name)
def test_letters_are_carried_along_but_stay_upright_in_every_turn(kind: PartKind):
    letters = tuple(i for i in kind.symbol.ink if i.upright and i.tag == "path" and not i.when)
    lettered = replace(kind, symbol=replace(kind.symbol, ink=letters))
    for turn, mirror in turns(kind):
        w, h = turned_size(kind.symbol.w, kind.symbol.h, turn)
        for was, now in zip(letters, symbol_ink(lettered, turn=turn, mirror=mirror), strict=True):
            there = parsed(dict(now.attrs)["d"])
            assert steps(there) == steps(parsed(dict(was.attrs)["d"]))
            assert all(0 < n[-2] < w and 0 < n[-1] < h for c, n in there if c != "Z")


def test_a_moving_part_is_drawn_otherwise_in_each_of_its_positions():
    for kind in KINDS:
        shown = {word for ink in kind.symbol.ink for word in ink.when}
        if kind.family != "sources" and shown & set(kind.positions):
            looks = [tuple(svg_of(i) for i in symbol_ink(kind, words={p})) for p in kind.positions]
            assert len(set(looks)) == len(kind.positions), kind.name


def test_black_is_shut_and_hollow_is_open():
    shut = plain_in("isolating-valve", "shut")
    opened = plain_in("isolating-valve", "open")
    assert sum(map(sum, shut)) > 1.5 * sum(map(sum, opened))
    heating, hot_water = (plain_in("mid-position-valve", p) for p in ("heating", "hot-water"))
    lower = [sum(map(sum, picture[int(34 * DRAWN_SMALL) :])) for picture in (heating, hot_water)]
    assert lower[0] > 1.5 * lower[1], "with heating only, the way to hot water is black"


def test_without_a_position_hand_valves_stand_as_in_use_and_motor_valves_with_every_way_open():
    kind = LIBRARY.kind("isolating-valve")
    assert symbol_ink(kind) == symbol_ink(kind, words={"open"})
    both = LIBRARY.kind("mid-position-valve")
    assert symbol_ink(both) == symbol_ink(both, words={"both"})


def test_the_header_grows_by_one_branch_at_a_time():
    for n in range(2, 9):
        kind = LIBRARY.kind("header", n)
        assert [p for p in kind.ports if p.startswith("branch")] == [f"branch-{i}" for i in range(1, n + 1)]
        assert len(kind.passages) == n
    with pytest.raises(SymbolError, match="at most 8"):
        LIBRARY.kind("header", 9)


def test_path_data_written_out_draws_the_same_as_what_was_read():
    """Oracle: the renderer, on every kind of command, relative and absolute, flags written close."""
    d = "M5 5h10v4l3 3q4 0 4 4t4 4c1 1 2 3 4 3s3-2 5-2a4 3 20 015 4A5 5 0 1 1 30 34H12V20Z"
    same = [bits(f'<path d="{x}" fill="none" stroke="#000"/>', 50, 50, 3) for x in (d, written(parsed(d)))]
    assert same[0] == same[1]
    turned = written(mapped(parsed(d), lambda x, y: (50 - y, x)))
    assert bits(f'<path d="{turned}" fill="none" stroke="#000"/>', 50, 50, 3) == bits(
        f'<path transform="translate(50 0) rotate(90)" d="{d}" fill="none" stroke="#000"/>', 50, 50, 3
    )


@pytest.mark.parametrize("d", ["5 5", "M1", "M1 2 X3", "M1 2 L3", "M0 0A1 1 0 2 0 3 3"])
def test_text_that_is_no_path_data_is_refused(d):
    with pytest.raises(ValueError, match="path data"):
        parsed(d)


# what a user adds, and what is refused

TOML = """
title = "shower tray drain"
letter = "STD"
about = "Takes the water of a shower away."
passages = ["in - outside"]
[symbol]
shape = "stub"
[ports]
in = { role = "in", media = "D" }
"""
SVG = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 20">
<path d="M10 0V10" fill="none" stroke="#000" stroke-width="1.4"/>
<circle class="port" id="in" cx="10" cy="0" r="1"/></svg>"""


def pair(folder: Path, toml: str = TOML, svg: str = SVG, name: str = "tray-drain") -> Library:
    (folder / "own").mkdir()
    (folder / "own" / f"{name}.toml").write_text(toml, encoding="utf-8")
    (folder / "own" / f"{name}.svg").write_text(svg, encoding="utf-8")
    return Library(folder)


def test_a_users_own_folder_adds_a_kind(tmp_path):
    library = pair(tmp_path)
    assert library.kind("tray-drain").ports["in"].at == Point(10, 0)
    assert "tray-drain" in library.names and "pump" in library.names
    assert "tray-drain" in kinds_table(library) and "tray-drain" in kinds_sheet(library)


def test_a_users_own_folder_cannot_replace_a_kind_of_the_set(tmp_path):
    with pytest.raises(SymbolError, match="exists already"):
        pair(tmp_path, name="pump")


@pytest.mark.parametrize(
    ("was", "becomes", "says"),
    [
        ("<path", "<script>alert(1)</script><path", "<script> is not allowed"),
        ("<path", '<image href="../../secret.png"/><path', "<image> is not allowed"),
        ("<path", '<use href="../pump.svg#a"/><path', "<use> is not allowed"),
        ("<path", "<style>*{fill:url(../x)}</style><path", "<style> is not allowed"),
        ("<path", "<foreignObject/><path", "<foreignObject> is not allowed"),
        ("<path", '<x:path xmlns:x="http://example.org/x"/><path onload="x()"', "onload"),
        ("<path", '<path style="fill:red"', "style"),
        ('fill="none"', 'fill="url(#a)"', "fill"),
        ('fill="none"', 'fill="#f00"', "fill"),
        ("M10 0V10", "M10 0V10 url(../x)", "d="),
        ("<svg", '<!DOCTYPE svg [<!ENTITY a "b">]><svg', "document types and entities"),
        ("<svg", '<!DOCTYPE svg SYSTEM "../x.dtd"><svg', "document types and entities"),
        ("</svg>", "", "cannot be read"),
        ('cx="10" cy="0"', 'cx="10" cy="5"', "must lie on one side"),
        ('cx="10" cy="0"', 'cx="0" cy="0"', "must lie on one side"),
        ('id="in"', 'id="out"', 'no <circle class="port"'),
        ('viewBox="0 0 20 20"', 'viewBox="5 0 20 20"', "viewBox"),
        ('viewBox="0 0 20 20"', "", "viewBox"),
        ('cx="10" cy="0"', 'cx="ten" cy="0"', "ten"),
        ("M10 0V10", "M10 0V", "path data"),
        ('stroke-width="1.4"', 'stroke-width="nan"', "nan"),
    ],
)
def test_a_picture_with_anything_but_plain_ink_is_refused_with_the_file_and_the_reason(tmp_path, was, becomes, says):
    library = pair(tmp_path, svg=SVG.replace(was, becomes, 1))
    with pytest.raises(SymbolError) as refused:
        library.kind("tray-drain")
    assert "tray-drain" in str(refused.value) and says in str(refused.value)


@pytest.mark.parametrize(
    ("was", "becomes", "says"),
    [
        ('passages = ["in - outside"]', 'passages = ["in - oven"]', "names no port 'oven'"),
        ('passages = ["in - outside"]', 'passages = ["in to outside"]', "write '[position] a - b'"),
        ('media = "D"', 'media = "Q"', "media are letters"),
        ('title = "shower tray drain"', "", "title"),
        ("[ports]", "[ports", "cannot be read"),
    ],
)
def test_a_meaning_that_cannot_be_understood_is_refused_with_the_file_and_the_reason(tmp_path, was, becomes, says):
    library = pair(tmp_path, toml=TOML.replace(was, becomes, 1))
    with pytest.raises(SymbolError) as refused:
        library.kind("tray-drain")
    assert "tray-drain" in str(refused.value) and says in str(refused.value)


def test_a_missing_picture_is_named(tmp_path):
    library = pair(tmp_path)
    (tmp_path / "own" / "tray-drain.svg").unlink()
    with pytest.raises(SymbolError, match="tray-drain.svg"):
        library.kind("tray-drain")


@pytest.mark.parametrize("name", ["../pump", "..", "valves/pump", "/etc/passwd", "Pump"])
def test_a_kind_is_only_ever_found_by_a_name_of_the_set(name):
    with pytest.raises(KeyError):
        LIBRARY.kind(name)


# table, pages, sheet


def test_the_table_names_every_kind_and_its_letters():
    lines = kinds_table(LIBRARY).splitlines()
    for kind in KINDS:
        assert any(line.split()[:2] == [kind.name, kind.letter] for line in lines)
    assert max(map(len, lines)) <= 100


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_a_kinds_page_tells_its_openings_ways_positions_and_data(kind: PartKind):
    page = kind_page(kind)
    words = page.split()
    assert set(kind.ports) <= set(words) and set(kind.attributes) <= set(words)
    for passage in kind.passages:
        assert passage.a in words and passage.b in words
    assert all(p in page for p in kind.positions)
    assert all(a.unit in page and set(a.help.split()[:-1]) <= set(words) for a in kind.attributes.values())
    sides = {"L": "left", "R": "right", "T": "top", "B": "bottom"}
    for port in kind.ports.values():
        assert any(re.match(rf"  {port.name} .* {sides[port.side]}$", line) for line in page.splitlines())


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_a_kinds_page_holds_no_word_of_the_program(kind: PartKind):
    fields = {f.name.replace("_", " ") for f in dataclasses.fields(PartKind)} - set(kind.attributes) - {"title"}
    for line in kind_page(kind).splitlines():
        assert "{n}" not in line, line
        assert not any(re.search(rf": {field} is ", line) for field in fields), line


def test_a_kinds_page_says_what_is_otherwise_in_some_parts():
    pages = {name: kind_page(LIBRARY.kind(name)) for name in ("underfloor-manifold", "bypass-valve", "ground-loop")}
    assert "  - a loop is piped: takes no heat from its water\n" in pages["underfloor-manifold"]
    assert "  loop-1-… repeats: as many as the list uses, up to 12.\n" in pages["underfloor-manifold"]
    assert "  - type: hand: is moved by hand\n" in pages["bypass-valve"]
    assert "pipe laid in the ground" in pages["ground-loop"] and "floor" not in pages["ground-loop"]


def test_the_sheet_shows_every_kind_once_and_nothing_lies_on_anything_else():
    root = ElementTree.fromstring(kinds_sheet(LIBRARY))
    drawn = [g.get("data-kind") for g in root.iter() if g.get("class") == "part"]
    assert sorted(drawn) == sorted(NAMES)
    boxes = []
    for g in root.iter():
        if g.get("class") == "part":
            x, y, scale = map(float, re.findall(r"[-\d.]+", g.get("transform")))
            symbol = LIBRARY.kind(g.get("data-kind")).symbol
            boxes.append((x, y, x + symbol.w * scale, y + symbol.h * scale))
    width, height = map(float, root.get("viewBox").split()[2:])
    for a, b in itertools.combinations(boxes, 2):
        assert a[2] < b[0] or b[2] < a[0] or a[3] < b[1] or b[3] < a[1]
    assert all(x > 0 and y > 0 and r < width and b < height for x, y, r, b in boxes)


# helpers


def sizes(kind: PartKind):
    return [LIBRARY.kind(kind.name, n) for n in range(kind.units, kind.most_units + 1)] if kind.grows else [kind]


def turns(kind: PartKind):
    return [(t, m) for t in kind.symbol.turns for m in ((False, True) if kind.symbol.mirror else (False,))]


def openings(kind: PartKind):
    return {(p.at, p.role, p.need) for p in kind.ports.values()}


def every_look(kind: PartKind):
    type_ = kind.attributes.get("type")
    return [{p, t} for p in kind.positions or ("",) for t in (type_.choices if type_ else ("",))]


def steps(segments):
    """A path by the differences between its points: the same for a path that was only shifted."""
    points = [numbers[-2:] for command, numbers in segments if command != "Z"]
    return [(round(x - points[0][0], 2), round(y - points[0][1], 2)) for x, y in points]


@cache
def plain(name: str):
    kind = LIBRARY.kind(name)
    return rendered(symbol_ink(kind), kind.symbol.w, kind.symbol.h, DRAWN_SMALL)


def plain_in(name: str, position: str):
    kind = LIBRARY.kind(name)
    return rendered(symbol_ink(kind, words={position}), kind.symbol.w, kind.symbol.h, DRAWN_SMALL)


def rendered(ink, w: int, h: int, scale: float):
    return bits("".join(svg_of(i) for i in ink), w, h, scale)


def bits(body: str, w: int, h: int, scale: float) -> list[list[bool]]:
    """One bit per pixel of the picture, True where it is darker than the middle."""
    wide, high = round(w * scale), round(h * scale)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}" viewBox="0 0 {w} {h}" '
        f'preserveAspectRatio="none"><rect width="{w}" height="{h}" fill="#fff"/>{body}</svg>'
    )
    return decoded(bytes(resvg_py.svg_to_bytes(svg_string=svg)))


def decoded(png: bytes) -> list[list[bool]]:
    """A PNG of 8-bit RGBA as rows of bits (PNG specification, sections 7 and 9)."""
    at, data, width, height = 8, b"", 0, 0
    while at < len(png):
        size, name = struct.unpack(">I4s", png[at : at + 8])
        body = png[at + 8 : at + 8 + size]
        if name == b"IHDR":
            width, height, depth, colour = struct.unpack(">IIBB", body[:10])
            assert (depth, colour) == (8, 6)
        data += body if name == b"IDAT" else b""
        at += 12 + size
    raw, stride = zlib.decompress(data), 4 * width
    last, rows = [0] * width, []
    for start in range(0, height * (stride + 1), stride + 1):
        last = unfiltered(raw[start], raw[start + 1 : start + 1 + stride : 4], last)
        rows.append([v < 128 for v in last])
    return rows


def unfiltered(method: int, line: bytes, above: list[int]) -> list[int]:
    """One channel of a line; the filters work on each channel by itself."""
    out: list[int] = []
    left = corner = 0
    for value, up in zip(line, above, strict=True):
        guess = left + up - corner
        nearest = min((left, up, corner), key=lambda v: abs(guess - v)) if method == 4 else 0
        left = (value + (0, left, up, (left + up) // 2, nearest)[method]) & 255
        corner = up
        out.append(left)
    return out


def least_difference(a, b) -> float:
    """Pixels that differ over pixels inked in either, the lesser of plain and mirrored."""
    return min(difference(a, b), difference(a, [row[::-1] for row in b]))


def difference(a, b) -> float:
    pairs = [p for row, other in zip(a, b, strict=True) for p in zip(row, other, strict=True)]
    return sum(x != y for x, y in pairs) / max(1, sum(x or y for x, y in pairs))


def enclosed_whites(picture) -> list[int]:
    """Sizes of the white areas that white from outside the picture does not reach."""
    high, wide = len(picture) + 2, len(picture[0]) + 2
    white = {(x, y) for x in range(wide) for y in range(high)}
    white -= {(x + 1, y + 1) for y, row in enumerate(picture) for x, black in enumerate(row) if black}
    areas = []
    while white:
        start = (0, 0) if not areas else min(white)
        area, front = 0, [start]
        white.discard(start)
        while front:
            x, y = front.pop()
            area += 1
            for step in ((x + 1, y), (x - 1, y), (x, y + 1), (x, y - 1)):
                if step in white:
                    white.remove(step)
                    front.append(step)
        areas.append(area)
    return areas[1:]
