"""Which part of an old network is which part of a new one: by tag, else by kind and neighbours.

A tag that the user gave names its part. Tees, and parts that were made for the list, have no name that anybody reads:
they are told by what they join. A part whose tag is gone is the same part renamed if its neighbours say so.
"""

from collections import Counter
from collections.abc import Iterator, Mapping

from schemagen.network.network import Network, Part, Pipe, PortId
from schemagen.network.runs import has_free_openings
from schemagen.parts.kind import PartKind

ALIKE = "*"
"""Stands for an opening of a part whose openings are alike."""

Link = tuple[str, str, str, str]
"""How a part is joined: its own opening, the sort of joint, the neighbour's tag and opening."""


def opening(network: Network, port: PortId) -> PortId:
    """The opening with one name for all of a tee, a header or a valve that may be turned round."""
    part = network.parts.get(port.tag)
    return PortId(port.tag, ALIKE) if part and _alike(part.kind) else port


def is_joint(part: Part) -> bool:
    """True for tees: drawn as a dot, without a name."""
    return part.kind.shape == "tee" and has_free_openings(part.kind)


def _alike(kind: PartKind) -> bool:
    return has_free_openings(kind) or kind.inlet is not None and kind.ports[kind.inlet].role == "either"


def matched(old: Network, new: Network) -> Mapping[str, str]:
    """New tags by old tags, in the order of the old list; parts without a counterpart are left out.

    After: every pair is of one kind, or has one tag that was given by hand on both sides. The order of the lines makes
    no difference, and with old and new exchanged the pairs are the same.
    """
    pairs = _Pairs(old, new)
    pairs.take_named()
    while pairs.take_neighbours() or pairs.take_same_tag():
        pass
    return {tag: pairs.new_of[tag] for tag in old.parts if tag in pairs.new_of}


class _Pairs:
    """The pairs found so far."""

    def __init__(self, old: Network, new: Network) -> None:
        self.old, self.new = old, new
        self.new_of: dict[str, str] = {}
        self.old_of: dict[str, str] = {}
        self.links = {"old": _links(old), "new": _links(new)}

    def take(self, old: str, new: str) -> None:
        self.new_of[old], self.old_of[new] = new, old

    def take_named(self) -> None:
        """Parts that carry the same tag, given by hand."""
        for tag, part in self.old.parts.items():
            other = self.new.parts.get(tag)
            if other and not (part.made or other.made or is_joint(part) or is_joint(other)):
                self.take(tag, tag)

    def take_same_tag(self) -> bool:
        """What no neighbour tells, as they are all unknown: parts of one kind with one tag."""
        left = [t for t in self._left_old() if t not in self.old_of and self._same_kind(t, t)]
        found = [t for t in left if not (self._known_old(t) or self._known_new(t))]
        for tag in found:
            self.take(tag, tag)
        return bool(found)

    def take_neighbours(self) -> bool:
        """Parts of one kind that are joined to the same neighbours; the clearest first. True if any were found."""
        ranked = self._candidates()
        if not ranked:
            return False
        best_of_old, best_of_new = _best(ranked, 0), _best(ranked, 1)
        clear = [pair for pair, rank in ranked.items() if best_of_old[pair[0]] == best_of_new[pair[1]] == [rank]]
        for pair in clear or [min(ranked, key=lambda p: (ranked[p], p[0] != p[1], min(p), max(p)))]:
            self.take(*pair)
        return True

    def _candidates(self) -> dict[tuple[str, str], tuple[int, int]]:
        """Pairs that may be one part, with how many joints contradict it and, below zero, how many speak for it.

        A tag given by hand on both sides makes good for one joint that contradicts.
        """
        where: dict[Link, list[str]] = {}
        known_new: dict[str, Counter[Link]] = {}
        for tag in self.new.parts:
            if tag not in self.old_of:
                known_new[tag] = self._known_new(tag)
                for link in known_new[tag]:
                    where.setdefault(link, []).append(tag)
        out = {}
        for tag in self._left_old():
            known = self._known_old(tag)
            for other in dict.fromkeys(t for link in known for t in where.get(link, ())):
                both = (known & known_new[other]).total()
                against = known.total() + known_new[other].total() - 2 * both - self._same_by_hand(tag, other)
                bearable = both if is_joint(self.old.parts[tag]) else 0
                if self._same_kind(tag, other) and against <= bearable:
                    out[tag, other] = (against, -both)
        return out

    def _known_old(self, tag: str) -> Counter[Link]:
        """The joints of an old part with parts that have a counterpart, under the tags of these."""
        links = (link for link in self.links["old"][tag] if link[2] in self.new_of)
        return Counter((own, sort, self.new_of[far], port) for own, sort, far, port in links)

    def _known_new(self, tag: str) -> Counter[Link]:
        return Counter(link for link in self.links["new"][tag] if link[2] in self.old_of)

    def _left_old(self) -> Iterator[str]:
        return (tag for tag in self.old.parts if tag not in self.new_of)

    def _same_by_hand(self, old: str, new: str) -> bool:
        return old == new and not (self.old.parts[old].made or self.new.parts[new].made)

    def _same_kind(self, old: str, new: str) -> bool:
        return new in self.new.parts and self.old.parts[old].kind.name == self.new.parts[new].kind.name


def _best(ranked: Mapping[tuple[str, str], tuple[int, int]], side: int) -> dict[str, list[tuple[int, int]]]:
    """For each tag of one side the rank of its best pair, as often as there are such pairs."""
    ranks: dict[str, list[tuple[int, int]]] = {}
    for pair, rank in ranked.items():
        ranks.setdefault(pair[side], []).append(rank)
    return {tag: [rank for rank in found if rank == min(found)] for tag, found in ranks.items()}


def _links(network: Network) -> dict[str, list[Link]]:
    """How every part is joined: by pipes, by what it is mounted on, by what it switches and what switches it."""
    out: dict[str, list[Link]] = {tag: [] for tag in network.parts}
    for pipe in network.pipes:
        for near, far in ends_of(network, pipe):
            if near.tag in out and far.tag in out:
                out[near.tag].append((near.port, "pipe", far.tag, far.port))
    for tag, part in network.parts.items():
        host = network.host_of(tag)
        if host and host.tag in out:
            out[tag].append(("", "on", host.tag, host.port))
            out[host.tag].append((host.port, "bears", tag, ""))
        for other in part.value("switches", ()):
            if other in out:
                out[tag].append(("", "switches", other, ""))
                out[other].append(("", "is-switched", tag, ""))
    return out


def ends_of(network: Network, pipe: Pipe) -> tuple[tuple[PortId, PortId], tuple[PortId, PortId]]:
    """Both ends of a pipe as (near, far), openings that are alike under one name."""
    start, end = opening(network, pipe.start), opening(network, pipe.end)
    return (start, end), (end, start)
