"""The network: parts, pipes between ports, and a directed graph whose nodes are ports."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from schemagen.base.place import Place
from schemagen.parts.kind import OUTSIDE, PartKind

if TYPE_CHECKING:
    import networkx as nx

    from schemagen.network.reach import Reach


class PortId(NamedTuple):
    """One opening of one part. Prints as "TAG.port"."""

    tag: str
    port: str

    def __str__(self) -> str:
        return f"{self.tag}.{self.port}"


OUT = PortId(OUTSIDE, "")
"""The node that stands for everything outside the system."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part. `values` are typed by the kind's attributes: quantities in SI, words, flags, tuples of tags.

    `kind` is the kind grown to the openings in use. `made` is True if the list only named a kind on a run, or
    hung the part on a pipe, and the part was made for it.
    """

    tag: str
    kind: PartKind
    values: Mapping[str, Any]
    texts: Mapping[str, str]
    line: Place
    made: bool = False

    @property
    def label(self) -> str:
        return self.texts.get("label", "")

    @property
    def place(self) -> str:
        return self.texts.get("place", "")

    @property
    def leads_on(self) -> bool:
        """True for a connector that stands where a pipe goes on to another sheet; no list has it."""
        return "caption" in self.texts

    def value(self, key: str, default: Any = None) -> Any:
        return self.values.get(key, default)

    @property
    def built_in(self) -> tuple[str, ...]:
        """What is inside its casing: the list's own `built-in:` if given, else the kind's."""
        own = self.values.get("built-in")
        return self.kind.built_in if own is None else tuple(own)

    @property
    def capped(self) -> tuple[str, ...]:
        return tuple(self.values.get("capped", ()))


@dataclass(frozen=True, slots=True)
class Pipe:
    """One pipe from port to port, in the direction in which the list says the water moves.

    `size` is the nominal diameter as listed, in metres, None if not given; `size_text` as it is printed.
    `whole` is the pipe of the list if this is one half of it, drawn up to where its sheet ends.
    """

    index: int
    start: PortId
    end: PortId
    line: Place
    size: float | None = None
    size_text: str = ""
    medium: str = ""
    values: Mapping[str, Any] = field(default_factory=dict)
    whole: "Pipe | None" = None

    @property
    def listed(self) -> "Pipe":
        return self.whole or self

    @property
    def name(self) -> str:
        """The pipe as the list has it, "TAG.port→TAG.port"."""
        return f"{self.listed.start}→{self.listed.end}"

    @property
    def pair(self) -> tuple[str, str]:
        return str(self.listed.start), str(self.listed.end)


@dataclass(frozen=True, slots=True)
class NamedState:
    """A state that the user names: what calls (tags), and positions of moving parts by tag ("on", "off" for pumps)."""

    name: str
    calling: tuple[str, ...]
    positions: Mapping[str, str]
    line: Place


@dataclass(frozen=True, slots=True)
class Acceptance:
    """A finding that the user lives with: which check, at which parts (none: anywhere), and why."""

    check: str
    tags: tuple[str, ...]
    reason: str
    by: str
    date: str
    line: Place


@dataclass(frozen=True)
class Network:
    """Parts by tag in the order of the list, pipes in the order of the list, and sheet data.

    The graph is a frozen nx.MultiDiGraph. Nodes are PortId (and OUT). A pipe is an edge start → end with `pipe=Pipe`.
    An inside passage is an edge a → b with `passage=Passage` and `tag`.
    """

    name: str
    sheet: Mapping[str, str]
    parts: Mapping[str, Part]
    pipes: tuple[Pipe, ...]
    fluids: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    named_states: tuple[NamedState, ...] = ()
    accept: tuple[Acceptance, ...] = ()

    @cached_property
    def graph(self) -> "nx.MultiDiGraph":
        import networkx as nx

        g = nx.MultiDiGraph()
        for part in self.parts.values():
            g.add_nodes_from(PortId(part.tag, name) for name in part.kind.ports)
            for passage in part.kind.passages:
                a, b = (OUT if p == OUTSIDE else PortId(part.tag, p) for p in (passage.a, passage.b))
                g.add_edge(a, b, passage=passage, tag=part.tag, pipe=None)
        for pipe in self.pipes:
            g.add_edge(pipe.start, pipe.end, passage=None, tag=None, pipe=pipe)
        return nx.freeze(g)

    @cached_property
    def pipes_at(self) -> Mapping[PortId, tuple[Pipe, ...]]:
        """The pipes that end at each port; one each in a sound list."""
        at: dict[PortId, list[Pipe]] = {}
        for pipe in self.pipes:
            at.setdefault(pipe.start, []).append(pipe)
            at.setdefault(pipe.end, []).append(pipe)
        return {port: tuple(pipes) for port, pipes in at.items()}

    def ports(self) -> tuple[PortId, ...]:
        """Every opening, part by part."""
        return self._ports

    @cached_property
    def _ports(self) -> tuple[PortId, ...]:
        return tuple(PortId(part.tag, name) for part in self.parts.values() for name in part.kind.ports)

    @cached_property
    def reach(self) -> "Reach":
        """How far water, heat and pressure reach from a port; one for all who ask."""
        from schemagen.network.reach import Reach

        return Reach(self)

    def far_end(self, pipe: Pipe, near: PortId) -> PortId:
        return pipe.end if pipe.start == near else pipe.start

    def host_of(self, tag: str) -> PortId | None:
        """Where a mounted part sits: the list's `on: TAG` (port "") or `on: TAG.port`."""
        return self.parts[tag].values.get("on")

    @cached_property
    def mounted_on(self) -> Mapping[str, tuple[str, ...]]:
        """Tags of the parts mounted on each part."""
        on: dict[str, list[str]] = {}
        for tag in self.parts:
            if host := self.host_of(tag):
                on.setdefault(host.tag, []).append(tag)
        return {tag: tuple(mounted) for tag, mounted in on.items()}

    @cached_property
    def switched_by(self) -> Mapping[str, tuple[str, ...]]:
        """Tags of the control devices that act on each part."""
        by: dict[str, list[str]] = {}
        for part in self.parts.values():
            for tag in part.value("switches", ()):
                by.setdefault(tag, []).append(part.tag)
        return {tag: tuple(devices) for tag, devices in by.items()}
