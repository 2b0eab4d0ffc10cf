"""Every example, from its list to its finished SVG: nothing that must never be seen, and arrows where water moves."""

from pathlib import Path

import never
import pytest

from schemagen import read
from schemagen.output.as_svg import svg_text

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("[0-9]*"))


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda p: p.stem)
def finished(request):
    job = read(request.param)
    sheets = job.sheets()
    return job, [svg_text(sheet) for sheet in sheets]


def test_nothing_is_drawn_that_must_never_be_seen(finished):
    _, texts = finished
    assert [fault for svg in texts for fault in never.faults(svg)] == []


def test_every_part_and_pipe_of_the_list_is_drawn_once(finished):
    job, texts = finished
    pictures = [never.Picture(svg) for svg in texts]
    assert sorted(tag for p in pictures for tag in p.parts) == sorted(job.network.parts)
    assert sorted(pipe.name for p in pictures for pipe in p.pipes) == sorted(pipe.name for pipe in job.network.pipes)


def test_every_pipe_in_which_water_moves_has_an_arrow_and_no_other_has_one(finished):
    job, texts = finished
    arrows = {name for svg in texts for name, _ in never.Picture(svg).arrows}
    moving = {p.name for p, moves in zip(job.network.pipes, job.waters.carries, strict=True) if moves}
    assert arrows == moving


@pytest.mark.parametrize(("example", "columns"), [("10", 1), ("09", 2), ("02", 1)])
def test_columns_on_a3_are_narrow_only_where_a_drawing_would_not_fit_else(example, columns):
    """The first fits with wide columns; the others fit A3 with narrow ones alone."""
    sheet = read(next(path for path in EXAMPLES if path.name.startswith(example))).sheets()[0]
    assert sheet.page == "A3"
    assert svg_text(sheet).count("(continued)") == columns - 1
