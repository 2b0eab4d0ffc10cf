"""The circulation of hot water: the pipes by which it comes back from the outlets to its store."""

from collections.abc import Iterable

from schemagen.network.network import Network, Pipe, PortId
from schemagen.network.streams import flood
from schemagen.parts.kind import OUTSIDE, PartKind


def circulation(network: Network, medium: tuple[str, ...]) -> list[int]:
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
    return flood(starts, network, among, forward=False, stops=lambda part, port: bool(part.kind.store))
