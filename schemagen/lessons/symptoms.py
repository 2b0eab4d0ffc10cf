"""What people notice of a mistake: what moves in a state of the right system or of the mistaken one, not of both."""

from collections.abc import Iterator

from schemagen.network.network import Part
from schemagen.operation.moves import Flow, Inside
from schemagen.operation.operate import Operation
from schemagen.operation.states import State, is_tap

MOST = 3
"""Most symptoms that are told."""

SORTS = ("named", "call", "all-calls", "no-calls", "tap-open", "power-off")
"""States in which a householder would notice something, in the order in which they are compared."""


def symptoms(right: Operation, wrong: Operation) -> tuple[str, ...]:
    """Sentences on what differs, state by state; none if nothing that can be noticed differs.

    Only movements that do not depend on guessed resistances count. States are matched by name and sort.
    """
    others = {(state.name, state.sort): state for state in wrong.states}
    told: dict[str, None] = {}
    for state in sorted((s for s in right.states if s.sort in SORTS), key=lambda s: SORTS.index(s.sort)):
        if other := others.get((state.name, state.sort)):
            told |= dict.fromkeys(_of_state(right, wrong, state, other))
    return tuple(told)[:MOST]


def _of_state(right: Operation, wrong: Operation, state: State, other: State) -> Iterator[str]:
    before, after = right.flow(state), wrong.flow(other)
    when = f"{state.name[:1].upper()}{state.name[1:]}"
    for tag, part in right.network.parts.items():
        now = wrong.network.parts.get(tag)
        if now is not None and now.kind.name == part.kind.name:
            was, is_ = _moves(before, part), _moves(after, now)
            if was is not None and is_ is not None and was != is_:
                yield from (f"{when}: {text}" for text in _noticed(part, state, other, is_))


def _moves(flow: Flow, part: Part) -> bool | None:
    """Whether water moves in what matters of the part; None if that cannot be told for sure."""
    names = part.kind.takes or None
    ways = [Inside(part.tag, p.a, p.b) for p in part.kind.passages if names is None or {p.a, p.b} <= set(names)]
    return None if any(map(flow.uncertain, ways)) else flow.part_moves(part.tag, names)


def _noticed(part: Part, state: State, other: State, moves: bool) -> Iterator[str]:
    called = f"{part.tag} ({part.kind.title})"
    if is_tap(part):
        if not moves and part.tag in state.outlets_open and part.tag in other.outlets_open:
            yield f"no water comes at {called}."
    elif part.kind.takes:
        yield f"water moves in {called}, which should rest." if moves else f"{called} gets no warm water."
    elif part.kind.driver == "pump" and part.tag in state.pumps_on and part.tag in other.pumps_on and not moves:
        yield f"{part.tag} runs, but moves no water."
