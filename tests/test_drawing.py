"""The drawing of a plan: lines that can be told apart; arrows, hops, letters and marks where they may stand."""

import math
from itertools import combinations, pairwise

import pytest
from hand_plan import CARRIES, FINDINGS, hand_drawing
from hypothesis import given
from hypothesis import strategies as st

from schemagen.base.geometry import Point
from schemagen.base.text import LABEL_SIZE, text_width
from schemagen.drawing.drawing import Hop
from schemagen.drawing.free_space import Area
from schemagen.drawing.marks import mark_radius
from schemagen.drawing.pipe_lines import HOP_RADIUS, hops_of, line_length, stretched, without_idle_points
from schemagen.drawing.shape import Circle, Path
from schemagen.drawing.style import MM_PER_UNIT, shipped_style
from schemagen.network.waters import SECTIONS

STYLE = shipped_style()


# colours and lines


def linear(colour: str) -> list[float]:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    return [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]


def contrast(a: str, b: str) -> float:
    """WCAG 2.2, definition of contrast ratio."""
    light = sorted(0.2126 * r + 0.7152 * g + 0.0722 * b for r, g, b in (linear(a), linear(b)))
    return (light[1] + 0.05) / (light[0] + 0.05)


VISIONS = {  # Machado, Oliveira and Fernandes 2009, full severity, on linear RGB
    "normal": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}


def lab(rgb: list[float]) -> tuple[float, float, float]:
    """CIE L*a*b* of linear sRGB, white point D65."""
    m = ((0.4124564, 0.3575761, 0.1804375), (0.2126729, 0.7151522, 0.0721750), (0.0193339, 0.1191920, 0.9503041))
    xyz = [sum(k * c for k, c in zip(row, rgb, strict=True)) for row in m]
    f = [t ** (1 / 3) if t > 216 / 24389 else (24389 / 27 * t + 16) / 116
         for t in (xyz[0] / 0.95047, xyz[1], xyz[2] / 1.08883)]  # fmt: skip
    return 116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])


def ciede2000(one, other) -> float:
    """Colour difference after Sharma, Wu and Dalal 2005."""
    (l1, a1, b1), (l2, a2, b2) = one, other
    mean = (math.hypot(a1, b1) + math.hypot(a2, b2)) / 2
    g = 0.5 * (1 - math.sqrt(mean**7 / (mean**7 + 25**7)))
    a1, a2 = a1 * (1 + g), a2 * (1 + g)
    c1, c2 = math.hypot(a1, b1), math.hypot(a2, b2)
    h1, h2 = (math.degrees(math.atan2(b, a)) % 360 if a or b else 0 for a, b in ((a1, b1), (a2, b2)))
    turn = 0 if c1 * c2 == 0 else (h2 - h1 + 180) % 360 - 180
    dl, dc, dh = l2 - l1, c2 - c1, 2 * math.sqrt(c1 * c2) * math.sin(math.radians(turn) / 2)
    lm, cm = (l1 + l2) / 2, (c1 + c2) / 2
    hm = h1 + h2 if c1 * c2 == 0 else (h1 + h2) / 2 + (180 if abs(h1 - h2) > 180 and h1 + h2 < 360 else
                                                     -180 if abs(h1 - h2) > 180 else 0)  # fmt: skip
    cos = lambda degrees: math.cos(math.radians(degrees))  # noqa: E731
    t = 1 - 0.17 * cos(hm - 30) + 0.24 * cos(2 * hm) + 0.32 * cos(3 * hm + 6) - 0.2 * cos(4 * hm - 63)
    sl = 1 + 0.015 * (lm - 50) ** 2 / math.sqrt(20 + (lm - 50) ** 2)
    sc, sh = 1 + 0.045 * cm, 1 + 0.015 * cm * t
    rt = -2 * math.sqrt(cm**7 / (cm**7 + 25**7)) * math.sin(math.radians(60 * math.exp(-(((hm - 275) / 25) ** 2))))
    return math.sqrt((dl / sl) ** 2 + (dc / sc) ** 2 + (dh / sh) ** 2 + rt * (dc / sc) * (dh / sh))


@pytest.mark.parametrize(
    ("one", "other", "published"),
    [
        ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
        ((50, -1.3802, -84.2814), (50, 0, -82.7485), 1.0000),
        ((50, 2.5, 0), (73, 25, -18), 27.1492),
        ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
    ],
)
def test_the_colour_difference_used_here_gives_the_published_figures(one, other, published):
    assert ciede2000(one, other) == pytest.approx(published, abs=5e-5)


@pytest.mark.parametrize("section", SECTIONS)
def test_every_section_has_a_line_that_contrasts_with_paper_and_with_a_tinted_background(section):
    colour = STYLE.sections[section].pen.colour
    assert contrast(colour, "#ffffff") >= 4.5
    assert contrast(colour, "#f4f4f4") >= 3


@pytest.mark.parametrize("vision", VISIONS)
def test_different_colours_stay_apart_in_every_kind_of_colour_vision(vision):
    colours = sorted({s.pen.colour for s in STYLE.sections.values()} | {STYLE.colours["ink"]})
    seen = {
        c: lab([min(1, max(0, sum(k * v for k, v in zip(row, linear(c), strict=True)))) for row in VISIONS[vision]])
        for c in colours
    }
    assert min(ciede2000(seen[a], seen[b]) for a, b in combinations(colours, 2)) >= 10


def test_no_two_sections_can_be_told_apart_by_colour_alone():
    coded = [(s.pen.pattern, s.pen.width, s.code) for s in STYLE.sections.values()]
    assert len(set(coded)) == len(coded) == len(SECTIONS)
    assert len({s.code for s in STYLE.sections.values()}) == len(SECTIONS)


def test_pens_are_of_the_series_and_main_pipes_twice_as_wide_as_fine_lines():
    widths = [s.pen.width for s in STYLE.sections.values()] + list(STYLE.pens.values())
    assert set(widths) <= set(STYLE.series)
    main = [STYLE.sections[s].pen.width for s in ("heating-flow", "heating-return", "primary-flow", "cold", "hot")]
    assert min(main) >= 2 * STYLE.pens["leader"]


# dashes, hops


@given(
    st.lists(st.integers(5, 900), min_size=1, max_size=5), st.sampled_from([s for s in SECTIONS]), st.integers(0, 2)
)
def test_a_stretched_pattern_begins_and_ends_on_a_dash_and_is_stretched_by_a_quarter_at_most(legs, section, hops):
    points = [Point(0, 0)]
    for i, leg in enumerate(legs):
        last = points[-1]
        points.append(Point(last.x + leg, last.y) if i % 2 == 0 else Point(last.x, last.y + leg))
    over = tuple(Hop(0, Point(legs[0] * (n + 1) // 3, 0), 1.0) for n in range(hops))
    pen = STYLE.sections[section].pen
    fitted = stretched(pen, tuple(points), over)
    length = line_length(tuple(points), over) * MM_PER_UNIT
    if not fitted.pattern:
        assert not pen.pattern or length < sum(pen.pattern) + pen.pattern[0]
        return
    factor = fitted.pattern[0] / pen.pattern[0]
    if length > 4 * sum(pen.pattern):
        assert 0.8 <= factor <= 1.25
    else:
        assert 0.7 <= factor <= 1.5
    end = (length + fitted.skip) % sum(fitted.pattern)
    dash = fitted.pattern[0]
    assert fitted.skip <= dash / 2
    assert dash / 2 - 1e-6 <= end <= dash + 1e-6


@given(st.integers(25, 400), st.integers(25, 400), st.sampled_from(["heating-return", "primary-return", "cold"]))
def test_a_single_corner_of_a_line_of_some_length_falls_on_a_dash(leg, other, section):
    points = (Point(0, 0), Point(leg, 0), Point(leg, other))
    fitted = stretched(STYLE.sections[section].pen, points)
    if not fitted.pattern or leg + other < 2 * sum(fitted.pattern) / MM_PER_UNIT:
        return
    at = (leg * MM_PER_UNIT + fitted.skip) % sum(fitted.pattern)
    for i, piece in enumerate(fitted.pattern):
        if at <= piece:
            assert i % 2 == 0
            return
        at -= piece


def test_hops_keep_to_their_radius_and_shrink_where_two_are_near():
    points = (Point(0, 0), Point(200, 0))
    (one,) = hops_of(points, (Point(100, 0),))
    assert one.radius == HOP_RADIUS
    near = hops_of(points, (Point(110, 0), Point(100, 0)))
    assert [h.at.x for h in near] == [100, 110]
    assert near[0].radius + near[1].radius < 10


def test_points_on_the_way_are_left_out_and_corners_kept():
    points = (Point(0, 0), Point(0, 0), Point(5, 0), Point(9, 0), Point(9, 4))
    assert without_idle_points(points) == (Point(0, 0), Point(9, 0), Point(9, 4))


# the drawing of a small circuit placed by hand


@pytest.fixture(scope="module")
def clean():
    return hand_drawing()[2]


@pytest.fixture(scope="module")
def marked():
    return hand_drawing(FINDINGS)[2]


def test_every_pipe_that_carries_water_has_an_arrow_along_it_and_no_other_has_one(clean):
    with_arrow = {a.pipe for a in clean.arrows}
    assert with_arrow == {p.name for p, carries in zip(clean.pipes, CARRIES, strict=True) if carries}
    pipes = {p.name: p for p in clean.pipes}
    for arrow in clean.arrows:
        runs = list(pairwise(pipes[arrow.pipe].points))
        assert any(
            ((b.x > a.x) - (b.x < a.x), (b.y > a.y) - (b.y < a.y)) == arrow.along
            and min(a.x, b.x) <= arrow.tip[0] <= max(a.x, b.x)
            and min(a.y, b.y) <= arrow.tip[1] <= max(a.y, b.y)
            for a, b in runs
        )


def test_arrows_of_full_size_keep_two_modules_from_symbols_corners_and_crossings(clean):
    pipes = {p.name: p for p in clean.pipes}
    crossings = [hop.at for p in clean.pipes for hop in p.hops]
    for arrow in clean.arrows:
        whole = max(abs(a.x - b.x) + abs(a.y - b.y) for a, b in pairwise(pipes[arrow.pipe].points))
        if whole < 80:
            continue
        x, y = arrow.tip
        for p in (*pipes[arrow.pipe].points, *crossings):
            assert max(abs(p.x - x), abs(p.y - y)) >= 20


def test_a_joint_is_a_dot_in_the_colour_of_its_pipes_and_a_long_dead_leg_has_no_arrow(clean):
    tee = next(p for p in clean.parts if p.tag == "T1")
    dot = next(s for s in tee.shapes if isinstance(s, Circle))
    assert (dot.x, dot.y, dot.r) == (210, 20, 4)
    assert dot.fill == STYLE.sections["heating-flow"].pen.colour
    assert sum(isinstance(s, Path) for s in tee.shapes) == 3


def test_the_less_important_pipe_carries_its_hops_as_the_plan_says(clean):
    cold = next(p for p in clean.pipes if p.section == "cold")
    assert [h.at for h in cold.hops] == [Point(340, 20), Point(340, 60)]
    assert all(not p.hops for p in clean.pipes if p is not cold)


def test_each_section_has_its_letters_beside_one_of_its_lines(clean):
    codes = [label for label in clean.labels if label.role == "code"]
    written = {label.section: text.text for label in codes for text in label.texts if text.bold}
    assert written == {"heating-flow": "HF", "heating-return": "HR", "cold": "CW"}


def test_sizes_are_written_beside_the_pipes_that_have_one(clean):
    sizes = {t.text for label in clean.labels if label.role == "code" for t in label.texts if not t.bold}
    assert sizes == {"22 mm", "15 mm"}


def text_area(text) -> Area:
    width = text_width(text.text, LABEL_SIZE, text.bold)
    left = text.x - {"start": 0, "middle": width / 2, "end": width}[text.anchor]
    return Area(left, text.y - 10, left + width, text.y + 3)


def test_marks_stand_on_no_symbol_no_text_no_pipe_and_no_other_mark(marked):
    assert [m.number for m in marked.marks] == [1, 2, 3, 4]
    areas = []
    for mark in marked.marks:
        r = mark_radius(mark.number) * (1.35 if mark.finding.severity == "warning" else 1)
        areas.append(Area(mark.at.x - r, mark.at.y - r, mark.at.x + r, mark.at.y + r))
    for one, other in combinations(areas, 2):
        assert not one.meets(other)
    for area in areas:
        for part in marked.parts:
            box = part.box
            assert not area.meets(Area(box.x, box.y, box.right, box.bottom))
        for label in marked.labels:
            assert not any(area.meets(text_area(t)) for t in label.texts)
        for pipe in marked.pipes:
            for a, b in pairwise(pipe.points):
                line = Area(min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y))
                assert not area.meets(line.grown(0.1))


def test_a_mark_stands_near_its_place_and_the_pipe_it_names_is_set_off(marked):
    mark = marked.marks[0]
    assert mark.subject == "T2.b→P1.in"
    assert abs(mark.at.x - 220) + abs(mark.at.y - 60) < 60
    assert [p.name for p in marked.pipes if p.flagged] == ["T2.b→P1.in"]
    assert len(marked.flagged_parts) == 3


def test_the_same_plan_gives_the_same_drawing():
    assert hand_drawing(FINDINGS)[2] == hand_drawing(FINDINGS)[2]


def test_the_description_counts_tells_the_circuit_and_the_findings(marked):
    assert "10 parts and 9 pipes" in marked.desc
    assert "B1, V1, R1, P1" in marked.desc
    assert "Finding 1, error: Nothing moves the water of B1." in marked.desc
    assert len(marked.desc) <= 1500
