"""Lessons: sheets that lie on each other, blanks with answers, keys that agree with the list, mistakes found alone."""

import csv
import io
import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as etree

import pytest

from schemagen.checks.check import check
from schemagen.checks.folding import tags_of
from schemagen.joblist.joblist import Entry
from schemagen.lessons.chance import shuffled
from schemagen.lessons.lesson import Lesson
from schemagen.lessons.seeded_faults import seeded_fault
from schemagen.lessons.shades import BLACK
from schemagen.lessons.steps import STEPS
from schemagen.lessons.synonyms import SYNONYMS
from schemagen.network.waters import SECTIONS
from schemagen.output.as_svg import svg_text
from schemagen.output.lesson_files import lesson_files
from schemagen.papers.paper import Grid, Paragraph
from schemagen.parts.library import shipped_library
from schemagen.pipeline import job_of, lesson, read
from schemagen.sheets.sheet import CannotDraw

FOLDER = Path(__file__).parent.parent / "examples"
EXAMPLES = sorted(FOLDER.glob("0[1-8]_*"))
SVG = "{http://www.w3.org/2000/svg}"


@cache
def made(number: int, seed: int = 1, papers: int = 1, difficulty: int = 2) -> Lesson:
    return lesson(EXAMPLES[number - 1], seed, papers, difficulty)


@cache
def parsed(number: int, name: str):
    return etree.fromstring(svg_text(made(number).sheets[name]).encode())


def exercise(number: int, slug: str):
    return next(e for e in made(number).exercises if slug in e.slug)


def lines_of(root) -> dict[str, str]:
    """What is drawn where: the line of each pipe, the box of each part."""
    lines = [e for e in root.iter(f"{SVG}path") if e.get("data-from")]
    pipes = {f"{e.get('data-from')} {e.get('data-to')}": e.get("d") for e in lines}
    for part in root.iter(f"{SVG}g"):
        if part.get("class") == "part":
            body = next(e for e in part.iter(f"{SVG}rect") if e.get("class") == "body")
            pipes[part.get("data-part")] = " ".join(body.get(k) for k in ("x", "y", "width", "height"))
    return pipes


def texts(paper) -> str:
    out = []
    for piece in paper.pieces:
        if isinstance(piece, Grid):
            out += [" ".join(row) for row in piece.rows]
        elif hasattr(piece, "text"):
            out.append(piece.text)
    return "\n".join(out)


# build-up sheets


def buildup(number: int) -> list[str]:
    return [name for name in made(number).sheets if name.startswith("build-up")]


@pytest.mark.parametrize("number", [1, 5])
def test_everything_keeps_its_place_on_all_build_up_sheets_and_the_last_has_all_of_it(number):
    sheets = [lines_of(parsed(number, name)) for name in buildup(number)]
    for before, after in zip(sheets, sheets[1:], strict=False):
        assert before.items() <= after.items()
        assert len(before) < len(after)
    job = read(EXAMPLES[number - 1])
    assert set(sheets[-1]) == {f"{p.start} {p.end}" for p in job.network.pipes} | set(job.plan.parts)


def test_each_section_belongs_to_exactly_one_step():
    taught = [section for step in STEPS for section in step.sections]
    assert sorted(taught) == sorted(SECTIONS)


def test_on_a_build_up_sheet_only_its_own_step_is_in_full_pen():
    first, second = (made(1).sheets[name].drawing for name in buildup(1)[:2])
    assert {p.section for p in first.pipes} == {"cold"}
    assert {p.section for p in second.pipes if p.pen.colour != "#767676"} == {"heating-flow", "heating-return"}
    assert {p.section for p in second.pipes if p.pen.colour == "#767676"} == {"cold"}


def test_a_joint_has_no_arm_towards_a_pipe_that_comes_later():
    first, last = (made(1).sheets[buildup(1)[n]].drawing for n in (0, -1))
    joints = [(p, part(last, p.tag)) for p in first.parts if p.kind == "tee"]
    fewer = [before.tag for before, after in joints if len(before.shapes) < len(after.shapes)]
    assert len(fewer) == 1  # the filling branch is not there yet


@pytest.mark.parametrize("number", [1, 5])
def test_captions_are_three_short_sentences_that_name_nothing_by_colour(number):
    for name in buildup(number):
        said = [s for s in re.split(r"(?<=[.?!]) ", made(number).sheets[name].desc) if s]
        assert len(said) == 3, said
        assert all(len(s.split()) <= 20 for s in said), said


def test_no_sentence_of_ours_is_long_or_names_a_colour():
    for step in STEPS:
        for _, text in (*step.why, *step.look):
            assert len(text.split()) <= 20, text
            assert not re.search(r"\b(red|blue|green|orange|purple|brown|yellow|grey|pink)\b", text, re.I), text


def test_steps_and_synonyms_name_kinds_that_exist():
    library = shipped_library()
    named = {kind for step in STEPS for kind, _ in (*step.why, *step.look) if kind} | set(SYNONYMS)
    assert named <= set(library.names)


# worksheets


WORKSHEETS = ("names", "arrows", "positions", "codes", "pipes")


@pytest.mark.parametrize("slug", WORKSHEETS)
@pytest.mark.parametrize("number", [1, 5])
def test_worksheet_and_key_lie_on_each_other(number, slug):
    one = exercise(number, slug)
    sheet, key = (lines_of(parsed(number, name)) for name in (one.slug, f"{one.slug}-KEY"))
    assert sheet.items() <= key.items()
    assert len(key) - len(sheet) == (3 if slug == "pipes" else 0)
    assert "KEY" in one.key.title and "KEY" not in one.paper.title
    assert "KEY" in made(number).sheets[f"{one.slug}-KEY"].title


@pytest.mark.parametrize("slug", WORKSHEETS)
@pytest.mark.parametrize("number", [1, 5])
def test_every_blank_has_an_answer_and_the_paper_has_none(number, slug):
    one = exercise(number, slug)
    assert all(item.expected for item in one.items)
    assert len({item.name for item in one.items}) == len(one.items)
    (blanks,) = (piece for piece in one.paper.pieces if isinstance(piece, Grid))
    assert [row[0] for row in blanks.rows] == [item.name for item in one.items]
    assert all(row[-1] == "" for row in blanks.rows)
    (answers,) = (piece for piece in one.key.pieces if isinstance(piece, Grid))
    assert [row[2] for row in answers.rows] == [item.expected for item in one.items]


def test_each_number_on_the_drawing_is_asked_once_and_answered_once():
    for slug in ("names", "arrows", "codes"):
        one = exercise(1, slug)
        rings = [label.texts[0].text for label in one.sheets[one.slug].drawing.labels if label.role == "blank"]
        assert sorted(rings, key=int) == [item.name for item in one.items]


def test_no_blanked_name_is_left_on_the_worksheet():
    one = exercise(1, "names")
    tags = {item.asked.split(", ")[1] for item in one.items}
    left = {e.text for e in parsed(1, one.slug).iter(f"{SVG}text")}
    assert not tags & left
    assert tags <= {e.text for e in parsed(1, f"{one.slug}-KEY").iter(f"{SVG}text")}


def test_the_names_are_those_of_the_kinds_in_the_list():
    kinds = dict(re.findall(r"(?m)^  (\w+): +\{kind: ([\w-]+)", EXAMPLES[0].read_text(encoding="utf-8")))
    answers = {item.asked.split(", ")[1]: item.expected for item in exercise(1, "names").items}
    checked = answers.keys() & kinds.keys()
    assert len(checked) > 10
    library = shipped_library()
    assert all(answers[tag] == library.kind(kinds[tag]).title for tag in checked)


def test_the_arrows_asked_for_point_along_the_listed_direction():
    network = read(EXAMPLES[0]).network
    ends = {pipe.name: pipe for pipe in network.pipes}
    one = exercise(1, "arrows")
    drawing, key = (one.sheets[name].drawing for name in (one.slug, f"{one.slug}-KEY"))
    assert drawing.arrows == ()
    said = {label.texts[0].text.split()[0]: label.texts[0].text[-1] for label in key.labels if label.role == "blank"}
    ways = {"→": (1, 0), "←": (-1, 0), "↓": (0, 1), "↑": (0, -1)}
    for label in drawing.labels:
        if label.role == "blank":
            item = next(i for i in one.items if i.name == label.texts[0].text)
            assert item.accepted == (said[item.name],)
            pipe = next(p for p in drawing.pipes if p.name == label.subject)
            assert pipe.points[0] == dict(part(drawing, ends[pipe.name].start.tag).ports)[ends[pipe.name].start.port]
            box = label.ink[0]
            x, y = box.x + box.w / 2, box.y + box.h / 2
            a, b = next(
                (a, b) for a, b in zip(pipe.points, pipe.points[1:], strict=False)
                if min(a.x, b.x) <= x <= max(a.x, b.x) and min(a.y, b.y) <= y <= max(a.y, b.y)
            )  # fmt: skip
            dx, dy = ways[said[item.name]]
            assert (b.x - a.x) * dx + (b.y - a.y) * dy > 0


def part(drawing, tag):
    return next(p for p in drawing.parts if p.tag == tag)


def test_known_sections_and_positions_of_the_radiator_circuit():
    codes = {item.expected for item in exercise(1, "codes").items}
    assert codes <= {"CW", "HF", "HR", "D", "K", "FILL"}
    positions = {item.name: item.expected for item in exercise(1, "positions").items}
    known = {"DC1": "shut", "DC2": "shut", "FL1": "disconnected", "SV1": "open", "V1": "open", "V2": "open"}
    assert positions.keys() & known.keys()
    assert all(known[tag] == positions[tag] for tag in positions.keys() & known.keys())


def test_a_valve_without_its_position_is_drawn_like_an_open_one():
    one = exercise(1, "positions")
    before = part(one.sheets[one.slug].drawing, "DC1"), part(one.sheets[f"{one.slug}-KEY"].drawing, "DC1")
    fills = [[s.fill for s in p.shapes if getattr(s, "pen", None)] for p in before]
    assert BLACK in fills[1] and BLACK not in fills[0]


# states


def test_the_answers_on_states_of_a_heat_pump_with_diverter_are_those_of_its_piping():
    from schemagen.lessons.state_questions import chosen_states, questions

    operation = read(EXAMPLES[2]).operation
    answers = {s.name: {i.asked: i.expected for i in questions(operation, s, 1)} for s in chosen_states(operation, 3)}
    hot, idle = answers["hot water calls"], answers["no calls, power on"]
    assert hot["Which way does DV1 stand?"] == "a (hot water)"
    assert hot["Which sources give heat?"] == "HP1"
    assert hot["In which emitters and coils is the water still?"] == "R1, R2"
    assert idle["Which pumps run? Count those inside sources too."] == "none"
    assert idle["Which sources give heat?"] == "none"
    assert set(idle["In which emitters and coils is the water still?"].split(", ")) == {"ST1", "R1", "R2"}


def test_the_states_paper_shows_no_state_unless_it_is_easy():
    hard, easy = (next(e for e in made(1, 1, 0, d).exercises if e.slug == "states") for d in (2, 1))
    assert [s.drawing.state for s in hard.paper.sheets] == [""]
    assert all(s.drawing.state for s in easy.paper.sheets)
    assert all(s.drawing.state for s in hard.key.sheets)


# fault-finding papers


@pytest.mark.parametrize("seed", range(12))
def test_the_checks_find_exactly_the_seeded_mistake_at_its_place(seed):
    facts = read(EXAMPLES[seed % 8])._facts
    seeded = seeded_fault(facts, seed, 1, 1 + seed % 3)
    assert seeded is not None
    found = check(replace(seeded.facts)).findings
    assert len(found) == 1
    assert tags_of(found[0]) & set(seeded.edit.at)
    assert seeded.kind.difficulty == 1 + seed % 3


def test_a_fault_paper_carries_no_mark_and_its_key_does_at_the_same_place():
    one = exercise(1, "fault-1")
    sheet, key = one.sheets["fault-1"], one.sheets["fault-1-KEY"]
    assert sheet.drawing.marks == () and sheet.drawing.flagged_parts == ()
    assert not any(pipe.flagged for pipe in sheet.drawing.pipes)
    assert not any(block.name == "findings" for block in sheet.blocks)
    assert len(key.drawing.marks) == 1
    assert (sheet.onto, sheet.page) == (key.onto, key.page)
    plain, marked = (lines_of(parsed(1, name)) for name in ("fault-1", "fault-1-KEY"))
    assert plain == marked


def test_a_fault_paper_gives_nothing_away_and_its_key_says_all():
    one = exercise(1, "fault-1")
    what, where, proof, cure = one.items
    for item in (what, cure):
        assert item.expected not in texts(one.paper)
        assert item.expected in texts(one.key)
    assert "Do not build" in texts(one.paper)
    assert "Difficulty" in texts(one.key) and "Difficulty" not in texts(one.paper)
    assert "seed 1" in texts(one.paper)


def test_the_same_seed_gives_the_same_bytes_and_another_seed_another_paper():
    one, again, other = (lesson(EXAMPLES[4], seed, 1, 2) for seed in (5, 5, 6))
    assert {n: svg_text(s) for n, s in one.sheets.items()} == {n: svg_text(s) for n, s in again.sheets.items()}
    assert one.score == again.score
    differ = [n for n, s in one.sheets.items() if n in other.sheets and s.drawing != other.sheets[n].drawing]
    assert {"worksheet-1-names", "fault-1"} <= set(differ)
    assert not any(n.startswith("build-up") for n in differ)


def test_papers_of_one_class_hold_different_mistakes():
    papers = [e for e in made(1, 2, 4).exercises if e.slug.startswith("fault")]
    assert len({e.items[0].expected for e in papers}) == 4


def test_symptoms_tell_what_no_longer_moves():
    from schemagen.faults.all_faults import all_faults
    from schemagen.faults.fault_kind import with_fault
    from schemagen.lessons.symptoms import symptoms

    facts = read(EXAMPLES[2])._facts
    kind = next(k for k in all_faults() if k.slug == "pump-turned")
    edit = next(e for e in kind.places(facts) if "P2" in e.told)
    assert symptoms(facts.operation, facts.operation) == ()
    assert any("P2 runs, but moves no water" in s for s in symptoms(facts.operation, with_fault(facts, edit).operation))


def test_a_list_with_findings_of_its_own_gives_no_fault_papers_but_the_rest():
    with pytest.raises(CannotDraw, match="--papers 0"):
        lesson(FOLDER / "10_boiler_with_mistakes.yaml", papers=1)
    assert lesson(FOLDER / "10_boiler_with_mistakes.yaml", papers=0).papers


# the whole


def test_the_score_sheet_has_one_mark_for_every_item():
    rows = list(csv.reader(io.StringIO(made(1).score)))
    items = [(e.paper.name, i.name) for e in made(1).exercises for i in e.items]
    assert [(row[0], row[1]) for row in rows[1:]] == items
    assert {row[5] for row in rows[1:]} == {"1"}


def test_every_paper_is_a_pdf_and_every_sheet_an_svg():
    files = lesson_files(made(5, papers=0))
    assert all(files[f"{p.name}.pdf"].startswith(b"%PDF") for p in made(5, papers=0).papers)
    assert {n for n in files if n.startswith("sheets/")} == {f"sheets/{n}.svg" for n in made(5, papers=0).sheets}
    for name, data in files.items():
        if name.endswith(".svg"):
            etree.fromstring(data)


def test_slides_have_the_shape_of_a_screen_and_their_words_are_large():
    for slide in made(1).slides.values():
        assert slide.width / slide.height == pytest.approx(16 / 9)
        assert all(s.cap >= 5 for b in slide.blocks for s in b.shapes)


HOSTILE = '=1+1<script>alert("x")</script>&\u202e' + "W" * 300


def test_hostile_labels_and_titles_stay_text_everywhere():
    listed = read(EXAMPLES[0]).list
    parts = tuple(
        replace(p, entries=tuple(e for e in p.entries if e.key != "label") + (Entry("label", HOSTILE, p.place),))
        for p in listed.parts[:3]
    )
    job = job_of(replace(listed, parts=(*parts, *listed.parts[3:])))
    hostile = lesson(job, papers=1, title=HOSTILE)
    for sheet in (*hostile.sheets.values(), *hostile.slides.values()):
        root = etree.fromstring(svg_text(sheet).encode())
        assert not list(root.iter(f"{SVG}script"))
    for row in csv.reader(io.StringIO(hostile.score)):
        assert not any(cell.startswith(("=", "+", "-", "@")) for cell in row)
    assert all(isinstance(p, Paragraph) is False or p.text for e in hostile.exercises for p in e.paper.pieces)


def test_a_seeded_order_depends_on_seed_and_names_only():
    words = [f"w{n}" for n in range(50)]
    assert shuffled(words, str, 1) == shuffled(reversed(words), str, 1)
    assert shuffled(words, str, 1) != shuffled(words, str, 2)
    assert sorted(shuffled(words, str, 1)) == sorted(words)


def test_the_folder_appears_whole_and_an_existing_one_is_refused(tmp_path, monkeypatch, capsys):
    from schemagen.cli import main

    call = ["schemagen", "lesson", str(EXAMPLES[4]), "-o", str(tmp_path / "out"), "--papers", "1"]
    monkeypatch.setattr("sys.argv", call)
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 0
    shown = capsys.readouterr().out.split("\n")
    files = sorted(str(p) for p in (tmp_path / "out").rglob("*") if p.is_file())
    assert sorted(filter(None, shown)) == files
    assert [p.name for p in tmp_path.iterdir()] == ["out"]
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 2
    assert "exists" in capsys.readouterr().err
    assert sorted(str(p) for p in (tmp_path / "out").rglob("*") if p.is_file()) == files
