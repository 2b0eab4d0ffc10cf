"""Worksheets: the drawing with something blanked out, what is to be filled in, and the key; both lie on each other."""

from collections.abc import Callable
from dataclasses import replace

from schemagen.lessons.blank_arrows import blank_arrows
from schemagen.lessons.blank_codes import blank_codes
from schemagen.lessons.blank_names import blank_names
from schemagen.lessons.blank_pipes import blank_pipes
from schemagen.lessons.blank_positions import blank_positions
from schemagen.lessons.blanked import Blanked
from schemagen.lessons.chance import shuffled
from schemagen.lessons.exercise import Course, Exercise
from schemagen.lessons.pages import printable
from schemagen.lessons.words import EXERCISE, FOR_TRAINERS, answer_table, colophon, marks, pupil, word_bank
from schemagen.papers.paper import Grid, Heading, Paper, Paragraph
from schemagen.sheets.publish import Leaf
from schemagen.sheets.sheet import Sheet

VARIANTS: tuple[Callable[[Course], Blanked | None], ...] = (
    blank_names, blank_arrows, blank_positions, blank_codes, blank_pipes,
)  # fmt: skip


def worksheets(course: Course) -> tuple[Exercise, ...]:
    """Every worksheet that the drawing has something to blank out for."""
    found = (variant(course) for variant in VARIANTS)
    return tuple(_exercise(course, number, blanked) for number, blanked in enumerate(filter(None, found), 1))


def _exercise(course: Course, number: int, blanked: Blanked) -> Exercise:
    slug, own = f"worksheet-{number}-{blanked.slug}", course.number(f"W{number}")
    sheet, key_sheet = _sheets(course, blanked)
    items = blanked.items
    task = tuple(Paragraph(text) for text in blanked.task)
    bank = word_bank(shuffled(blanked.bank, str, course.mark, course.seed, blanked.slug)) if blanked.bank else ()
    return Exercise(
        slug=slug,
        paper=Paper(
            slug, own, blanked.title,
            (pupil(), *task, *bank, Heading("Answers", 2), _blanks(blanked), colophon(course)),
            (sheet,), head=course.head("Worksheet", course.title),
        ),
        key=Paper(
            f"{slug}-KEY", f"{own}-KEY", f"KEY: {blanked.title}",
            (Paragraph(FOR_TRAINERS), Paragraph(marks(items)), answer_table(items), colophon(course, True)),
            (key_sheet,), head=course.head("Worksheet KEY", course.title),
        ),
        items=items,
        sheets={slug: sheet, f"{slug}-KEY": key_sheet},
    )  # fmt: skip


def _sheets(course: Course, blanked: Blanked) -> tuple[Sheet, Sheet]:
    """The worksheet and its key, everything at the same place on both."""
    leaf = Leaf(
        blanked.blank, course.head("Worksheet", blanked.title), (*blanked.task, f"{EXERCISE} {course.origin}"),
        sections=course.drawing if blanked.sections else None, large=True, number="1 of 1",
    )  # fmt: skip
    key_leaf = replace(
        leaf, drawing=blanked.solved, head=course.head("Worksheet KEY", blanked.title),
        notes=(FOR_TRAINERS, leaf.notes[-1]),
    )  # fmt: skip
    sheet, key_sheet = printable((leaf, key_leaf), course.facts.network)
    title = f"{course.title}: {blanked.title}"
    return (
        replace(sheet, title=title, desc=" ".join(blanked.task)),
        replace(key_sheet, title=f"KEY, {title}", desc=" ".join(blanked.task)),
    )


def _blanks(blanked: Blanked) -> Grid:
    """The answer table with its ruled lines."""
    name, asked, answer = blanked.columns
    if not asked:
        return Grid((name, answer), tuple((item.name, "") for item in blanked.items), (1, 8), tall=True)
    return Grid(blanked.columns, tuple((i.name, i.asked, "") for i in blanked.items), (1, 3, 5), tall=True)
