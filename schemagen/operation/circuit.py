"""A network as the flow of its water is worked out on it: branches between the points where water divides.

Pipes and passages on no closed way are left out: they carry no steady flow. What lies in a row is one branch, a tee is
one point, and waters that only meet outside the system are solved apart.
"""

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import NamedTuple

from schemagen.network.network import Network, Part, Pipe, PortId
from schemagen.operation.branches import Branches
from schemagen.operation.passages import HEAT, PLAIN, may_flow, resistance_of, role_of, takes_back
from schemagen.operation.states import State
from schemagen.parts.kind import OUTSIDE, PartKind, Passage

GRAVITY = 0.1
"""Head of hot water rising from a fire, or cooling in a coil on a gravity circuit, as a share of a pump's. Common
practice, no source."""

TEE_LEG = PLAIN / 3
"""Three equal resistances between three points are a star of a third each (delta-wye)."""

_VENTS = ("air-vent", "expansion-vessel", "solar-expansion-vessel")


class Link(NamedTuple):
    """A pipe, or the passages of a part between two of its openings, from point `a` to point `b`.

    `role` says what decides whether it is open and what drives it:
    "" always open, valve, pump, source, main, gravity, falling, outlet, bypass, unit, float, feed, vent
    """

    a: int
    b: int
    role: str
    resistance: float
    takes: bool = False
    pipe: int = -1
    tag: str = ""
    passages: tuple[Passage, ...] = ()


class Setting(NamedTuple):
    """The branches in one state: open, driving head from a to b, and which way water may go."""

    open: list[bool]
    head: list[float]
    forward: list[bool]
    backward: list[bool]
    bypass: list[bool]


class Circuit:
    """The points, links and branches of a network.

    `filling` adds the ways by which water comes in, and those by which air leaves: vents, and whatever gives or takes
    heat, which is bled.
    """

    def __init__(self, network: Network, filling: bool = False) -> None:
        self.network = network
        self.filling = filling
        self.point: dict[PortId | str, int] = {OUTSIDE: 0}
        self._number_points()
        self.links = list(self._links())
        laid = Branches(self.count, [(link.a, link.b) for link in self.links])
        self.branch, self.sign, self.ends, self.bodies = laid.branch, laid.sign, laid.ends, laid.bodies

    # points and links

    def _number_points(self) -> None:
        count = 1
        for part in self.network.parts.values():
            for n, name in enumerate(part.kind.ports):
                self.point[PortId(part.tag, name)] = count
                count += 0 if is_joint(part.kind) and n < len(part.kind.ports) - 1 else 1
        self.count = count

    def _at(self, tag: str, name: str) -> int:
        return 0 if name == OUTSIDE else self.point[PortId(tag, name)]

    def _links(self) -> Iterator[Link]:
        for pipe in self.network.pipes:
            legs = sum(is_joint(self.network.parts[end.tag].kind) for end in (pipe.start, pipe.end))
            yield Link(self.point[pipe.start], self.point[pipe.end], "", PLAIN + legs * TEE_LEG, pipe=pipe.index)
        for part in self.network.parts.values():
            if not is_joint(part.kind):
                yield from self._inside(part)

    def _inside(self, part: Part) -> Iterator[Link]:
        kind = part.kind
        pairs: dict[tuple[str, str], list[Passage]] = {}
        for passage in kind.passages:
            if may_flow(self.network, part, passage, self.filling):
                pairs.setdefault((passage.a, passage.b), []).append(passage)
        for (a, b), passages in pairs.items():
            role = role_of(part, passages[0])
            takes = a in kind.takes and b in kind.takes
            yield Link(
                self._at(part.tag, a), self._at(part.tag, b), role, resistance_of(kind, a, b, role), takes,
                tag=part.tag, passages=tuple(passages),
            )  # fmt: skip
        if kind.name == "cold-water-cistern":
            yield self._extra(part, "supply", OUTSIDE, "float")
        if self.filling:
            yield from self._filling_links(part)

    def _filling_links(self, part: Part) -> Iterator[Link]:
        name = part.kind.name
        if name == "automatic-fill-unit":
            yield self._extra(part, "supply", OUTSIDE, "vent")
            yield self._extra(part, OUTSIDE, "system", "feed")
        elif name == "feed-and-expansion-cistern":
            yield self._extra(part, "supply", OUTSIDE, "vent")
            yield self._extra(part, OUTSIDE, "cold-feed", "feed")
        elif name in _VENTS or "vent" in part.kind.counts_as:
            yield self._extra(part, next(iter(part.kind.ports)), OUTSIDE, "vent")
        elif part.kind.takes or part.kind.gives:
            yield self._extra(part, part.kind.takes[-1] if part.kind.takes else part.kind.gives[0], OUTSIDE, "vent")

    def _extra(self, part: Part, a: str, b: str, role: str) -> Link:
        way = (Passage(a, b, "one-way"),)
        return Link(self._at(part.tag, a), self._at(part.tag, b), role, HEAT, tag=part.tag, passages=way)

    @cached_property
    def inside(self) -> dict[tuple[str, str, str], int]:
        """The link of each way inside a part; the links of the pipes come first, by their index."""
        return {(k.tag, k.passages[0].a, k.passages[0].b): e for e, k in enumerate(self.links) if k.tag}

    # resistances of the branches

    @cached_property
    def _on_branch(self) -> list[int]:
        return [e for e, n in enumerate(self.branch) if n >= 0]

    @cached_property
    def plain_resistance(self) -> list[float]:
        return self._resistance(takes=False)

    @cached_property
    def taker_resistance(self) -> list[float]:
        return self._resistance(takes=True)

    def _resistance(self, takes: bool) -> list[float]:
        """The resistance of each branch in its takers, or in all else."""
        summed = [0.0] * len(self.ends)
        for e in self._on_branch:
            if self.links[e].takes == takes:
                summed[self.branch[e]] += self.links[e].resistance
        return summed

    @cached_property
    def loads(self) -> list[int]:
        """For each branch +1 or -1, the way in which a taker or an open tap on it wants water; 0 without one."""
        wanted = [0] * len(self.ends)
        for e in self._on_branch:
            link = self.links[e]
            if (link.takes or link.role in ("outlet", "vent")) and not wanted[self.branch[e]]:
                wanted[self.branch[e]] = self.sign[e] * self._listed_way(link)
        return wanted

    @cached_property
    def takes_back(self) -> list[bool]:
        """For each branch whether a mixing set takes water back from its load by it."""
        found = [False] * len(self.ends)
        for e in self._on_branch:
            link = self.links[e]
            if link.tag and takes_back(self.network.parts[link.tag].kind, link.passages[0].a, link.passages[0].b):
                found[self.branch[e]] = True
        return found

    def _listed_way(self, link: Link) -> int:
        """+1 if the list brings water to the link's first opening, -1 if it takes water from there."""
        name = link.passages[0].a
        return next((1 if p.end.port == name else -1 for p in self._pipes(link.tag, name)), 1)

    def _pipes(self, tag: str, name: str) -> Sequence[Pipe]:
        return self.network.pipes_at.get(PortId(tag, name), ())

    # states

    @cached_property
    def _movable(self) -> list[int]:
        return [e for e in self._on_branch if self.links[e].role or self._is_one_way(self.links[e])]

    @staticmethod
    def _is_one_way(link: Link) -> bool:
        return bool(link.passages) and all(p.sort == "one-way" for p in link.passages)

    def setting(self, state: State) -> Setting:
        """How the branches stand in a state."""
        count = len(self.ends)
        head = [0.0] * count
        is_open, forward, backward, bypass = [True] * count, [True] * count, [True] * count, [False] * count
        drawn = frozenset(state.outlets_open)
        for e in self._movable:
            link, n = self.links[e], self.branch[e]
            passages = self.open_passages(link, state, drawn)
            head[n] += self.sign[e] * self.head(link, state)
            if not passages:
                is_open[n] = False
            elif all(p.sort == "one-way" for p in passages):
                (backward if self.sign[e] > 0 else forward)[n] = False
            if link.role == "bypass":
                bypass[n] = True
        return Setting(is_open, head, forward, backward, bypass)

    def _fed_by(self, tag: str, *names: str) -> frozenset[str]:
        """Tags of the parts to which water runs from these openings."""
        if tag not in self._fed:
            ports = [PortId(tag, n) for n in names if n in self.network.parts[tag].kind.ports]
            self._fed[tag] = frozenset(port.tag for port in self.network.reach.downstream_of_all(ports))
        return self._fed[tag]

    @cached_property
    def _fed(self) -> dict[str, frozenset[str]]:
        return {}

    def open_passages(self, link: Link, state: State, drawn: frozenset[str]) -> list[Passage]:
        on = link.tag in state.at_work
        if link.role == "unit" and self.filling:
            return list(link.passages)
        if link.role == "unit" and not on and drawn.isdisjoint(self._fed_by(link.tag, "hot-out")):
            return []
        if link.role == "float" and drawn.isdisjoint(self._fed_by(link.tag, "outlet", "outlet-2")):
            return []
        if link.role in ("bypass", "float"):
            return list(link.passages)
        at = ("on" if on else "off") if link.role == "pump" else state.positions.get(link.tag)
        return [p for p in link.passages if not p.positions or at is None or at in p.positions]

    def head(self, link: Link, state: State) -> float:
        """Head in pump heads, from the link's a to its b."""
        if link.role in ("", "valve"):
            return 0.0
        if link.role == "main":
            return -1.0
        if link.role == "feed":
            return 1.0
        if link.role == "gravity":
            return GRAVITY * (link.tag in state.giving)
        if link.role == "falling":
            return GRAVITY * any(self.network.parts[tag].kind.name == "heat-only-boiler" for tag in state.sources_on)
        drives = link.role == "source" or (link.role == "pump" and link.passages[0].b in ("out", "load-flow"))
        return 1.0 if drives and link.tag in state.pumps_on else 0.0


def is_joint(kind: PartKind) -> bool:
    """True for a part that is one point: three openings joined to each other whatever happens."""
    ports = len(kind.ports)
    return (
        kind.plain
        and ports > 2
        and len(kind.passages) == ports * (ports - 1) // 2
        and all(p.sort == "both" and not p.positions for p in kind.passages)
    )
