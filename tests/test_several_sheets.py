"""A system on several sheets: nothing lost, nothing twice, and a pipe can be followed from sheet to sheet."""

import random
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path

import never
import pytest
from systems import HERE, _Writer, job

from schemagen import read
from schemagen.joblist.joblist import Entry, JobList
from schemagen.output.as_svg import svg_text
from schemagen.output.write import write
from schemagen.pipeline import Job, job_of
from schemagen.sheets.publish import DoesNotFit
from schemagen.sheets.several import letters
from schemagen.sheets.sheet import PAGES
from schemagen.sheets.title_block import field_at

FLATS = Path(__file__).parent.parent / "examples" / "08_four_flats_on_risers.xlsx"
CASES = {
    "flats on A4": lambda: (read(FLATS), "A4"),
    "sixty parts on A4": lambda: (job_of(job(2, 60)), "A4"),
    "a hundred and twenty parts on A3": lambda: (job_of(job(1, 120)), "A3"),
}


@cache
def sheets_of(case: str):
    made, page = CASES[case]()
    return made, page, made.sheets(page)


@pytest.fixture(scope="module", params=CASES, ids=str)
def cut(request):
    made, page, sheets = sheets_of(request.param)
    return made, page, sheets, [never.Picture(svg_text(sheet)) for sheet in sheets]


def test_every_sheet_is_of_the_page_asked_for_with_letters_that_can_be_read(cut):
    _, page, sheets, pictures = cut
    assert len(sheets) > 1
    assert {(s.page, s.width, s.height, s.onto.scale) for s in sheets} == {
        (page, PAGES[page].width, PAGES[page].height, sheets[0].onto.scale)
    }
    assert min(cap for picture in pictures for cap in picture.caps) >= 1.8


def test_nothing_is_drawn_on_any_sheet_that_must_never_be_seen(cut):
    assert [fault for sheet in cut[2] for fault in never.faults(svg_text(sheet))] == []


def test_every_part_is_on_exactly_one_sheet(cut):
    made, _, _, pictures = cut
    assert sorted(tag for picture in pictures for tag in picture.parts) == sorted(made.network.parts)


def test_every_pipe_is_on_one_sheet_or_its_two_halves_are_on_two(cut):
    made, _, _, pictures = cut
    drawn: dict[str, list[tuple[str, int]]] = {}
    for n, picture in enumerate(pictures):
        for pipe in picture.pipes:
            drawn.setdefault(pipe.name, []).append((pipe.half, n))
    assert sorted(drawn) == sorted(pipe.name for pipe in made.network.pipes)
    for name, pieces in drawn.items():
        assert sorted(half for half, _ in pieces) in ([""], ["end", "start"]), name
        assert len({n for _, n in pieces}) == len(pieces), name


def test_the_half_of_a_pipe_has_the_end_that_is_on_its_sheet_and_the_pen_of_the_other_half(cut):
    _, _, sheets, pictures = cut
    pens = {}
    for sheet, picture in zip(sheets, pictures, strict=True):
        for pipe in picture.pipes:
            here = {"start": pipe.start, "end": pipe.end}
            assert all((end in picture.ports) == (pipe.half in ("", half)) for half, end in here.items()), pipe.name
        for pipe in sheet.drawing.pipes:
            look = (pipe.section, pipe.medium, pipe.size, pipe.pen.colour, pipe.pen.width)
            pens.setdefault(pipe.name, set()).add(look)
    assert all(len(found) == 1 for found in pens.values())


def test_every_connector_says_where_its_mate_is_and_the_mate_says_the_same_of_it(cut):
    _, _, sheets, pictures = cut
    flags = {(str(n), c.letters): c for n, p in enumerate(pictures, 1) for c in p.connectors.values()}
    assert flags
    for (number, name), flag in flags.items():
        mate = flags[flag.sheet, name]
        assert flag.sheet != number and mate.sheet == number
        assert (mate.pipe, mate.way) == (flag.pipe, {"out": "in", "in": "out"}[flag.way])
        area = mate.area
        middle = (area.left + area.right) / 2, (area.top + area.bottom) / 2
        assert flag.field == field_at(PAGES[sheets[0].page], *middle)
    assert Counter(name for _, name in flags) == Counter({name: 2 for _, name in flags})


def test_a_connector_is_written_beside_its_flag(cut):
    for picture in cut[3]:
        said = {}
        for text, subject, _ in picture.texts:
            said.setdefault(subject, []).append(text)
        for flag in picture.connectors.values():
            way = {"out": "to", "in": "from"}[flag.way]
            assert sorted(said[flag.name]) == sorted([flag.letters, f"{way} sheet {flag.sheet}, {flag.field}"])


def test_every_pipe_in_which_water_moves_has_an_arrow_on_each_of_its_sheets(cut):
    made, _, _, pictures = cut
    moving = {p.name for p, moves in zip(made.network.pipes, made.waters.carries, strict=True) if moves}
    for picture in pictures:
        assert {name for name, _ in picture.arrows} == {pipe.name for pipe in picture.pipes} & moving


def test_sheets_are_counted_and_the_first_has_the_cautions_and_what_is_on_each(cut):
    _, _, sheets, _ = cut
    for number, sheet in enumerate(sheets, 1):
        blocks = {block.name: [s.text for s in block.shapes if hasattr(s, "text")] for block in sheet.blocks}
        assert f"{number} of {len(sheets)}" in blocks["title-block"]
        assert sheet.title.endswith(f"sheet {number}")
        assert ("cautions" in blocks) == (number == 1)
        assert ("sheets" in blocks) == (number == 1 and len(sheets) > 2)
        assert {"legend", "section-key", "notes"} <= set(blocks)
    table = next(b for b in sheets[0].blocks if b.name == "sheets")
    words = [s.text for s in table.shapes if hasattr(s, "text")]
    assert {str(n) for n in range(1, len(sheets) + 1)} <= set(words)


def test_a_finding_has_the_same_number_on_every_sheet_and_is_listed_where_it_is_marked(cut):
    made, _, sheets, _ = cut
    listed_on = []
    for sheet in sheets:
        block = next((b for b in sheet.blocks if b.name == "findings"), None)
        listed_on.append({int(s.text) for s in block.shapes if getattr(s, "text", "").isdigit()} if block else set())
        for mark in sheet.drawing.marks:
            assert made.findings[mark.number - 1] == mark.finding
            assert mark.number in listed_on[-1]
    assert set().union(*listed_on) == set(range(1, len(made.findings) + 1))
    for number, finding in enumerate(made.findings, 1):
        for sheet in sheets:
            named = {pair for pipe in sheet.drawing.pipes for pair in ((pipe.start, pipe.end), (pipe.end, pipe.start))}
            if any(tuple(pair) in named for pair in finding.pipes):
                assert number in {mark.number for mark in sheet.drawing.marks}


def shuffled(made: JobList, seed: int) -> JobList:
    rng = random.Random(seed)
    parts, connections = (tuple(rng.sample(lines, len(lines))) for lines in (made.parts, made.connections))
    return replace(made, parts=parts, connections=connections)


def test_a_list_in_another_order_gives_the_same_sheets_if_it_has_no_findings():
    """Made joints are named, and findings numbered, in the order of the list.

    So a panel of findings may need other room.
    """
    made, page, one = sheets_of("flats on A4")
    assert not made.findings
    other = job_of(shuffled(made.list, 1)).sheets(page)

    def seen(sheets):
        return [
            (
                sorted((p.kind, p.box.x, p.box.y) for p in s.drawing.parts),
                sorted((p.section, p.points) for p in s.drawing.pipes),
            )
            for s in sheets
        ]

    assert seen(one) == seen(other)


def test_the_same_list_gives_the_same_bytes():
    _, page, sheets = sheets_of("sixty parts on A4")
    assert [svg_text(s) for s in job_of(job(2, 60)).sheets(page)] == [svg_text(s) for s in sheets]


def dwellings(count: int) -> Job:
    """A boiler, and flats that differ in names only, on a flow and a return that run past all of them."""
    w = _Writer(random.Random(0))
    boiler = w.part("B", "system-boiler", output="60 kW")
    flow, back = f"{boiler}.flow", f"{boiler}.return"
    for n in range(1, count + 1):
        place = f"Flat {n}"
        valve, zone = w.part("ZV", "zone-valve", place=place), w.part("HZ", "heating-zone", label="Rooms", place=place)
        w.part("RT", "room-thermostat", switches=valve, place=place)
        v, b = w.part("V", "isolating-valve", place=place), w.part("BV", "balancing-valve", place=place)
        if n < count:
            f, r = w.tee(), w.tee()
            w.run(flow, f)
            w.run(r, back)
            flow, back = f, r
        w.run(flow, v, valve, f"{zone}.in")
        w.run(f"{zone}.out", b, back)
    title = Entry("title", "Dwellings", HERE)
    return job_of(JobList("dwellings", None, (title,), tuple(w.parts), tuple(w.runs)))


def test_dwellings_alike_are_kept_whole_and_drawn_alike_on_every_sheet():
    made = dwellings(9)
    looks, sheet_of = Counter(), {}
    for n, sheet in enumerate(made.sheets("A4")):
        for place in sheet.drawing.places:
            assert sheet_of.setdefault(place.name, n) == n
            tags = {tag for tag, part in made.network.parts.items() if part.place == place.name}
            inside = [p for p in sheet.drawing.parts if p.tag in tags]
            assert len(inside) == len(tags) == 5
            looks[frozenset((p.kind, p.box.x - place.box.x, p.box.y - place.box.y) for p in inside)] += 1
    assert sorted(sheet_of) == sorted(f"Flat {n}" for n in range(1, 10))
    assert looks.most_common(1)[0][1] == 9


def test_sheets_that_differ_in_names_only_are_alike_to_the_last_coordinate():
    sheets = dwellings(9).sheets("A4")
    looks = Counter(frozenset((p.kind, p.box) for p in sheet.drawing.parts) for sheet in sheets)
    assert looks.most_common(1)[0][1] >= 2


def test_states_are_cut_like_the_plain_drawing():
    made, _, plain = sheets_of("flats on A4")
    states = made.states[:2]
    sheets = made.state_sheets(states, "A4")
    assert len(sheets) == len(plain) * len(states)
    for n, sheet in enumerate(sheets):
        like = plain[n % len(plain)]
        assert [(p.kind, p.box) for p in sheet.drawing.parts] == [(p.kind, p.box) for p in like.drawing.parts]
        assert never.faults(svg_text(sheet)) == []
        own = range(n // len(plain) * len(plain) + 1, (n // len(plain) + 1) * len(plain) + 1)
        assert all(p.connector.sheet in own for p in sheet.drawing.parts if p.connector)


def test_what_fits_the_page_is_on_one_sheet_and_without_a_page_nothing_is_cut_that_fits_the_largest():
    made = read(FLATS)
    assert [len(made.sheets(page)) for page in ("A2", "A1", None, "fit")] == [1, 1, 1, 1]


def test_a_part_that_is_too_large_for_the_page_by_itself_is_refused_with_the_page_that_helps():
    w = _Writer(random.Random(0))
    manifold = w.part("UM", "underfloor-manifold", loops="30")
    for n in range(1, 31):
        loop = w.part("UL", "underfloor-loop")
        w.run(f"{manifold}.loop-{n}-flow", f"{loop}.in")
        w.run(f"{loop}.out", f"{manifold}.loop-{n}-return")
    made = job_of(JobList("wide", None, (Entry("title", "Wide", HERE),), tuple(w.parts), tuple(w.runs)))
    with pytest.raises(DoesNotFit, match="too large for A4"):
        made.sheets("A4")


def test_several_sheets_are_written_to_as_many_files(tmp_path):
    _, _, sheets = sheets_of("flats on A4")
    names = [path.name for path in write(sheets, tmp_path / "flats.svg")]
    assert names == [f"flats-{n}.svg" for n in range(1, len(sheets) + 1)]


def test_letters_go_on_after_z():
    assert [letters(n) for n in (0, 7, 8, 23, 24, 25, 47, 48)] == ["A", "H", "J", "Z", "AA", "AB", "AZ", "BA"]
