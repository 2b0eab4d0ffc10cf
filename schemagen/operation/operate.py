"""operate(network) -> Operation: the states of a system, and where its water moves in each of them."""

from collections.abc import Iterator
from functools import cached_property

from schemagen.network.network import Network
from schemagen.operation.circuit import Circuit
from schemagen.operation.moves import Flow, Solver
from schemagen.operation.source_states import states_of_sources
from schemagen.operation.standing import Standing
from schemagen.operation.states import State
from schemagen.operation.told_states import ToldStates


class Operation:
    """The states of one network. Flows are worked out when they are first asked for, once for each state."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self._flows: dict[str, tuple[State, Flow]] = {}

    @cached_property
    def states(self) -> tuple[State, ...]:
        """The user's own states first, then calls, no calls, defrost, all shut, power off, filling and taps."""
        return tuple(ToldStates(self._standing).all())

    @cached_property
    def source_states(self) -> tuple[State, ...]:
        """Everything calls but only some heat sources run; empty with fewer than two sources on one water."""
        return tuple(states_of_sources(self._standing))

    @cached_property
    def _standing(self) -> Standing:
        return Standing(self.network)

    @cached_property
    def merged(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """For states that stand for others: the name of the one told, and the names of those that are like it."""
        return tuple((state.name, state.alike) for state in self.states if state.alike)

    def state(self, name: str) -> State:
        """The state of that name, in any letter case. KeyError if there is none."""
        found = next((s for s in self.states if s.name.casefold() == name.strip().casefold()), None)
        if found is None:
            raise KeyError(name)
        return found

    def of_sort(self, *sorts: str) -> Iterator[State]:
        """The states of these sorts ("named", "call", "all-calls", "no-calls", "all-shut", "power-off", …)."""
        return (state for state in self.states if state.sort in sorts)

    def flow(self, state: State) -> Flow:
        """Where the water moves in a state, one of these or one made from them with `replace`."""
        known = self._flows.get(state.name)
        if known is None or known[0] != state:
            known = self._flows[state.name] = state, self._solver(state).flow(state)
        return known[1]

    def circuit(self, state: State) -> Circuit:
        """The points and links on which the flow of a state is worked out."""
        return self._solver(state).circuit

    def _solver(self, state: State) -> Solver:
        return self._when_filling if state.sort == "filling" else self._in_use

    @cached_property
    def _in_use(self) -> Solver:
        return Solver(self.network)

    @cached_property
    def _when_filling(self) -> Solver:
        return Solver(self.network, filling=True)


def operate(network: Network) -> Operation:
    """The operation of any network, faulty ones included."""
    return Operation(network)
