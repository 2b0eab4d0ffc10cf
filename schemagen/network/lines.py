"""Lines of pipes in series that are told by the part at their end: filling, cold feeds and open vents."""

from collections.abc import Callable

from schemagen.network.network import Network, PortId
from schemagen.network.reach import is_wet
from schemagen.parts.kind import OUTSIDE, PartKind


class Lines:
    """Pipes in series: walks from an opening away from its part until pipework branches or a body begins."""

    def __init__(self, network: Network) -> None:
        self.network = network

    def from_port(self, port: PortId) -> list[int]:
        """The pipes from an opening on, by index."""
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


def filling(lines: Lines) -> list[int]:
    """From the branch off the cold water to the branch into the heating water, around each filling part."""
    found: list[int] = []
    for part in lines.network.parts.values():
        ports = part.kind.ports
        if "fill" in part.kind.counts_as and len(ports) > 1 and part.kind.breaks_pressure and "cold-feed" not in ports:
            for name, spec in ports.items():
                if spec.media != "D":
                    found += lines.from_port(PortId(part.tag, name))
    return found


def cold_feeds(lines: Lines) -> list[int]:
    """From a cistern down to the water that it feeds."""
    return _lines_of(lines, lambda kind: [name for name in kind.ports if name == "cold-feed"])


def vents(lines: Lines) -> list[int]:
    """Pipes up to an open vent: a dead end that is open to the air, other than a cistern's."""
    return _lines_of(
        lines,
        lambda kind: [
            p.a for p in kind.passages if p.b == OUTSIDE and kind.ports[p.a].role == "dead" and p.a != "cold-feed"
        ],
    )


def _lines_of(lines: Lines, openings: Callable[[PartKind], list[str]]) -> list[int]:
    parts = lines.network.parts.values()
    return [i for part in parts for name in openings(part.kind) for i in lines.from_port(PortId(part.tag, name))]
