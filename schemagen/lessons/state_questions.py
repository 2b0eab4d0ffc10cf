"""Questions on operating states: which way valves stand, what runs, where the water is still. Answers are solved."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from schemagen.lessons.exercise import Course, Exercise, Item
from schemagen.lessons.pages import printable
from schemagen.lessons.words import EXERCISE, FOR_TRAINERS, answer_table, colophon, marks, pupil
from schemagen.network.network import Part
from schemagen.operation.account import account_of, stands
from schemagen.operation.operate import Operation
from schemagen.operation.states import State, has_own_pump
from schemagen.papers.paper import Grid, Heading, Paper, Paragraph, Piece
from schemagen.sheets.publish import STATE_NOTES, Leaf
from schemagen.sheets.sheet import Sheet

MOST = {1: 3, 2: 5, 3: 8}
"""Most states that are asked about, by difficulty."""

SORTS = ("named", "call", "all-calls", "no-calls", "power-off", "defrost", "all-shut")
"""Sorts of states that are asked about, in the order in which they are taken."""

TURNED = ("diverter-valve", "mid-position-valve", "zone-valve")

ONE_BY_ONE = 4
"""Of more motor valves than this it is asked at once which are open."""

TASKS = {
    1: "Each sheet shows one state. Read the answers off it.",
    2: "The drawing shows no state. Work out what happens in each, and answer with tags.",
    3: "The drawing shows no state. Work out what happens in each, and answer with tags.",
}


def chosen_states(operation: Operation, difficulty: int) -> tuple[State, ...]:
    """The states that are asked about."""
    asked = sorted((s for s in operation.states if s.sort in SORTS), key=lambda s: SORTS.index(s.sort))
    return tuple(asked[: MOST[difficulty]])


def questions(operation: Operation, state: State, number: int) -> tuple[Item, ...]:
    """What is asked of one state, with the answers that follow from where its water moves."""
    asked = enumerate(_asked(operation, state))
    return tuple(Item(f"{number}{chr(ord('a') + n)}", *question) for n, question in asked)


def _asked(operation: Operation, state: State) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    parts, flow, seen = operation.network.parts, operation.flow(state), stands(operation, state)
    turned = [tag for tag, part in parts.items() if part.kind.name in TURNED and tag in seen]
    pumps = [tag for tag, part in parts.items() if part.kind.driver == "pump" or has_own_pump(part)]
    sources = [tag for tag, part in parts.items() if part.kind.giver]
    takers = [tag for tag, part in parts.items() if part.kind.takes]
    if len(turned) > ONE_BY_ONE:
        yield "Which motor valves are open?", *_row([tag for tag in turned if seen[tag] != "shut"], turned)
    else:
        for tag in turned:
            yield f"Which way does {tag} stand?", _stand(parts[tag], seen[tag]), _also(seen[tag])
    if pumps:
        running = [tag for tag in pumps if tag in state.pumps_on]
        yield "Which pumps run? Count those inside sources too.", *_row(running, pumps)
    if sources:
        yield "Which sources give heat?", *_row([tag for tag in sources if tag in state.sources_on], sources)
    if takers:
        still = [tag for tag in takers if not flow.part_moves(tag, parts[tag].kind.takes)]
        yield "In which emitters and coils is the water still?", *_row(still, takers)


def _stand(part: Part, word: str) -> str:
    """The position, and what it serves, if the list says so."""
    serves = part.value("serves", {})
    said = str(serves.get(word, "")).replace("-", " ") if isinstance(serves, dict) else ""
    plain = word.replace("-", " ")
    return f"{plain} ({said})" if said and said != plain else plain


def _also(word: str) -> tuple[str, ...]:
    return {"shut": ("closed",), "both": ("in the middle",)}.get(word, ())


def _row(tags: Sequence[str], every: Sequence[str]) -> tuple[str, tuple[str, ...]]:
    """The tags in a row, or "none"; and "all", where it is all of several."""
    row = ", ".join(tags) or "none"
    return row, ("all",) if len(tags) == len(every) > 1 else ()


def state_exercise(course: Course) -> Exercise | None:
    """The question paper with its drawing, and the key with a sheet for each state; None if nothing can be asked.

    At difficulty 1 the pupils are given the sheets of the states, too.
    """
    operation, easy = course.facts.operation, course.difficulty == 1
    states = chosen_states(operation, course.difficulty)
    asked = [questions(operation, state, n) for n, state in enumerate(states, 1)]
    items = tuple(item for of_state in asked for item in of_state)
    if not items:
        return None
    plain, shown = _sheets(course, states)
    pieces: list[Piece] = [pupil(), Paragraph(TASKS[course.difficulty])]
    key: list[Piece] = [Paragraph(FOR_TRAINERS), Paragraph(marks(items))]
    for n, (state, of_state) in enumerate(zip(states, asked, strict=True), 1):
        account = account_of(operation, state)
        heading = Heading(f"State {n}: {account.title}", 2)
        blanks = tuple((item.name, item.asked, "") for item in of_state)
        pieces += [heading, Paragraph(account.calls), Grid(("No.", "Question", "Answer"), blanks, (1, 5, 5), tall=True)]
        key += [heading, *map(Paragraph, account.sentences), answer_table(of_state)]
    own, name = course.number("S"), "state-{}" if easy else "state-{}-KEY"
    return Exercise(
        slug="states",
        paper=Paper(
            "states", own, "Questions on operating states", (*pieces, colophon(course)),
            shown if easy else (plain,), head=course.head("Question paper", course.title),
        ),
        key=Paper(
            "states-KEY", f"{own}-KEY", "KEY: Questions on operating states", (*key, colophon(course, True)),
            shown, head=course.head("Question paper KEY", course.title),
        ),
        items=items,
        sheets=({} if easy else {"states": plain}) | {name.format(n): sheet for n, sheet in enumerate(shown, 1)},
    )  # fmt: skip


def _sheets(course: Course, states: Sequence[State]) -> tuple[Sheet, tuple[Sheet, ...]]:
    """The plain sheet, and one for each state, all at the same place; on a key the account stands beside it."""
    key = "" if course.difficulty == 1 else " KEY"
    drawn = [course.in_state(state) for state in states]
    box = course.drawing.box
    for drawing in drawn:
        box = box.joined(drawing.box)
    origin = f"{EXERCISE} {course.origin}"
    plain = Leaf(
        replace(course.drawing, box=box), course.head("Question sheet"), (origin,),
        sections=course.drawing, large=True, number="1 of 1",
    )  # fmt: skip
    of_states = [
        Leaf(
            replace(drawing, box=box), course.head(f"State sheet{key}", drawing.state),
            (*((drawing.account,) if key else ()), origin, STATE_NOTES),
            sections=course.drawing, number=f"{n} of {len(drawn)}",
        )
        for n, drawing in enumerate(drawn, 1)
    ]  # fmt: skip
    first, *others = printable((plain, *of_states), course.facts.network)
    return replace(first, title=f"{course.title}: questions on operating states"), tuple(others)
