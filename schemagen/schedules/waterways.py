"""Ways through parts that hold or move water, each by what it is to somebody who wants to shut it off."""

from collections.abc import Iterator
from typing import Literal

from schemagen.checks.facts import Facts
from schemagen.network.network import Part, PortId
from schemagen.operation.states import is_tap
from schemagen.schedules.valve_graph import has_valves_built_in

Sort = Literal[
    "house", "place", "cold", "hot", "circuit", "emitter", "store", "outlet", "source", "pump", "filter", "coil"
]

Waterway = tuple[Sort | Literal["header"], str, tuple[PortId, ...]]
"""What a way is, the tag of its part, and its openings that are piped."""


def waterways_of(facts: Facts) -> Iterator[Waterway]:
    """Ways through parts that hold or move water, and what they are."""
    for tag, part in facts.network.parts.items():
        kind = part.kind
        for ports in facts.waterways(part):
            piped = tuple(port for port in ports if facts.is_piped(port))
            if piped and (sort := _sort_of(part, {port.port for port in ports}, kind.family)):
                yield sort, tag, piped


def _sort_of(part: Part, names: set[str], family: str) -> Sort | Literal["header", ""]:
    kind = part.kind
    if part.value("heat-leak") or kind.name == "heat-leak-radiator":
        return "header"
    if names & set(kind.takes):
        return "emitter" if family == "emitters" else "coil"
    if names & set(kind.gives):
        return "source"
    if kind.store:
        drinking = all(set(kind.ports[n].media) <= set("CWT") for n in names)
        return "" if kind.store == "heating" and drinking else "store"
    if kind.separates:
        return "header"
    if kind.driver == "pump":
        return "pump"
    if "filter" in kind.counts_as and not has_valves_built_in(part):
        return "filter"
    return "outlet" if is_tap(part) and "drain" not in kind.counts_as else ""
