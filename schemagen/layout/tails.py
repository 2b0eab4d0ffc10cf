"""What hangs on a part: small parts in a chain on a tee or a port, and parts without a pipe that sit on another.

A gauge, a vent, a vessel or a relief valve with its tundish is no piece of its own. No part hangs on two others, and
none that hangs carries a tail itself.
"""

from dataclasses import dataclass

from schemagen.layout.shapes import End, pipes_at, placed, port_of, positions
from schemagen.network.network import Network, Part, PortId


@dataclass(frozen=True)
class Tail:
    """A chain that hangs off a part: (tag, port in, port out or "") from the root outwards, and the pipes between."""

    chain: tuple[tuple[str, str, str], ...]
    root: End
    pipes: tuple[End, ...]
    loose: End | None
    down: bool


class Piping:
    """Parts with the ends of pipes at them, and what of them hangs on others.

    `tails` has the tails of each root, `mounted` the parts without a pipe that sit on each host; `hung` are all these.
    """

    def __init__(self, network: Network, tags: list[str]) -> None:
        self.network = network
        self.tags = tags
        self.own = set(tags)
        self.ends: dict[str, list[tuple[End, str]]] = {t: [] for t in tags}
        for pipe in pipes_at(network, tags):
            for n, port in enumerate((pipe.start, pipe.end)):
                if port.tag in self.own:
                    self.ends[port.tag].append((End(pipe.index, n), port.port))
        self.mounted: dict[str, list[str]] = {}
        self.tails: dict[str, list[Tail]] = {}
        self.hung: set[str] = set()
        self._mount()
        self._hang()

    def part(self, tag: str) -> Part:
        """The part of that tag."""
        return self.network.parts[tag]

    def far(self, end: End) -> PortId:
        """The port at the other end of the pipe."""
        return port_of(self.network, end.other)

    def onward(self, tag: str) -> list[End]:
        """The ends by which a unit goes on, tails left out."""
        hung = {t.root for t in self.tails.get(tag, ())}
        return [e for e, _ in self.ends[tag] if e not in hung]

    def guests(self, tag: str) -> list[Part]:
        """The parts that sit on this one."""
        return [self.part(t) for t in self.mounted.get(tag, ())]

    def _mount(self) -> None:
        """Finds the parts that sit on others."""
        for tag in self.tags:
            host = self.network.host_of(tag)
            if host and host.tag in self.own and host.tag != tag and not self.ends[tag]:
                self.mounted.setdefault(host.tag, []).append(tag)
                self.hung.add(tag)

    def _hang(self) -> None:
        """Finds the tails, those of earlier parts first."""
        for tag in self.tags:
            if tag in self.hung or not self._carries_tails(tag):
                continue
            for end, _ in self.ends[tag]:
                tail = self._tail(tag, end)
                if tail and not any(t in self.hung for t, _, _ in tail.chain):
                    self.tails.setdefault(tag, []).append(tail)
                    self.hung.update(t for t, _, _ in tail.chain)

    def _carries_tails(self, tag: str) -> bool:
        part = self.part(tag)
        return part.kind.shape in ("tee", "major") and len(self.ends[tag]) > 1

    def _tail(self, root: str, end: End) -> Tail | None:
        """What hangs on an end of the root, if it is a chain to something that ends there or to a relief valve."""
        chain: list[tuple[str, str, str]] = []
        pipes: list[End] = []
        seen = {root}
        at = end
        while True:
            port = self.far(at)
            if port.tag not in self.own or port.tag in seen or port.tag in self.hung or len(chain) > 5:
                return None
            seen.add(port.tag)
            part = self.part(port.tag)
            rest = [(e, p) for e, p in self.ends[port.tag] if e != at.other]
            if chain:
                pipes.append(at)
            if not rest:
                down = _is_relief(part, port.port) or _hangs(part, port.port)
                if down is None:
                    return None
                chain.append((port.tag, port.port, ""))
                return Tail(tuple(chain), end, tuple(pipes), None, down)
            if len(rest) != 1:
                return None
            out, name = rest[0]
            chain.append((port.tag, port.port, name))
            if _is_relief(part, port.port):
                more = self._tail_on(port.tag, out, seen)
                if more:
                    return Tail((*chain, *more.chain), end, (*pipes, more.root, *more.pipes), more.loose, True)
                return Tail(tuple(chain), end, tuple(pipes), out, True)
            if part.kind.shape != "inline":
                return None
            at = out

    def _tail_on(self, tag: str, end: End, seen: set[str]) -> Tail | None:
        """What hangs down from the outlet of a relief valve."""
        tail = self._tail(tag, end)
        return tail if tail and tail.down and not any(t in seen for t, _, _ in tail.chain) else None


def _hangs(part: Part, port: str) -> bool | None:
    """True if the part hangs down from its port, False if it stands on it, None if it does neither."""
    if part.kind.shape != "stub" and part.kind.family != "ends":
        return None
    for turn, mirror in positions(part):
        side = placed(part, turn, mirror).ports[port].side
        if side in "TB":
            return side == "T"
        if part.kind.family in ("ends", "sources") and part.kind.shape != "stub":
            return None
    return True if part.kind.shape == "stub" else None


def _is_relief(part: Part, port: str) -> bool:
    """True if the port is the inlet of a relief valve."""
    return part.kind.shape == "bent" and len(part.kind.ports) == 2 and part.kind.ports[port].role == "dead"
