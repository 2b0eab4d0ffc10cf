"""A whole lesson: build-up sheets and slides, worksheets, questions on states, fault-finding papers, a score sheet."""

from dataclasses import dataclass

from schemagen.lessons.buildup import buildup
from schemagen.lessons.exercise import Course, Exercise
from schemagen.lessons.fault_papers import fault_exercises
from schemagen.lessons.score import score_sheet
from schemagen.lessons.slides import slides
from schemagen.lessons.state_questions import state_exercise
from schemagen.lessons.worksheet import worksheets
from schemagen.papers.paper import Paper
from schemagen.sheets.sheet import CannotDraw, Sheet


@dataclass(frozen=True)
class Lesson:
    """All of it: `papers` for the class and keys for the trainer, `sheets` and `slides` by name, `score` as CSV."""

    title: str
    papers: tuple[Paper, ...]
    exercises: tuple[Exercise, ...]
    sheets: dict[str, Sheet]
    slides: dict[str, Sheet]
    score: str


def make_lesson(course: Course, papers: int) -> Lesson:
    """The lesson of a course with that many fault-finding papers.

    Raises CannotDraw if the list has no parts, if it has open findings of its own and papers are wanted, or if too few
    mistakes can be made.
    """
    if not course.drawing.parts:
        raise CannotDraw("a lesson needs a list with parts, and this one has none; add them below `parts:`")
    steps, sheets, stages = buildup(course)
    asked = state_exercise(course)
    exercises = (*worksheets(course), *([asked] if asked else []), *fault_exercises(course, papers))
    for exercise in exercises:
        sheets = sheets | exercise.sheets
    set_ = tuple(paper for exercise in exercises for paper in (exercise.paper, exercise.key))
    shown = {f"slide-{n}": slide for n, slide in enumerate(slides(course.title, stages), 1)}
    return Lesson(course.title, (steps, *set_), exercises, sheets, shown, score_sheet(exercises))
