"""What the checks are given: the list, its network and waters, and questions answered once for all of them."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from schemagen.base.finding import Finding
from schemagen.joblist.joblist import JobList
from schemagen.network.groups import Groups
from schemagen.network.network import Network, Part, Pipe, PortId
from schemagen.network.reach import Reach, Section, is_wet
from schemagen.network.signals import Signals
from schemagen.network.walks import run_from
from schemagen.network.waters import Waters
from schemagen.operation.operate import Operation, operate
from schemagen.parts.kind import PortSpec
from schemagen.parts.library import Library


@dataclass(frozen=True)
class Facts:
    """One list and what follows from it. `list_findings` are what building the network found wrong in the list."""

    job: JobList
    library: Library
    network: Network
    waters: Waters
    list_findings: tuple[Finding, ...] = ()

    @property
    def reach(self) -> Reach:
        return self.network.reach

    @cached_property
    def signals(self) -> Signals:
        return Signals(self.network)

    @cached_property
    def operation(self) -> Operation:
        """The operating states, and where the water moves in each."""
        return operate(self.network)

    def once(self, question: Callable[["Facts"], Any]) -> Any:
        """The answer to a question that several checks ask, worked out when it is first asked."""
        if question not in self._answers:
            self._answers[question] = question(self)
        return self._answers[question]

    @cached_property
    def _answers(self) -> dict[Callable[["Facts"], Any], Any]:
        return {}

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
        if len(kinds) == 1:
            return iter(self._of_kind.get(kinds[0], ()))
        wanted = [part for kind in dict.fromkeys(kinds) for part in self._of_kind.get(kind, ())]
        return iter(sorted(wanted, key=lambda part: self._number[part.tag]))

    @cached_property
    def _of_kind(self) -> dict[str, list[Part]]:
        parts: dict[str, list[Part]] = {}
        for part in self.network.parts.values():
            parts.setdefault(part.kind.name, []).append(part)
        return parts

    @cached_property
    def _number(self) -> dict[str, int]:
        return {tag: n for n, tag in enumerate(self.network.parts)}

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

    def run_from(self, port: PortId) -> list[PortId]:
        """Openings along the run away from this one, until the water divides or a body is met."""
        return run_from(self.network, self.reach, self.waters.carries, port)

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
        if part.tag not in self._waterways:
            self._waterways[part.tag] = self._waterways_of(part)
        return self._waterways[part.tag]

    @cached_property
    def _waterways(self) -> dict[str, list[list[PortId]]]:
        return {}

    def _waterways_of(self, part: Part) -> list[list[PortId]]:
        groups: Groups[PortId] = Groups(self.wet_ports(part))
        for passage in part.kind.passages:
            if is_wet(part.kind, passage):
                groups.join(PortId(part.tag, passage.a), PortId(part.tag, passage.b))
        return groups.numbered()[1]

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
