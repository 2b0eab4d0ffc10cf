"""What stands high in a drawing, what stands low, and which pipes fall: as in the house, so on the sheet."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from schemagen.layout.block import Block
from schemagen.layout.hints import hinted
from schemagen.layout.levels import warmth
from schemagen.layout.settle import Rule
from schemagen.layout.shapes import End
from schemagen.network.network import Network

HIGH = {
    "open-vent-end": 3,
    "cold-water-cistern": 2,
    "feed-and-expansion-cistern": 2,
    "solar-collector": 1,
}
"""Kinds drawn at the top. A vent opens over its cistern, and a cistern stands above all that it feeds, for water to run
by its own weight (common practice, no source)."""

DRAINS = frozenset(("discharge", "condensate"))
"""Sections that run to waste by their own weight: relief valve, tundish, outlet, one below the other."""

FAMILIES_BELOW = frozenset(("sources", "stores"))

MOST_PAIRS = 2000

HINTED = 0.5
"""How much higher a part belongs that the list wants above another."""


@dataclass(frozen=True)
class Fall:
    """A pipe that never rises on its way from its end `upper` to its other end."""

    upper: End


@dataclass(frozen=True)
class Gravity:
    """Up and down for the blocks and pipes of one arrangement.

    `warm` is 1 for flow pipes, -1 for returns; `lift` and `pipe_lift` say how high blocks and pipes belong, 0 for what
    may stand anywhere; `over` are pairs of blocks of which the first belongs above the second; `before` pairs of which
    the list wants the first left of the second.
    """

    warm: Mapping[int, int]
    lift: Sequence[int]
    pipe_lift: Mapping[int, int]
    falls: tuple[Fall, ...]
    over: tuple[tuple[int, int], ...]
    before: tuple[tuple[int, int], ...] = ()

    @property
    def roofs(self) -> list[int]:
        """The blocks of collectors, which stand at the top left (common practice, no source)."""
        return [n for n, high in enumerate(self.lift) if high == HIGH["solar-collector"]]


def gravity(
    network: Network, section: Sequence[str], blocks: Sequence[Block], ends: Mapping[int, tuple[int, int]]
) -> Gravity:
    """Up and down for the blocks and for the pipes `ends` (pipe: block at its start, block at its end) between them."""
    drains = {pipe for pipe in ends if section[pipe] in DRAINS}
    lift = [_lift(network, block, drains) for block in blocks]
    below = [n for n, block in enumerate(blocks) if lift[n] <= 0 and _families(network, block) & FAMILIES_BELOW]
    above = [n for n, high in enumerate(lift) if high > 0]
    over = [(a, b) for a in above for b in below] if len(above) * len(below) < MOST_PAIRS else []
    over += [(a, b) for a, b in _stood_over(network, blocks)]
    before, wanted = hinted(network, blocks)
    for a, b in wanted:
        lift[a] = max(lift[a], lift[b] + HINTED)
    falls = (_fall(network, pipe, pipe in drains) for pipe in ends)
    return Gravity(
        {pipe: warmth(section[pipe]) for pipe in ends},
        lift,
        {pipe: -1 if pipe in drains and not _overflow(network, pipe) else 0 for pipe in ends},
        tuple(fall for fall in falls if fall),
        (*over, *wanted),
        before,
    )


def _families(network: Network, block: Block) -> set[str]:
    return {network.parts[tag].kind.family for tag in block.tags if network.parts[tag].kind.name not in HIGH}


def _lift(network: Network, block: Block, drains: set[int]) -> int:
    if block.ends and all(end.pipe in drains and not _overflow(network, end.pipe) for end in block.ends):
        return -1
    return lift_of(network, block)


def lift_of(network: Network, block: Block) -> int:
    """How high a block belongs: as high as the highest thing in it, unless it holds more than what belongs there."""
    if _families(network, block) & (FAMILIES_BELOW | {"emitters"}):
        return 0
    return max((HIGH.get(network.parts[tag].kind.name, 0) for tag in block.tags), default=0)


def _overflow(network: Network, index: int) -> bool:
    """True for a drain that comes straight from something at the top."""
    return network.parts[network.pipes[index].start.tag].kind.name in HIGH


def _fall(network: Network, index: int, drains: bool) -> Fall | None:
    pipe = network.pipes[index]
    if drains:
        return Fall(End(index, 0))
    for n, port in enumerate((pipe.start, pipe.end)):
        kind = network.parts[port.tag].kind
        if kind.name in HIGH and kind.ports[port.port].side == "B":
            return Fall(End(index, n))
    return None


def _stood_over(network: Network, blocks: Sequence[Block]) -> list[tuple[int, int]]:
    """Vents and the cisterns that they open over, where these are of different blocks."""
    where = {tag: n for n, block in enumerate(blocks) for tag in block.tags}
    pairs = [(where[t], where.get(network.parts[t].texts.get("over", ""), -1)) for t in where]
    return [(a, b) for a, b in pairs if b >= 0 and a != b]


def downwards(marks: Sequence[tuple[int, int]]) -> list[Rule]:
    """Rules by which points, each with what is to be added to its height, stand one no higher than the next."""
    return [Rule(a, b, p - q) for (a, p), (b, q) in pairwise(marks) if a != b]
