"""Questions about fires that several checks of this group ask."""

from collections.abc import Iterator
from dataclasses import dataclass

from schemagen.checks.facts import Facts
from schemagen.network.network import Part, Pipe, PortId
from schemagen.network.reach import is_fixed

KINDS = ("solid-fuel-stove", "wood-boiler")


def fires(facts: Facts) -> Iterator[Part]:
    """Stoves and wood boilers that cannot be switched off and are piped."""
    for part in facts.parts(*KINDS):
        if part.kind.giver == "uncontrolled" and any(facts.is_piped(PortId(part.tag, n)) for n in part.kind.gives):
            yield part


def is_leak(part: Part) -> bool:
    """True for what is listed as taking a fire's heat by itself: heat-leak emitters, coils on a gravity circuit."""
    return part.kind.name == "heat-leak-radiator" or bool(part.value("heat-leak") or part.value("gravity"))


@dataclass(frozen=True)
class FreeLoop:
    """Pipework that always stands open in loops through a fire, moved by warmth alone, and the parts in it."""

    tags: frozenset[str]
    ports: frozenset[PortId]

    def takes_heat(self, part: Part) -> bool:
        """True if the loop passes through the part and the part takes a fire's heat: a heat leak or a store."""
        if part.tag not in self.tags or not (is_leak(part) or part.kind.store):
            return False
        return part.value("gravity") is not False

    def pipes(self, facts: Facts) -> list[Pipe]:
        starts = (port for port in self.ports)
        found = {pipe.index: pipe for port in starts for pipe in facts.network.pipes_at.get(port, ())}
        return [found[i] for i in sorted(found) if {found[i].start, found[i].end} <= self.ports]


def free_loop(facts: Facts, fire: Part) -> FreeLoop:
    """The loops from a fire's flow to its return in which nothing can shut, turn, stick or be blocked.

    Two openings lie on a common loop if their links share a block of the graph: J. Hopcroft and R. Tarjan, Efficient
    algorithms for graph manipulation, Communications of the ACM 16 (1973).
    """
    import networkx as nx

    graph = nx.Graph(_always_open(facts, fire))
    body = {(a, b) for a, b in graph.edges if a.tag == b.tag == fire.tag}
    inside: set[str] = set()
    ports: set[PortId] = set()
    for block in nx.biconnected_component_edges(graph):
        links = {tuple(sorted(link)) for link in block}
        if len(links) > 1 and any(tuple(sorted(link)) in links for link in body):
            inside |= {a.tag for a, b in links if a.tag == b.tag}
            ports |= {port for link in links for port in link}
    return FreeLoop(frozenset(inside - {fire.tag}), frozenset(ports))


def _always_open(facts: Facts, fire: Part) -> Iterator[tuple[PortId, PortId]]:
    reached = set().union(*(facts.reach.fixed(PortId(fire.tag, n), takers=True) for n in fire.kind.gives))
    for port in sorted(reached):
        yield from ((port, far) for far in facts.reach.piped_to[port])
        part = facts.network.parts[port.tag]
        for passage in part.kind.passages:
            if passage.a == port.port and is_fixed(part, passage, takers=True, pumps=False):
                yield port, PortId(port.tag, passage.b)
