"""A network on several sheets: each has its own parts, and connectors where a pipe goes on to another sheet."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from schemagen.network.network import Network, Part, Pipe, PortId
from schemagen.network.waters import Waters
from schemagen.parts.kind import PartKind

CONNECTOR = "off-sheet-connector"
"""The kind of a connector."""

CONNECTED = "to"
"""The opening of a connector."""

WIDEST = "from sheet 88, M88"
"""Room is kept beside each connector for a text as long as this."""


@dataclass(frozen=True)
class Share:
    """What one sheet has of a network.

    network     its own parts and pipes, with a connector at the end of each pipe that goes on elsewhere
    waters      of those pipes, as they are in the whole
    pipes       for each of its pipes the index in the whole
    connectors  by tag: index in the whole of the pipe that is cut there
    """

    network: Network
    waters: Waters
    pipes: tuple[int, ...]
    connectors: Mapping[str, int]


def shared_out(
    network: Network, waters: Waters, sheets: Sequence[Sequence[str]], connector: PartKind
) -> tuple[Share, ...]:
    """The share of each sheet. After: every part is in one; a pipe is in the share of each of its ends."""
    return tuple(_share(network, waters, frozenset(tags), connector) for tags in sheets)


def _share(network: Network, waters: Waters, tags: frozenset[str], connector: PartKind) -> Share:
    parts = {tag: _alone(part, tags) for tag, part in network.parts.items() if tag in tags}
    pipes: list[Pipe] = []
    index: list[int] = []
    connectors: dict[str, int] = {}
    for pipe in network.pipes:
        starts, ends = pipe.start.tag in tags, pipe.end.tag in tags
        if not (starts or ends):
            continue
        own = replace(pipe, index=len(pipes))
        if not (starts and ends):
            flag = _flag((network.parts, parts), pipe, connector, "out" if starts else "in")
            parts[flag.tag] = flag
            connectors[flag.tag] = pipe.index
            at = PortId(flag.tag, CONNECTED)
            own = replace(own, whole=pipe, **({"end": at} if starts else {"start": at}))
        pipes.append(own)
        index.append(pipe.index)
    return Share(replace(network, parts=parts, pipes=tuple(pipes)), _of(waters, index), tuple(index), connectors)


def _alone(part: Part, tags: frozenset[str]) -> Part:
    """The part as it acts on what stands on its own sheet."""
    targets = part.value("switches")
    if not targets or tags.issuperset(targets):
        return part
    return replace(part, values={**part.values, "switches": tuple(t for t in targets if t in tags)})


def _flag(taken: Sequence[Collection[str]], pipe: Pipe, kind: PartKind, way: str) -> Part:
    """The connector at a cut. Both ends have the same tag but for the way; it is one that no part of the list has."""
    tag = f"{way} {pipe.name}"
    while any(tag in tags for tags in taken):
        tag += " "
    return Part(tag, kind, {"type": way}, {"type": way, "caption": WIDEST}, pipe.line, made=True)


def _of(waters: Waters, index: Sequence[int]) -> Waters:
    """The waters of some of the pipes."""
    return Waters(
        *(tuple(of_all[i] for i in index) for of_all in (waters.medium, waters.section, waters.body)),
        circuits=(),
        carries=tuple(waters.carries[i] for i in index),
    )
