"""An order of parts that follows from how they are joined, not from their tags or from the order of the list."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import replace

from schemagen.layout.shapes import pipes_at
from schemagen.network.network import Network, Part, Pipe


def canonical(network: Network, section: Sequence[str]) -> list[str]:
    """All tags, in an order that stays the same if lines are moved or parts are renamed.

    Parts are told apart by kind, place and neighbourhood; only parts that nothing tells apart keep the list's order.
    What stands in a run, such as a valve, has no say in the order of the others, so that one more or less leaves it.
    """
    around = _around(network, section)
    within = _in_runs(network, around)
    whole = _colours(network, around)
    heads = {tag: way for tag, way in _past(around, within).items() if tag not in within}
    colour = {tag: c + whole[tag] for tag, c in _colours(network, heads).items()}
    order = _walked(network, colour, heads)
    return _with_runs(order, around, within, whole, list(network.parts))


def alone(network: Network, section: Sequence[str], tags: Sequence[str]) -> list[str]:
    """Some of the parts, in the order that they would have without all others and without names: places that differ in
    names only have the same."""
    own = set(tags)
    pipes = [pipe for pipe in pipes_at(network, tags) if pipe.start.tag in own and pipe.end.tag in own]
    inner = Network(
        network.name, network.sheet, {tag: nameless(network.parts[tag]) for tag in tags},
        tuple(replace(pipe, index=n) for n, pipe in enumerate(pipes)),
    )  # fmt: skip
    return canonical(inner, [section[pipe.index] for pipe in pipes])


def nameless(part: Part) -> Part:
    """A part as it is told from others when names and places count for nothing."""
    return replace(part, texts={key: text for key, text in part.texts.items() if key not in ("place", "label")})


_Edge = tuple[str, str, str]
"""Whether a pipe leads on ("") or comes in ("<"), its section with its opening here, and its opening there."""

_Around = Mapping[str, list[tuple[_Edge, str]]]
"""For each tag the parts that it is piped to, each with the pipe."""


def _around(network: Network, section: Sequence[str]) -> _Around:
    around: dict[str, list[tuple[_Edge, str]]] = {tag: [] for tag in network.parts}
    for pipe in network.pipes:
        kind = section[pipe.index]
        for near, far, way in ((pipe.start, pipe.end, ""), (pipe.end, pipe.start, "<")):
            here = "" if network.parts[near.tag].kind.shape == "tee" else near.port
            there = "" if network.parts[far.tag].kind.shape == "tee" else far.port
            around[near.tag].append(((way, f"{kind} {here}", there), far.tag))
    return around


def _in_runs(network: Network, around: _Around) -> set[str]:
    """Parts that stand in a run between two others."""
    return {
        tag
        for tag, part in network.parts.items()
        if part.kind.shape == "inline" and len(around[tag]) == 2 and tag not in (far for _, far in around[tag])
    }


def _past(around: _Around, within: set[str]) -> _Around:
    """Neighbours seen past the parts that stand in runs; a run that comes back to where it began is left out."""
    out: dict[str, list[tuple[_Edge, str]]] = {}
    for tag, ways in around.items():
        out[tag] = []
        for edge, far in ways:
            before, last = tag, edge
            while far in within and far != tag:
                last, onward = next(((e, f) for e, f in around[far] if f != before), (edge, tag))
                before, far = far, onward
            if far != tag:
                out[tag].append(((*edge[:2], last[2]), far))
    return out


def _colours(network: Network, around: _Around) -> dict[str, str]:
    """A mark for each part that tells it from others by kind, place, label and neighbourhood."""
    parts = network.parts
    colour = {
        tag: _mark(parts[tag].kind.family, parts[tag].kind.name, parts[tag].place, parts[tag].label) for tag in around
    }
    classes = len(set(colour.values()))
    while True:
        finer = {
            tag: _mark(colour[tag], *sorted("\n".join(edge) + colour[far] for edge, far in ways))
            for tag, ways in around.items()
        }
        found = len(set(finer.values()))
        colour = finer
        if found == classes:
            return colour
        classes = found


def _mark(*words: str) -> str:
    return hashlib.blake2b("\x00".join(words).encode(), digest_size=8).hexdigest()


def _walked(network: Network, colour: Mapping[str, str], around: _Around) -> list[str]:
    """Depth first from the sources, then from where water begins, then from whatever is left: neighbours stand near
    each other."""
    place = {tag: n for n, tag in enumerate(network.parts)}
    first = {"sources": 0, "stores": 2}

    def rank(tag: str) -> tuple:
        fed = not around[tag] or any(way for (way, _, _), _ in around[tag])
        return first.get(network.parts[tag].kind.family, 1), fed, colour[tag], place[tag]

    out: dict[str, None] = {}
    for root in sorted(around, key=rank):
        stack = [root]
        while stack:
            tag = stack.pop()
            if tag in out:
                continue
            out[tag] = None
            onward = sorted(around[tag], key=lambda e: (e[0], colour[e[1]], place[e[1]]))
            stack += [far for _, far in reversed(onward) if far not in out]
    return list(out)


def _with_runs(
    order: Sequence[str], around: _Around, within: set[str], colour: Mapping[str, str], listed: Sequence[str]
) -> list[str]:
    """The order with the parts of each run after the part at which it begins."""
    place = {tag: n for n, tag in enumerate(listed)}
    out: dict[str, None] = {}
    for head in (*order, *sorted(within, key=lambda tag: (colour[tag], place[tag]))):
        out.setdefault(head)
        for _, far in sorted(around[head], key=lambda e: (e[0], colour[e[1]], place[e[1]])):
            while far in within and far not in out:
                out[far] = None
                far = next((f for _, f in around[far] if f not in out), head)
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
