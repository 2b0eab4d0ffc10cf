"""Pipes that somebody forgot, or tied to another opening of the right part."""

from collections.abc import Iterator

from schemagen.checks.facts import Facts
from schemagen.faults.change import without_pipe
from schemagen.faults.fault_kind import Edit, FaultKind


def _left_out(facts: Facts) -> Iterator[Edit]:
    for pipe in facts.network.pipes:
        at = (pipe.start.tag, pipe.end.tag)
        yield Edit(at, f"The pipe {pipe.name} is left out.", without_pipe(facts.network, pipe))


FAULTS = (FaultKind("pipe-left-out", "a pipe left out", "topology", 1, _left_out),)
