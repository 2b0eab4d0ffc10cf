"""One operating state: what calls, where the moving parts stand, and which pumps, sources and taps are on."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from schemagen.network.network import Part
from schemagen.parts.kind import OUTSIDE

Sort = Literal[
    "named", "call", "all-calls", "no-calls", "defrost", "all-shut", "power-off", "filling", "tap-open", "sources"
]  # fmt: skip


@dataclass(frozen=True)
class State:
    """One operating state. Its name is unique in its network.

    calling      tags of the devices that call (or of the parts themselves, where no device is listed)
    positions    position of every moving part by tag, but for bypass valves that pressure opens and diverters held
                 between their sides; pumps and sources "on" or "off", sources with a valve inside "heating",
                 "hot-water" or "off"
    pumps_on     pumps that run, and sources whose pump inside runs
    sources_on   sources that give heat
    outlets_open taps that are open
    alike        the states that this one stands for: in each, its tag acts as the calling or open one does here
    """

    name: str
    sort: Sort
    calling: tuple[str, ...] = ()
    positions: Mapping[str, str] = field(default_factory=dict)
    pumps_on: tuple[str, ...] = ()
    sources_on: tuple[str, ...] = ()
    outlets_open: tuple[str, ...] = ()
    alike: tuple[str, ...] = ()

    @cached_property
    def at_work(self) -> frozenset[str]:
        """Pumps that run and sources that give heat."""
        return self.giving.union(self.pumps_on)

    @cached_property
    def giving(self) -> frozenset[str]:
        """Sources that give heat."""
        return frozenset(self.sources_on)


def has_own_pump(part: Part) -> bool:
    """True for a source with a pump inside."""
    return part.kind.driver == "built-in" and "pump" in part.built_in and part.value("pump") is not False


def is_tap(part: Part) -> bool:
    """True for a part by which water leaves the system when somebody opens it."""
    return any(p.b == OUTSIDE and "open" in p.positions for p in part.kind.passages)
