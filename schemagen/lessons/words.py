"""Words that all papers of a lesson share."""

from collections.abc import Iterable, Sequence

from schemagen.drawing.words import counted
from schemagen.lessons.exercise import Course, Item
from schemagen.network.network import Part
from schemagen.papers.paper import Fields, Grid, Heading, Paragraph, Piece

EXERCISE = "For teaching. Diagram, not to scale. Do not build from this sheet."

FOR_TRAINERS = "KEY: not for the class."


def pupil() -> Fields:
    """Where the pupil signs; always blank."""
    return Fields((("Name", ""), ("Date", ""), ("Group", ""), ("Marks", "")))


def colophon(course: Course, key: bool = False) -> Paragraph:
    """By what the paper can be made again; on a key also how hard it is."""
    text = f"{course.origin} Difficulty {course.difficulty} of 3." if key else course.origin
    return Paragraph(text, "remark")


def name_of(part: Part) -> str:
    """For example "PR1 (pressure reducing valve)"."""
    return f"{part.tag} ({part.kind.title})"


def word_bank(words: Iterable[str]) -> tuple[Piece, ...]:
    """Words to choose from, in one row."""
    return Heading("Words to choose from", 2), Paragraph(" · ".join(words))


def marks(items: Sequence[Item]) -> str:
    return f"{counted(len(items), 'mark')}, one for each answer."


def answer_table(items: Iterable[Item]) -> Grid:
    """What is asked, the answer, and other answers that count."""
    rows = tuple((i.name, i.asked, i.expected, "; ".join(i.accepted) or "–") for i in items)
    return Grid(("No.", "Asked", "Answer", "Also right"), rows, (1, 3, 5, 4))


def sentence(text: str) -> str:
    """With a capital first letter, unless a word with a figure (a tag, a size) begins it, and a full stop."""
    first = text.partition(" ")[0]
    begun = text if any(c.isdigit() for c in first) or "." in first else text[:1].upper() + text[1:]
    return begun if begun.endswith((".", "!", "?", "…")) else f"{begun}."
