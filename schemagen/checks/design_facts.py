"""The design of a list as checks ask for it: what flows and how warm it is, where the list says enough."""

from collections.abc import Iterator

from schemagen.checks.facts import Facts
from schemagen.sizing.design import Design
from schemagen.sizing.in_state import InState
from schemagen.sizing.plant import Plant

_FULLEST = ("named", "all-calls", "call")


def design_of(facts: Facts) -> Design:
    """The design of the network, made once for all checks."""
    return facts.once(_design)


def _design(facts: Facts) -> Design:
    return Design(Plant(facts.network, facts.waters, facts.operation))


def heating_states(facts: Facts) -> Iterator[InState]:
    """What is wanted in each state in which something calls."""
    design = design_of(facts)
    return (design.of(state) for state in facts.operation.of_sort(*_FULLEST))


def fullest_states(facts: Facts) -> Iterator[InState]:
    """The state in which all call; without one, those of single calls."""
    design = design_of(facts)
    states = list(facts.operation.of_sort("all-calls")) or list(facts.operation.of_sort("call"))
    return (design.of(state) for state in states)
