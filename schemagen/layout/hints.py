"""Where the list wants parts to stand: `left-of:`, `right-of:`, `above:` and `below:`, and what became of that."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from schemagen.network.network import Network

if TYPE_CHECKING:
    from schemagen.layout.block import Block
    from schemagen.layout.placement import Plan

WAYS = ("left-of", "right-of", "above", "below")
"""The attributes, each with the tag of the other part."""

Pairs = tuple[tuple[int, int], ...]


class Hint(NamedTuple):
    """`tag` is wanted on that side of `other`."""

    tag: str
    way: str
    other: str

    @property
    def text(self) -> str:
        return f"{self.tag} {self.way.replace('-', ' ')} {self.other}"

    @property
    def level(self) -> bool:
        return self.way in ("left-of", "right-of")

    @property
    def pair(self) -> tuple[str, str]:
        """The left or upper one first."""
        return (self.tag, self.other) if self.way in ("left-of", "above") else (self.other, self.tag)


def hints_of(network: Network) -> tuple[Hint, ...]:
    """The hints of the list, those to parts that are not in the network left out."""
    return tuple(
        Hint(part.tag, way, part.values[way])
        for part in network.parts.values()
        for way in WAYS
        if part.values.get(way) in network.parts
    )


def agreed(hints: Sequence[Hint]) -> tuple[tuple[Hint, ...], tuple[Hint, ...]]:
    """The hints that can hold together, in the order of the list, and those that contradict one before them."""
    kept: list[Hint] = []
    broken: list[Hint] = []
    after: Mapping[bool, dict[str, list[str]]] = {True: {}, False: {}}
    for hint in hints:
        first, second = hint.pair
        if _leads(after[hint.level], second, first):
            broken.append(hint)
        else:
            kept.append(hint)
            after[hint.level].setdefault(first, []).append(second)
    return tuple(kept), tuple(broken)


def _leads(after: Mapping[str, Sequence[str]], start: str, end: str) -> bool:
    """True if a row of pairs leads from one tag to another, or both are one."""
    seen = {start: None}
    queue = [start]
    for tag in queue:
        for other in after.get(tag, ()):
            if other not in seen:
                seen[other] = None
                queue.append(other)
    return end in seen


def hinted(network: Network, blocks: "Sequence[Block]") -> tuple[Pairs, Pairs]:
    """The pairs of blocks of which the first is wanted left of the second, and those wanted above each other."""
    where = {tag: n for n, block in enumerate(blocks) for tag in block.tags}
    kept, _ = agreed(hints_of(network))
    pairs: dict[bool, dict[tuple[int, int], None]] = {True: {}, False: {}}
    for hint in kept:
        a, b = (where.get(tag, -1) for tag in hint.pair)
        if min(a, b) >= 0 and a != b and (b, a) not in pairs[hint.level]:
            pairs[hint.level][a, b] = None
    return tuple(pairs[True]), tuple(pairs[False])


def refused(network: Network, plan: "Plan") -> tuple[str, ...]:
    """A sentence for each hint that the plan does not honour, with the reason."""
    kept, broken = agreed(hints_of(network))
    out = [f"{hint.text}: contradicts other hints" for hint in broken]
    for hint in kept:
        first, second = (plan.parts[tag].box for tag in hint.pair)
        if not (first.right <= second.x if hint.level else first.bottom <= second.y):
            out.append(f"{hint.text}: {_reason(network, hint)}")
    return tuple(out)


def _reason(network: Network, hint: Hint) -> str:
    first, second = hint.pair
    feeds = {(p.start.tag, p.end.tag) for p in network.pipes}
    if (first, second) in feeds or (second, first) in feeds:
        return "the pipe between them leads the other way" if hint.level else "the pipe between them keeps them level"
    places = {network.parts[tag].place for tag in hint.pair}
    if len(places) > 1:
        return "their places stand otherwise to each other"
    return "the pipes would have to turn back or cross others"
