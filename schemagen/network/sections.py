"""Sections of pipework: what each pipe is for, read from its medium and from what lies up and down its stream.

Flow side and return side follow the directions of the list: from each heat giver's outlet to the first taker is flow,
from there on return. A pipe that gets both (behind a mixing valve, a bypass) is flow if a taker still lies ahead.
"""

from collections import deque
from collections.abc import Callable, Iterable

from schemagen.network.groups import Groups, bridges
from schemagen.network.network import Network, Part, Pipe, PortId
from schemagen.network.reach import is_wet
from schemagen.parts.kind import OUTSIDE, PartKind

_SIDED = {
    "heating-water": "heating",
    "antifreeze-mix": "heating",
    "ground-brine": "brine",
    "pool-water": "pool",
    "": "heating",
}
_PLAIN = {"cold": "cold", "hot": "hot", "tempered": "tempered", "air": "vent"}
_HOT_ENDS = ("top", "buffer-top")
_STRAIGHT = ("discharge", "condensate", "refrigerant")


def find_sections(network: Network, medium: tuple[str, ...]) -> tuple[str, ...]:
    """The section of each pipe by index: a word of waters.SECTIONS. Total: faulty networks get the likeliest answer."""
    sided = _Sides(network, medium).sections()
    section = [m if m in _STRAIGHT else _PLAIN[m] if m in _PLAIN else sided[i] for i, m in enumerate(medium)]
    lines = _Lines(network)
    for i in _circulation(network, medium):
        section[i] = "circulation"
    for name, pipes in (("filling", _filling(lines)), ("cold-feed", _cold_feeds(lines)), ("vent", _vents(lines))):
        for i in pipes:
            section[i] = name
    return tuple(section)


class _Lines:
    """Pipes in series: walks from an opening away from its part until pipework branches or a body begins."""

    def __init__(self, network: Network) -> None:
        self.network = network

    def from_port(self, port: PortId) -> list[int]:
        seen: list[int] = []
        pipes = self.network.pipes_at.get(port, ())
        while len(pipes) == 1 and pipes[0].index not in seen:
            seen.append(pipes[0].index)
            far = self.network.far_end(pipes[0], port)
            port = self._across(far)
            pipes = self.network.pipes_at.get(port, ()) if port else ()
        return seen

    def _across(self, port: PortId) -> PortId | None:
        """The other opening of a part in line; None at a tee, a body or an end."""
        part = self.network.parts[port.tag]
        live = [p for p in part.kind.ports if PortId(port.tag, p) in self.network.pipes_at]
        if len(live) != 2 or port.port not in live or part.kind.shape == "major":
            return None
        other = live[1 - live.index(port.port)]
        joined = any({p.a, p.b} == {port.port, other} for p in part.kind.passages if is_wet(part.kind, p))
        return PortId(port.tag, other) if joined or part.kind.shape == "tee" else None


def _filling(lines: _Lines) -> list[int]:
    """From the branch off the cold water to the branch into the heating water, around each filling part."""
    found: list[int] = []
    for part in lines.network.parts.values():
        ports = part.kind.ports
        if "fill" in part.kind.counts_as and len(ports) > 1 and part.kind.breaks_pressure and "cold-feed" not in ports:
            for name, spec in ports.items():
                if spec.media != "D":
                    found += lines.from_port(PortId(part.tag, name))
    return found


def _cold_feeds(lines: _Lines) -> list[int]:
    return _lines_of(lines, lambda kind: [name for name in kind.ports if name == "cold-feed"])


def _vents(lines: _Lines) -> list[int]:
    """Pipes up to an open vent: a dead end that is open to the air, other than a cistern's."""
    return _lines_of(
        lines,
        lambda kind: [
            p.a for p in kind.passages if p.b == OUTSIDE and kind.ports[p.a].role == "dead" and p.a != "cold-feed"
        ],
    )


def _lines_of(lines: _Lines, openings: Callable[[PartKind], list[str]]) -> list[int]:
    parts = lines.network.parts.values()
    return [i for part in parts for name in openings(part.kind) for i in lines.from_port(PortId(part.tag, name))]


def _circulation(network: Network, medium: tuple[str, ...]) -> list[int]:
    """Hot pipes from the last outlet back to the store: no outlet lies ahead, but the store does."""
    hot = [p for p in network.pipes if medium[p.index] == "hot"]
    if not hot:
        return []
    among = {p.index for p in hot}
    to_outlet = _against([p for p in hot if _is_outlet(network.parts[p.end.tag].kind, p.end.port)], network, among)
    back = [p for p in hot if p.end.port == "circulation-return" or _joins_cold(network, medium, p)]
    to_store = _against(back, network, among)
    branched = [p.index for p in hot if p.index in to_store and p.index not in to_outlet]
    return branched


def _is_outlet(kind: PartKind, port: str) -> bool:
    leads_out = any(p.a == port and p.b == OUTSIDE for p in kind.passages)
    return leads_out or kind.ports[port].media in ("WT", "W") and kind.ports[port].role == "in" and port == "hot"


def _joins_cold(network: Network, medium: tuple[str, ...], pipe: Pipe) -> bool:
    """A return that joins the cold inlet of the store instead of its own opening."""
    if network.parts[pipe.end.tag].kind.shape != "tee":
        return False
    ports = (PortId(pipe.end.tag, name) for name in network.parts[pipe.end.tag].kind.ports)
    return any(medium[p.index] == "cold" for port in ports for p in network.pipes_at.get(port, ()))


def _against(starts: Iterable[Pipe], network: Network, among: set[int]) -> dict[int, int | None]:
    """Pipes upstream of these, theirs included, against the listed direction."""
    return _flood(starts, network, among, forward=False, stops=lambda part, port: bool(part.kind.store))


def _flood(
    starts: Iterable[Pipe],
    network: Network,
    among: set[int],
    forward: bool,
    stops: Callable[[Part, str], bool],
) -> dict[int, int | None]:
    """Pipes that follow these (or come before them), passing parts from opening to opening in the listed direction.

    Each with the pipe from which it was reached, None for a start. `stops(part, opening)` ends the way at a part that
    is entered by that opening.
    """
    seen: dict[int, int | None] = {p.index: None for p in starts}
    queue = deque(network.pipes[i] for i in seen)
    while queue:
        pipe = queue.popleft()
        port = pipe.end if forward else pipe.start
        part = network.parts[port.tag]
        if stops(part, port.port):
            continue
        for name in _inside(part.kind, port.port, forward):
            for other in network.pipes_at.get(PortId(port.tag, name), ()):
                on = other.start if forward else other.end
                if other.index in among and other.index not in seen and on == PortId(port.tag, name):
                    seen[other.index] = pipe.index
                    queue.append(other)
    return seen


def _inside(kind: PartKind, port: str, forward: bool) -> list[str]:
    """Openings by which water that enters a part here can leave (or, backward, by which it can have entered)."""
    reached = [port]
    for at in reached:
        for p in kind.passages:
            if not is_wet(kind, p):
                continue
            for a, b, allowed in ((p.a, p.b, forward or p.sort == "both"), (p.b, p.a, not forward or p.sort == "both")):
                if a == at and allowed and b not in reached:
                    reached.append(b)
    return reached


class _Sides:
    """Sorts pipes of closed circuits into flow and return, and into primary, heating, solar, brine and pool."""

    def __init__(self, network: Network, medium: tuple[str, ...]) -> None:
        self.network, self.medium = network, medium
        self.among = {i for i, m in enumerate(medium) if m in _SIDED}
        self.across = self._buffers_across()
        self.ends = {tag: self._waterways(part) for tag, part in network.parts.items()}

    def sections(self) -> dict[int, str]:
        pipes = [self.network.pipes[i] for i in sorted(self.among)]
        zone = self._zones()
        storing = {zone[p.index] for p in pipes if "store" in (self._sort(p.start), self._sort(p.end))}
        sources = {
            zone[p.index]
            for p in pipes
            if self._sort(p.start) in ("giver", "solar") or self._sort(p.end) in ("giver", "solar")
        }
        solar = {zone[p.index] for p in pipes if "solar" in (self._sort(p.start), self._sort(p.end))}
        flow = self._after(pipes, lambda p: self._gives(p.start, zone[p.index], sources))
        back = {sort: self._after(pipes, lambda p, s=sort: self._takes(p.start) == s) for sort in ("store", "emitter")}
        ahead = {sort: self._before(pipes, lambda p, s=sort: self._sort(p.end) == s) for sort in ("store", "emitter")}
        result = {}
        for p in pipes:
            i = p.index
            takers_ahead = i in ahead["store"] or i in ahead["emitter"]
            returned = i in back["store"] or i in back["emitter"]
            is_flow = takers_ahead if (i in flow) == returned else i in flow
            side = ahead if is_flow else back
            to_store = i in side["store"] or i not in side["emitter"] and zone[i] in storing
            name = _SIDED[self.medium[i]]
            if name == "heating" and zone[i] in solar:
                name = "solar"
            elif name == "heating" and zone[i] in sources and to_store:
                name = "primary"
            result[i] = f"{name}-{'flow' if is_flow else 'return'}"
        return self._stubs_follow(result)

    def _after(self, pipes: list[Pipe], starts: Callable[[Pipe], bool]) -> dict[int, int | None]:
        return _flood(filter(starts, pipes), self.network, self.among, True, self._stops)

    def _before(self, pipes: list[Pipe], starts: Callable[[Pipe], bool]) -> dict[int, int | None]:
        return _flood(filter(starts, pipes), self.network, self.among, False, self._stops)

    def _stops(self, part: Part, port: str) -> bool:
        return port in self.ends[part.tag]

    def _sort(self, port: PortId) -> str:
        return self.ends[port.tag].get(port.port, "")

    def _takes(self, port: PortId) -> str:
        """The sort of taker whose cooled water leaves by this opening."""
        return "" if port.port in _HOT_ENDS else self._sort(port)

    def _gives(self, port: PortId, zone: int, sources: set[int]) -> bool:
        """True where heat comes into a circuit: a giver's outlet, a separator's load side, an exchanger's far side."""
        sort = self._sort(port)
        if sort in ("giver", "solar", "load"):
            return True
        if sort != "store":
            return False
        separates = self.network.parts[port.tag].kind.separates
        return port.port in _HOT_ENDS if separates else zone not in sources

    def _waterways(self, part: Part) -> dict[str, str]:
        """Openings at which heat enters or leaves a circuit, by sort.

        giver and solar give heat; store (coils, exchangers, the source side of separators) and emitter take it; load is
        the load side of separators.
        """
        kind = part.kind
        if kind.name == "buffer-two-pipe" and part.tag not in self.across:
            return {}
        giver = "solar" if kind.name == "solar-collector" else "giver"
        sorts = dict.fromkeys(kind.gives, giver)
        taker = "store" if kind.store or not kind.plain and _links_heat(kind) else "emitter"
        sorts |= dict.fromkeys(kind.takes, taker)
        if kind.separates:
            heating = [n for n, p in kind.ports.items() if p.role != "dead" and p.media == "H" and n not in sorts]
            sorts |= {n: "load" if n.startswith(("secondary", "load")) else "store" for n in heating}
        return sorts

    def _zones(self) -> dict[int, int]:
        """Circuits cut at separators and stores: pipes that share water without passing one."""
        groups: Groups[object] = Groups([*range(len(self.network.pipes)), *self.network.ports()])
        for pipe in self.network.pipes:
            for end in (pipe.start, pipe.end):
                groups.join(end, pipe.index)
        for part in self.network.parts.values():
            for p in part.kind.passages:
                if is_wet(part.kind, p) and not (part.kind.separates and (part.kind.name != "buffer-two-pipe")):
                    groups.join(PortId(part.tag, p.a), PortId(part.tag, p.b))
            if part.kind.separates:
                self._keep_sides(groups, part)
        number = groups.numbered()[0]
        return {p.index: number[p.index] for p in self.network.pipes}

    @staticmethod
    def _keep_sides(groups: Groups[object], part: Part) -> None:
        """The two openings of one side of a separator belong to one circuit."""
        for side in ("primary-", "source-", "secondary-", "load-", "load-2-", "coil-"):
            names = [n for n in part.kind.ports if n.startswith(side) and (side != "load-" or "2" not in n)]
            for name in names[1:]:
                groups.join(PortId(part.tag, names[0]), PortId(part.tag, name))

    def _buffers_across(self) -> set[str]:
        """Two-pipe buffers hung across flow and return: without them every circuit through them is still closed."""
        network = self.network
        buffers = [tag for tag, part in network.parts.items() if part.kind.name == "buffer-two-pipe"]
        if not buffers:
            return set()
        number = {port: n for n, port in enumerate(network.ports())}
        edges: list[tuple[int, int]] = [(number[p.start], number[p.end]) for p in network.pipes]
        heat: dict[int, str] = {}
        for part in network.parts.values():
            for p in part.kind.passages:
                if is_wet(part.kind, p) and part.tag not in buffers:
                    if part.kind.gives or part.kind.takes:
                        heat[len(edges)] = part.tag
                    edges.append((number[PortId(part.tag, p.a)], number[PortId(part.tag, p.b)]))
        still = bridges(len(number), edges)
        joined: Groups[int] = Groups(range(len(number)))
        for a, b in edges:
            joined.join(a, b)
        group = joined.numbered()[0]
        alive = {group[edges[e][0]] for e in heat if not still[e]}
        ports = {tag: (group[number[PortId(tag, "top")]], group[number[PortId(tag, "bottom")]]) for tag in buffers}
        return {tag for tag, (top, bottom) in ports.items() if top == bottom and top in alive}

    def _stubs_follow(self, section: dict[int, str]) -> dict[int, str]:
        """Pipes in which nothing moves (to vessels, gauges, drains) belong to the section that they hang on."""
        network = self.network
        number = {port: n for n, port in enumerate(network.ports())}
        edges = [(number[p.start], number[p.end]) for p in network.pipes]
        for part in network.parts.values():
            edges += [
                (number[PortId(part.tag, p.a)], number[PortId(part.tag, p.b)])
                for p in part.kind.passages
                if is_wet(part.kind, p)
            ]
        still = bridges(len(number), edges)
        known = {i for i in section if not still[i]}
        queue = deque(sorted(known))
        while queue:
            i = queue.popleft()
            for end in (network.pipes[i].start, network.pipes[i].end):
                for name in self._beside(end):
                    for other in network.pipes_at.get(PortId(end.tag, name), ()):
                        if other.index in section and other.index not in known:
                            known.add(other.index)
                            section[other.index] = section[i]
                            queue.append(other.index)
        return section

    def loops(self, tag: str) -> list[tuple[str, ...]]:
        """The loops of one giver."""
        pipes = [
            p for name in self.network.parts[tag].kind.ports for p in self.network.pipes_at.get(PortId(tag, name), ())
        ]
        pipes = [p for p in pipes if p.index in self.among]
        out = self._after([p for p in pipes if p.start.tag == tag], lambda p: self._sort(p.start) in ("giver", "solar"))
        back = self._before([p for p in pipes if p.end.tag == tag], lambda p: self._sort(p.end) in ("giver", "solar"))
        leaves = {}
        for i in back:
            start = self.network.pipes[i].start
            if self._sort(start) in ("store", "emitter"):
                leaves.setdefault(start.tag, []).append(i)
        loops: dict[str, tuple[str, ...]] = {}
        for i in out:
            end = self.network.pipes[i].end
            sort = self._sort(end)
            key = end.tag if sort == "store" else sort
            if sort in ("store", "emitter") and key not in loops:
                home = next(
                    (j for j in leaves.get(end.tag, ()) if self._joined(end, self.network.pipes[j].start)), None
                )
                if home is not None:
                    loops[key] = (
                        *(p.start.tag for p in self._trail(out, i)[::-1]),
                        *(p.start.tag for p in self._trail(back, home)),
                    )
        return list(loops.values())

    def _trail(self, came: dict[int, int | None], i: int) -> list[Pipe]:
        trail = [self.network.pipes[i]]
        while (before := came[trail[-1].index]) is not None:
            trail.append(self.network.pipes[before])
        return trail

    def _joined(self, a: PortId, b: PortId) -> bool:
        return b.port in _inside(self.network.parts[a.tag].kind, a.port, True)

    def _beside(self, port: PortId) -> list[str]:
        """Openings of a part on the same section as this one: at a body only its vent or drain next to it."""
        kind = self.network.parts[port.tag].kind
        if not self._sort(port):
            return list(kind.ports)
        pairs = [(p.a, p.b) for p in kind.passages] + [(p.b, p.a) for p in kind.passages]
        return [b for a, b in pairs if a == port.port and b != OUTSIDE and kind.ports[b].role == "dead"]


def _links_heat(kind: PartKind) -> bool:
    return any(p.sort == "heat" for p in kind.passages)


def find_circuits(network: Network, medium: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """Closed loops in the listed direction, each from a giver of heat to a taker next on its way and back.

    A loop is the tags that water passes, beginning with the giver. There is one for each store, separator or exchanger,
    and one for the emitter that is nearest.
    """
    sides = _Sides(network, medium)
    givers = [tag for tag, part in network.parts.items() if part.kind.gives]
    return tuple(loop for tag in givers for loop in sides.loops(tag))
