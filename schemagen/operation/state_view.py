"""What a drawing shows of one state: where the moving parts stand, and which way water moves in each pipe."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from schemagen.operation.account import account_of, stands
from schemagen.operation.operate import Operation
from schemagen.operation.states import State


@dataclass(frozen=True)
class StateView:
    """One state as it is drawn.

    positions   by tag, as they are seen (operation.account.stands)
    directions  by pipe index: +1 as listed, -1 the other way, 0 still
    figures     by pipe index: temperature and flow in words, where they are known
    title       the state's name with a capital letter
    account     its account in plain words, sentence by sentence
    """

    title: str
    account: tuple[str, ...]
    positions: Mapping[str, str]
    directions: tuple[int, ...]
    figures: Mapping[int, tuple[str, ...]] = field(default_factory=dict)

    def of_pipes(self, index: Sequence[int]) -> "StateView":
        """The view of some of the pipes, in that order."""
        figures = {n: self.figures[i] for n, i in enumerate(index) if i in self.figures}
        return replace(self, directions=tuple(self.directions[i] for i in index), figures=figures)


def view_of(operation: Operation, state: State) -> StateView:
    """The view of a state of this operation."""
    flow, account = operation.flow(state), account_of(operation, state)
    directions = tuple(flow.direction(pipe) for pipe in operation.network.pipes)
    return StateView(account.title, account.sentences, stands(operation, state), directions)
