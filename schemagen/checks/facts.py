"""What the checks are given: the list, its network and waters, and questions answered once for all of them."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from schemagen.base.finding import Finding
from schemagen.joblist.joblist import JobList
from schemagen.network.groups import Groups, blocks
from schemagen.network.network import OUT, Network, Part, Pipe, PortId
from schemagen.network.reach import Reach, Section, is_wet
from schemagen.network.waters import Waters
from schemagen.operation.operate import Operation, operate
from schemagen.parts.kind import OUTSIDE, PortSpec
from schemagen.parts.library import Library


@dataclass(frozen=True)
class Facts:
    """One list and what follows from it. `list_findings` are what building the network found wrong in the list."""

    job: JobList
    library: Library
    network: Network
    waters: Waters
    list_findings: tuple[Finding, ...] = ()

    @cached_property
    def reach(self) -> Reach:
        return Reach(self.network)

    @cached_property
    def operation(self) -> Operation:
        """The operating states, and where the water moves in each."""
        return operate(self.network)

    # settings

    @property
    def region(self) -> str:
        """The sheet's `region:`, in small letters with hyphens; "england-and-wales" if the list does not say."""
        return "-".join(self.network.sheet.get("region", "England and Wales").casefold().split())

    @cached_property
    def premises(self) -> str:
        """ "house" unless the sheet or a cold main says "other"."""
        said = [self.network.sheet.get("premises", "")]
        said += [str(main.value("premises", "")) for main in self.parts("cold-main")]
        return "other" if any(word.strip().casefold() == "other" for word in said) else "house"

    def found_in_list(self, check: str) -> list[Finding]:
        """What building the network found under this check's name."""
        return [finding for finding in self.list_findings if finding.check == check]

    # parts

    def parts(self, *kinds: str) -> Iterator[Part]:
        """Parts of these kinds, in the order of the list."""
        return (part for part in self.network.parts.values() if part.kind.name in kinds)

    @cached_property
    def givers(self) -> tuple[Part, ...]:
        """Parts that put heat into water of their own: not immersion heaters, which heat their host."""
        return tuple(part for part in self.network.parts.values() if part.kind.gives)

    @cached_property
    def takers(self) -> tuple[Part, ...]:
        return tuple(part for part in self.network.parts.values() if part.kind.taker)

    def built_in(self, tag: str, *items: str) -> bool:
        return any(item in self.network.parts[tag].built_in for item in items)

    def drives(self, part: Part) -> bool:
        """True if the part makes water move when it is on: a pump, or a source with a pump inside."""
        return part.kind.driver == "pump" or part.kind.driver == "built-in" and "pump" in part.built_in

    # openings

    def spec(self, port: PortId) -> PortSpec:
        return self.network.parts[port.tag].kind.ports[port.port]

    def wet_ports(self, part: Part) -> list[PortId]:
        """The openings that carry water, in the order of the kind's page."""
        return [PortId(part.tag, p.name) for p in part.kind.ports.values() if p.need in ("must", "may")]

    def is_piped(self, port: PortId) -> bool:
        return port in self.network.pipes_at

    def pipe_at(self, port: PortId) -> Pipe | None:
        """The pipe of an opening (the first, if the list gives it several)."""
        return next(iter(self.network.pipes_at.get(port, ())), None)

    def piped_across(self, port: PortId) -> PortId | None:
        """The opening at the other end of the pipe of this one."""
        pipe = self.pipe_at(port)
        return self.network.far_end(pipe, port) if pipe else None

    def is_open(self, port: PortId) -> bool:
        """An opening that has to be piped and has no pipe."""
        return self.spec(port).need == "must" and not self.is_piped(port)

    def waterways(self, part: Part) -> list[list[PortId]]:
        """The openings of a part in groups that share water."""
        groups: Groups[PortId] = Groups(self.wet_ports(part))
        for passage in part.kind.passages:
            if is_wet(part.kind, passage):
                groups.join(PortId(part.tag, passage.a), PortId(part.tag, passage.b))
        return groups.numbered()[1]

    def plain_waterways(self, part: Part, names: tuple[str, ...]) -> list[tuple[PortId, PortId]]:
        """The waterways among these openings that have just two ends: coils, emitters, sides of a plate exchanger."""
        ways = [[p for p in way if p.port in names] for way in self.waterways(part)]
        return [(way[0], way[1]) for way in ways if len(way) == 2]

    def waterway(self, port: PortId) -> list[PortId]:
        """The openings of a part that share water with this one."""
        return next(group for group in self.waterways(self.network.parts[port.tag]) if port in group)

    def outlet_ports(self, giver: Part) -> list[PortId]:
        """Where the heated water leaves a giver: openings of its waterway that are marked so."""
        return [PortId(giver.tag, n) for n in giver.kind.gives if giver.kind.ports[n].role == "out"]

    def return_ports(self, giver: Part) -> list[PortId]:
        return [PortId(giver.tag, n) for n in giver.kind.gives if giver.kind.ports[n].role == "in"]

    # waters

    def medium_at(self, port: PortId) -> str:
        """The medium of the pipe at an opening, "" if there is none."""
        pipe = self.pipe_at(port)
        return self.waters.medium[pipe.index] if pipe else ""

    def section(self, port: PortId) -> Section:
        return self.reach.section(port)

    def goes_on_elsewhere(self, port: PortId) -> bool:
        """True if the pipework of this opening leads off the sheet, so that nothing can be said to be missing."""
        return any(self.network.parts[p.tag].kind.name == "off-sheet-connector" for p in self.reach.wet(port))

    # closed ways

    @cached_property
    def _blocks(self) -> tuple[dict[int, int], dict[tuple[PortId, PortId], int]]:
        """Block of each pipe by index, and of each wet passage by its ends: one block, one simple cycle through both."""
        number: dict[PortId, int] = {OUT: 0}
        for port in self.network.ports():
            number[port] = len(number)
        edges = [(number[pipe.start], number[pipe.end]) for pipe in self.network.pipes]
        inside: list[tuple[PortId, PortId]] = []
        for part in self.network.parts.values():
            for p in part.kind.passages:
                ends = [OUT if name == OUTSIDE else PortId(part.tag, name) for name in (p.a, p.b)]
                if is_wet(part.kind, p) or p.b == OUTSIDE and p.sort in ("both", "one-way"):
                    inside.append((ends[0], ends[1]))
                    edges.append((number[ends[0]], number[ends[1]]))
        found = blocks(len(number), edges)
        pipes = len(self.network.pipes)
        return dict(enumerate(found[:pipes])), dict(zip(inside, found[pipes:], strict=True))

    def block_of(self, a: PortId, b: PortId) -> int | None:
        """The block of a passage inside a part, None if there is no such passage."""
        inside = self._blocks[1]
        return inside.get((a, b), inside.get((b, a)))

    @cached_property
    def heated_blocks(self) -> frozenset[int]:
        """Blocks with a giver of heat on a closed way, or with the far side of an exchanger that such a block heats."""
        heated = {b for part in self.givers for b in self._blocks_of(part, part.kind.gives)}
        links = [
            (self._blocks_at(part, p.a), self._blocks_at(part, p.b))
            for part in self.network.parts.values()
            if not part.kind.store
            for p in part.kind.passages
            if p.sort == "heat"
        ]
        fresh = True
        while fresh:
            fresh = False
            for near, far in (pair for link in links for pair in (link, link[::-1])):
                if near & heated and not far <= heated:
                    heated |= far
                    fresh = True
        return frozenset(heated)

    def _blocks_of(self, part: Part, names: tuple[str, ...]) -> set[int]:
        ends = [(PortId(part.tag, p.a), PortId(part.tag, p.b)) for p in part.kind.passages if {p.a, p.b} <= set(names)]
        return {b for a, z in ends if (b := self.block_of(a, z)) is not None and self.is_piped(a) and self.is_piped(z)}

    def _blocks_at(self, part: Part, name: str) -> set[int]:
        way = self.waterway(PortId(part.tag, name))
        return self._blocks_of(part, tuple(port.port for port in way))

    @cached_property
    def circuits(self) -> "tuple[Circuit, ...]":
        """Closed circuits of heating water, brine or pool water, cut at separators: what one pump can drive."""
        return tuple(_circuits(self))

    def circuit_at(self, port: PortId) -> "Circuit | None":
        """The circuit of an opening."""
        return next((c for c in self.circuits if port in c.ports), None)


_SIDES = ("primary-", "source-", "secondary-", "load-2-", "load-", "coil-", "buffer-")


@dataclass(frozen=True)
class Circuit:
    """Pipework that one pump can drive: its openings and the tags on it, in the order of the list."""

    ports: frozenset[PortId]
    tags: tuple[str, ...]
    pipes: tuple[Pipe, ...]


def _circuits(facts: Facts) -> Iterator[Circuit]:
    groups: Groups[PortId] = Groups(facts.network.ports())
    for pipe in facts.network.pipes:
        groups.join(pipe.start, pipe.end)
    for part in facts.network.parts.values():
        parted = part.kind.separates and part.kind.name != "buffer-two-pipe"
        for p in part.kind.passages:
            if is_wet(part.kind, p) and not (parted and _side(p.a) != _side(p.b)):
                groups.join(PortId(part.tag, p.a), PortId(part.tag, p.b))
    number, members = groups.numbered()
    pipes: dict[int, list[Pipe]] = {}
    for pipe in facts.network.pipes:
        if facts.waters.medium[pipe.index] in ("heating-water", "antifreeze-mix", "ground-brine", "pool-water"):
            pipes.setdefault(number[pipe.start], []).append(pipe)
    for n, own in pipes.items():
        tags = tuple(dict.fromkeys(port.tag for port in members[n]))
        yield Circuit(frozenset(members[n]), tags, tuple(own))


def _side(port: str) -> str:
    return next((side for side in _SIDES if port.startswith(side)), "")
