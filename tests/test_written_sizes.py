"""No size of a pipe is dropped in silence: it stands beside its pipe, is led off to free room, or is in the notes."""

from dataclasses import replace
from pathlib import Path

import never
import pytest
from systems import job

from schemagen import read
from schemagen.base.geometry import Point
from schemagen.drawing.codes import code_letters
from schemagen.drawing.drawing import PipeItem
from schemagen.drawing.free_space import Area, Taken
from schemagen.drawing.style import shipped_style
from schemagen.output.as_svg import svg_text
from schemagen.pipeline import job_of
from schemagen.sheets.publish import publish

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("[0-9]*"))
STYLE = shipped_style()


def sizes_by_run(network, waters) -> list[tuple[set[str], str]]:
    """Names of the pipes of one section and size that hang together through parts, and their size."""
    pipes = [p for p in network.pipes if p.size_text]
    section = {p.index: waters.section[p.index] for p in network.pipes}
    at: dict[tuple[str, str], list[int]] = {}
    for pipe in network.pipes:
        for end in (pipe.start, pipe.end):
            at.setdefault((section[pipe.index], end.tag), []).append(pipe.index)
    runs = {p.index: {p.index} for p in network.pipes}
    for members in at.values():
        whole = set().union(*(runs[i] for i in members))
        for i in whole:
            runs[i] = whole
    out = {}
    for pipe in pipes:
        key = (min(runs[pipe.index]), pipe.size_text)
        out.setdefault(key, set()).add(pipe.name)
    return [(names, size) for (_, size), names in out.items()]


def check_all_written(made) -> None:
    drawing = made.drawing
    said = {(t.subject, t.text) for label in drawing.labels if label.role == "code" for t in label.texts}
    for names, size in sizes_by_run(made.network, made.waters):
        noted = any(f"{size} from {name.replace('→', ' to ')}" in drawing.unwritten for name in names)
        assert noted or any((name, size) in said for name in names), (size, sorted(names))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_size_in_an_example_is_written_or_named_in_the_notes(path):
    check_all_written(read(path))


@pytest.mark.parametrize("seed", range(3))
def test_every_size_in_a_seeded_system_is_written_or_named_in_the_notes(seed):
    made = job_of(job(seed, 50))
    check_all_written(made)
    for sheet in made.sheets("fit"):
        assert never.faults(svg_text(sheet)) == []


def pipe(name: str, *points: tuple[int, int], size: str = "22 mm") -> PipeItem:
    section = STYLE.sections["cold"]
    start, end = name.split("→")
    at = tuple(Point(*p) for p in points)
    return PipeItem(start, end, "cold", "cold", size, at, (), section.pen, False, "", "")


def test_a_size_with_room_stands_beside_its_pipe_without_a_leader():
    (label,), unwritten = code_letters((pipe("A.a→B.b", (0, 0), (200, 0)),), STYLE, Taken(), Taken())
    assert [t.text for t in label.texts] == ["CW", "22 mm"] and label.leader == () and unwritten == ()


def test_a_size_without_room_beside_its_pipe_is_led_off_and_its_leader_ends_on_the_pipe():
    short = pipe("A.a→B.b", (0, 0), (10, 0))
    (label,), unwritten = code_letters((short,), STYLE, Taken(), Taken())
    assert [t.text for t in label.texts] == ["22 mm"] and unwritten == ()
    assert label.leader[-1] == (5, 0)


def test_a_leader_crosses_no_symbol_and_no_other_run():
    short = pipe("A.a→B.b", (0, 0), (10, 0))
    above, below = Area(-150, -14, 160, -10), Area(-150, 10, 160, 14)
    sides = Area(-30, -200, -26, 200), Area(36, -200, 40, 200)
    labels, _ = code_letters((short,), STYLE, Taken([above, *sides]), Taken([above, *sides]))
    (led,) = (label for label in labels if label.leader)
    assert led.leader[0].y > 0 and led.leader[-1] == (5, 0)
    walls = [above, below, *sides]
    assert code_letters((short,), STYLE, Taken(walls), Taken(walls)) == ((), ("22 mm from A.a to B.b",))
    other = pipe("C.a→D.b", (-150, 12), (160, 12), size="")
    labels, unwritten = code_letters((short, other), STYLE, Taken([above, *sides]), Taken([above, *sides]))
    assert {label.subject for label in labels} <= {other.name} and unwritten == ("22 mm from A.a to B.b",)


def test_what_is_not_written_is_named_in_the_notes_of_the_sheet():
    made = read(EXAMPLES[0])
    drawing = replace(made.drawing, unwritten=("22 mm from AF1.overflow to SO2.in",))
    (sheet,) = publish(drawing, made.network, made.report)
    notes = next(block for block in sheet.blocks if block.name == "notes")
    assert "22 mm from AF1.overflow to SO2.in" in " ".join(shape.text for shape in notes.shapes)
