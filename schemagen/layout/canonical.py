"""An order of parts that follows from how they are joined, not from their tags or from the order of the list."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import replace

from schemagen.network.network import Network, Pipe


def canonical(network: Network, section: Sequence[str]) -> list[str]:
    """All tags, in an order that stays the same if lines are moved or parts are renamed.

    Parts are told apart by kind, place and neighbourhood; only parts that nothing tells apart keep the list's order.
    """
    colour = {
        tag: _mark(part.kind.family, part.kind.name, part.place, part.label) for tag, part in network.parts.items()
    }
    around: dict[str, list[tuple[str, str]]] = {tag: [] for tag in network.parts}
    for pipe in network.pipes:
        kind = section[pipe.index]
        for near, far, way in ((pipe.start, pipe.end, ">"), (pipe.end, pipe.start, "<")):
            here = "" if network.parts[near.tag].kind.shape == "tee" else near.port
            there = "" if network.parts[far.tag].kind.shape == "tee" else far.port
            around[near.tag].append((f"{way}{kind}{here}-{there}", far.tag))
    classes = len(set(colour.values()))
    while True:
        finer = {
            tag: _mark(colour[tag], *sorted(edge + colour[far] for edge, far in around[tag])) for tag in network.parts
        }
        found = len(set(finer.values()))
        colour = finer
        if found == classes:
            break
        classes = found
    return _walked(network, colour, around)


def _mark(*words: str) -> str:
    return hashlib.blake2b("\x00".join(words).encode(), digest_size=8).hexdigest()


def _walked(network: Network, colour: Mapping[str, str], around) -> list[str]:
    """Depth first from the sources, then from whatever is left, so that neighbours stand near each other."""
    place = {tag: n for n, tag in enumerate(network.parts)}
    first = {"sources": 0, "stores": 2}

    def rank(tag: str) -> tuple:
        return first.get(network.parts[tag].kind.family, 1), colour[tag], place[tag]

    out: dict[str, None] = {}
    for root in sorted(network.parts, key=rank):
        stack = [root]
        while stack:
            tag = stack.pop()
            if tag in out:
                continue
            out[tag] = None
            onward = sorted(around[tag], key=lambda e: (e[0][0] == "<", e[0], colour[e[1]], place[e[1]]))
            stack += [far for _, far in reversed(onward) if far not in out]
    return list(out)


def in_canonical_order(network: Network, section: Sequence[str]) -> tuple[Network, tuple[str, ...], tuple[int, ...]]:
    """The network with parts and pipes in an order that does not hang on the list's, the sections of its pipes, and for
    each of its pipes the index in the list.
    """
    rank = {tag: n for n, tag in enumerate(canonical(network, section))}

    def place(pipe: Pipe) -> tuple:
        ends = (pipe.start, pipe.end)
        names = ("" if network.parts[e.tag].kind.shape == "tee" else e.port for e in ends)
        return *(rank[e.tag] for e in ends), *names, pipe.index

    pipes = sorted(network.pipes, key=place)
    return (
        replace(
            network,
            parts={tag: network.parts[tag] for tag in rank},
            pipes=tuple(replace(p, index=n) for n, p in enumerate(pipes)),
        ),
        tuple(section[p.index] for p in pipes),
        tuple(p.index for p in pipes),
    )
