"""Small parts become one with what they sit on, so that only pieces that matter are left to be placed.

A gauge, a vent, a vessel or a relief valve with its tundish hangs on its tee or its store; valves, pumps and such tees
in a row become one run, straight by construction.
"""

from schemagen.layout.block import Block
from schemagen.layout.majors import major
from schemagen.layout.runs import chain_of, is_unit, run_of
from schemagen.layout.tails import Piping
from schemagen.network.network import Network


def contract(network: Network, tags: list[str]) -> list[Block]:
    """Blocks of the parts `tags`, in their order.

    After: every part of `tags` is in exactly one block; a block's pipes run within it; nothing in a block overlaps.
    """
    piping = Piping(network, tags)
    out, done = [], set(piping.hung)
    for tag in tags:
        if tag in done:
            continue
        chain = chain_of(piping, tag, done) if is_unit(piping, tag) else [tag]
        block = run_of(piping, chain) if is_unit(piping, tag) else None
        if block is None:
            block = major(piping, tag)
            done.add(tag)
            _give_back(piping, tag, block, done)
        else:
            done.update(chain)
            for t in chain:
                _give_back(piping, t, block, done)
        out.append(block)
    for tag in tags:
        if tag not in done:
            block = major(piping, tag)
            done.add(tag)
            out.append(block)
    return out


def _give_back(piping: Piping, root: str, block: Block, done: set[str]) -> None:
    """What could not be hung on its root after all is placed by itself."""
    for tail in piping.tails.get(root, ()):
        for tag, _, _ in tail.chain:
            if tag not in block.tags:
                done.discard(tag)
    for tag in piping.mounted.get(root, ()):
        if tag not in block.tags:
            done.discard(tag)
