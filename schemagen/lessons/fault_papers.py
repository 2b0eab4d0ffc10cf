"""Fault-finding papers: one seeded mistake drawn as if it were right, and the answer from the checks."""

from collections.abc import Iterator
from dataclasses import replace

from schemagen.checks.check import check
from schemagen.checks.folding import tags_of
from schemagen.checks.pages import all_checks
from schemagen.lessons.exercise import Course, Exercise, Item
from schemagen.lessons.pages import printable
from schemagen.lessons.seeded_faults import Seeded, open_findings, seeded_fault
from schemagen.lessons.symptoms import symptoms
from schemagen.lessons.words import EXERCISE, FOR_TRAINERS, answer_table, colophon, marks, pupil, sentence
from schemagen.network.network import Network
from schemagen.papers.paper import Grid, Heading, Lines, Paper, Paragraph, Piece, Points
from schemagen.sheets.cautions import CLOSING
from schemagen.sheets.publish import NOTES, Leaf
from schemagen.sheets.sheet import CannotDraw, Sheet

WARNING = "This drawing holds one mistake on purpose. Do not build from it."

UNSEEN = "No symptom is given. Find the mistake on the drawing, or in the data."
"""Said where no state moves otherwise than it should."""

QUESTIONS = (
    "1. What is wrong?",
    "2. Where is it? Name tags or a pipe.",
    "3. How would you prove it on site, safely?",
    "4. What is the cure?",
)

PROOFS = {
    "topology": "Follow the pipes by hand from part to part at {place}, and compare them with the drawing.",
    "safety": "Look at {place}, without opening anything, and compare what is fitted with the makers' instructions.",
    "control": "Call for heat in each zone in turn, and watch what turns and runs at {place}.",
}
"""How a mistake is proved on site, by its category. Common practice, no source."""

NOT_DATA = ("label", "place", "note")
"""What the list says of a part that stands on the drawing already, or that is a remark."""


def fault_exercises(course: Course, papers: int) -> tuple[Exercise, ...]:
    """Papers that differ, each with its key. Raises CannotDraw if the list has open findings, or too few mistakes."""
    own = open_findings(check(course.facts)) if papers else ()
    if own:
        raise CannotDraw(
            f"a fault-finding paper needs a list without open findings, and this one has {len(own)}; "
            "mend or accept them (schemagen check LIST), or ask for --papers 0"
        )
    found: list[Seeded] = []
    for number in range(1, papers + 1):
        taken = [(seeded.kind.slug, seeded.edit.told) for seeded in found]
        seeded = seeded_fault(course.facts, course.seed, number, course.difficulty, taken)
        if seeded is None:
            raise CannotDraw(f"only {len(found)} different mistakes can be made in this list; ask for fewer --papers")
        found.append(seeded)
    return tuple(_exercise(course, number, seeded) for number, seeded in enumerate(found, 1))


def _exercise(course: Course, number: int, seeded: Seeded) -> Exercise:
    slug, own, title = f"fault-{number}", course.number(f"F{number}"), f"Fault-finding paper {number}"
    sheet, key_sheet = _sheets(course, number, seeded)
    items = items_of(seeded)
    return Exercise(
        slug=slug,
        paper=Paper(
            slug, own, title, tuple(_questions(course, seeded)), (sheet,),
            head=course.head("Fault-finding paper", course.title),
        ),
        key=Paper(
            f"{slug}-KEY", f"{own}-KEY", f"KEY: {title}", tuple(_answers(course, seeded, items)), (key_sheet,),
            head=course.head("Fault-finding paper KEY", course.title),
        ),
        items=items,
        sheets={slug: sheet, f"{slug}-KEY": key_sheet},
    )  # fmt: skip


def _sheets(course: Course, number: int, seeded: Seeded) -> tuple[Sheet, Sheet]:
    """The mistaken drawing without a mark, and with the mark of the finding, everything at the same place."""
    plain, marked = course.drawn(seeded.facts, seeded.report)
    box = plain.box.joined(marked.box)
    leaf = Leaf(
        replace(plain, box=box), course.head("Fault-finding paper", f"Paper {number}"), (WARNING, NOTES, course.origin),
        sections=plain, symbols=plain, large=True, number="1 of 1",
    )  # fmt: skip
    key_leaf = replace(
        leaf, drawing=replace(marked, box=box), head=course.head("Fault-finding paper KEY", f"Paper {number}"),
        notes=(f"{FOR_TRAINERS} {EXERCISE}", course.origin), symbols=None, report=seeded.report,
    )  # fmt: skip
    sheet, key_sheet = printable((leaf, key_leaf), seeded.facts.network)
    title = f"{course.title}: fault-finding paper {number}"
    return (
        replace(sheet, title=title, desc=WARNING),
        replace(key_sheet, title=f"KEY, {title}", desc=sentence(seeded.finding.message)),
    )


def _questions(course: Course, seeded: Seeded) -> Iterator[Piece]:
    yield pupil()
    yield Paragraph(WARNING, "caution")
    yield from _card(course, seeded)
    for question in QUESTIONS:
        yield Heading(question, 2)
        yield Lines(2)
    yield Heading("Data as listed", 2)
    yield data_table(seeded.facts.network)
    yield colophon(course)


def _card(course: Course, seeded: Seeded) -> Iterator[Piece]:
    """The symptoms, as far as they follow from the states."""
    noticed = symptoms(course.facts.operation, seeded.facts.operation)
    yield Heading("What people notice", 2)
    yield Points(noticed) if noticed else Paragraph(UNSEEN)


def _answers(course: Course, seeded: Seeded, items: tuple[Item, ...]) -> Iterator[Piece]:
    finding = seeded.finding
    why = next(one.page.why for one in all_checks() if one.slug == finding.check)
    yield Paragraph(FOR_TRAINERS)
    yield Paragraph(marks(items))
    yield answer_table(items)
    yield Heading("Why", 2)
    yield Paragraph(sentence(why))
    yield Heading("Source", 2)
    yield Paragraph(sentence(finding.source or "common practice, no source"))
    yield Heading("Caution", 2)
    yield from (Paragraph(text, "caution") for text in (finding.caution, CLOSING) if text)
    yield from _card(course, seeded)
    yield Heading("How the paper was made", 2)
    yield Paragraph(
        f"Mistake: {seeded.kind.title}. {seeded.edit.told} Found by the check {finding.check} ({finding.severity}). "
        f"The mistake has difficulty {seeded.kind.difficulty} of 3."
    )
    yield colophon(course, True)


def items_of(seeded: Seeded) -> tuple[Item, ...]:
    """What is wrong, where, how it is proved, and the cure; one mark each."""
    finding, network = seeded.finding, seeded.facts.network
    where = [f"pipe {_end(a, network)} → {_end(b, network)}" for a, b in finding.pipes]
    where += [] if where else [_end(name, network) for name in (*finding.ports, *finding.parts)]
    named = [tag for tag in sorted(tags_of(finding) | set(seeded.edit.at)) if not _is_joint(tag, network)]
    place = ", ".join(named) or "the place of the mark"
    return (
        Item("1", "What", sentence(finding.message), (seeded.edit.told, sentence(seeded.kind.title))),
        Item("2", "Where", ", ".join(dict.fromkeys(where)), (f"any of {place}",)),
        Item("3", "Proof", PROOFS[seeded.kind.category].format(place=place), ("any safe test that shows the same",)),
        Item("4", "Cure", sentence(finding.cure), ("any change that leaves the checks without a finding",)),
    )


def _end(name: str, network: Network) -> str:
    """A part or an opening by name; a joint has no tag on the drawing."""
    tag = name.rpartition(".")[0] or name
    return "a joint" if _is_joint(tag, network) else name


def _is_joint(tag: str, network: Network) -> bool:
    return tag in network.parts and network.parts[tag].kind.name == "tee"


def data_table(network: Network) -> Grid:
    """Every part that has data, as listed; a mistake in a value can only be seen here."""
    rows = []
    for part in network.parts.values():
        data = ", ".join(f"{key}: {text}" for key, text in part.texts.items() if text and key not in NOT_DATA)
        if data:
            rows.append((part.tag, part.kind.title, data))
    return Grid(("Tag", "Part", "Data"), tuple(rows), (2, 4, 8))
