"""Small changes of a network: a network in, a changed network out. Tags of new parts follow those in use."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from schemagen.base.place import Place
from schemagen.network.network import Network, Part, Pipe, PortId
from schemagen.parts.kind import PartKind
from schemagen.parts.library import Library

ENDS_OF_PIPES = (
    "tundish", "safe-outlet", "collecting-container", "cap", "drain-cock", "isolating-valve", "lockshield-valve",
    "balancing-valve",
)  # fmt: skip
"""Kinds that have no business on a sheet once the pipe that led to them is gone."""


def with_pipes(network: Network, pipes: Iterable[Pipe]) -> Network:
    """The network with these pipes, numbered anew."""
    return replace(network, pipes=tuple(replace(pipe, index=i) for i, pipe in enumerate(pipes)))


def without_pipe(network: Network, pipe: Pipe) -> Network:
    return with_pipes(network, (p for p in network.pipes if p != pipe))


def with_ends(network: Network, to: Mapping[PortId, PortId], only: Iterable[Pipe] | None = None) -> Network:
    """Ends of pipes moved from port to port; `only` these pipes, or all."""
    moved = None if only is None else {pipe.index for pipe in only}

    def new(pipe: Pipe) -> Pipe:
        if moved is not None and pipe.index not in moved:
            return pipe
        return replace(pipe, start=to.get(pipe.start, pipe.start), end=to.get(pipe.end, pipe.end))

    return with_pipes(network, (new(pipe) for pipe in network.pipes))


def exchanged(network: Network, a: PortId, b: PortId) -> Network:
    """The pipes of two ports exchanged."""
    return with_ends(network, {a: b, b: a})


def without_part(network: Network, tag: str) -> Network:
    """A part gone with its pipes and with what is mounted on it; nobody switches or reads it any more."""
    gone = {tag, *network.mounted_on.get(tag, ())}
    parts = {t: _forgetting(part, gone) for t, part in network.parts.items() if t not in gone}
    pipes = (p for p in network.pipes if p.start.tag not in gone and p.end.tag not in gone)
    return with_pipes(replace(network, parts=parts), pipes)


def _forgetting(part: Part, gone: set[str]) -> Part:
    lists = {k: v for k in ("switches", "reads") if gone & set(v := part.values.get(k, ()))}
    if not lists:
        return part
    return replace(part, values={**part.values, **{k: tuple(t for t in v if t not in gone) for k, v in lists.items()}})


def bridged(network: Network, tag: str, entry: str, leave: str) -> Network:
    """A part taken out, and the pipes of two of its ports made one; the rest is tidied."""
    into, out = (next(iter(network.pipes_at.get(PortId(tag, name), ())), None) for name in (entry, leave))
    if into is None or out is None:
        return left_out(network, tag)
    first, last = (network.far_end(p, PortId(tag, name)) for p, name in ((into, entry), (out, leave)))
    backwards = into.start == PortId(tag, entry)
    whole = replace(into, start=last, end=first) if backwards else replace(into, start=first, end=last)
    near = _neighbours(network, tag)
    kept = (whole if pipe == into else pipe for pipe in network.pipes)
    return tidied(without_part(with_pipes(network, kept), tag), near)


def left_out(network: Network, tag: str) -> Network:
    """A part taken out with its pipes, and what only served it."""
    return tidied(without_part(network, tag), _neighbours(network, tag))


def cut_off(network: Network, pipe: Pipe) -> Network:
    """A pipe taken out, and the tees and ends that only served it."""
    return tidied(without_pipe(network, pipe), [pipe.start.tag, pipe.end.tag])


def _neighbours(network: Network, tag: str) -> list[str]:
    ends = (network.far_end(p, port) for port, pipes in network.pipes_at.items() if port.tag == tag for p in pipes)
    return list(dict.fromkeys(end.tag for end in ends if end.tag != tag))


def tidied(network: Network, tags: Iterable[str]) -> Network:
    """Tees that join two pipes only become pipe; ends and valves to which no pipe leads any more are taken out."""
    todo = list(tags)
    while todo:
        tag = todo.pop()
        part = network.parts.get(tag)
        if part is None:
            continue
        piped = [p.name for p in part.kind.ports.values() if PortId(tag, p.name) in network.pipes_at]
        idle = [p for p in part.kind.ports.values() if p.need == "must" and p.name not in piped]
        if part.kind.name == "tee" and len(piped) == 2:
            network = bridged(network, tag, *piped)
        elif idle and (part.kind.name == "tee" or part.kind.name in ENDS_OF_PIPES and idle[0].role != "out"):
            todo += _neighbours(network, tag)
            network = without_part(network, tag)
    return network


def with_values(network: Network, tag: str, values: Mapping[str, Any], texts: Mapping[str, str]) -> Network:
    """A part with other values, typed as they are in the network, and the texts for them."""
    part = network.parts[tag]
    values, texts = {**part.values, **values}, {**part.texts, **texts}
    said = {k: {True: "yes", False: "no"}.get(v, str(v)) if isinstance(v, bool) else str(v) for k, v in values.items()}
    piped = [port.port for port in network.pipes_at if port.tag == tag]
    new = replace(part, values=values, texts=texts, kind=part.kind.as_listed(said, piped))
    return replace(network, parts={**network.parts, tag: new})


def with_pipe(network: Network, old: Pipe, **fields: Any) -> Network:
    """A pipe with other fields."""
    return with_pipes(network, (replace(p, **fields) if p == old else p for p in network.pipes))


def fresh_tag(network: Network, kind: PartKind) -> str:
    taken = {tag.casefold() for tag in network.parts}
    return next(t for n in range(1, len(taken) + 2) if (t := f"{kind.letter}{n}").casefold() not in taken)


def with_part(network: Network, kind: PartKind, line: Place, values: Mapping[str, Any] | None = None):
    """The network with one more part, and its tag."""
    tag = fresh_tag(network, kind)
    defaults = {"normal": kind.normal} if kind.normal and "normal" in kind.attributes else {}
    part = Part(tag, kind, {**defaults, **(values or {})}, {}, line)
    return replace(network, parts={**network.parts, tag: part}), tag


def put_in(network: Network, library: Library, pipe: Pipe, kind_name: str) -> tuple[Network, str]:
    """A part with an inlet and an outlet put into a pipe, in the direction in which the pipe is listed; its tag."""
    kind = library.kind(kind_name)
    network, tag = with_part(network, kind, pipe.line)
    before = replace(pipe, end=PortId(tag, kind.inlet))
    after = replace(pipe, start=PortId(tag, kind.outlet))
    return with_pipes(network, _replaced(network, pipe, before, after)), tag


def teed(network: Network, library: Library, pipe: Pipe) -> tuple[Network, PortId]:
    """A tee put into a pipe; its free branch."""
    network, tag = with_part(network, library.kind("tee"), pipe.line)
    before, after = replace(pipe, end=PortId(tag, "a")), replace(pipe, start=PortId(tag, "b"))
    return with_pipes(network, _replaced(network, pipe, before, after)), PortId(tag, "branch")


def tied_to(network: Network, library: Library, pipe: Pipe, end: PortId, other: Pipe) -> tuple[Network, str]:
    """One end of a pipe moved to a new tee in another pipe; what the old end leaves is tidied. The new tee."""
    network, branch = teed(network, library, other)
    moved = replace(pipe, start=branch) if pipe.start == end else replace(pipe, end=branch)
    kept = (moved if (p.start, p.end) == (pipe.start, pipe.end) else p for p in network.pipes)
    return tidied(with_pipes(network, kept), [end.tag]), branch.tag


def stub_moved(network: Network, library: Library, port: PortId, other: Pipe) -> tuple[Network, str]:
    """The pipe at the opening of a part led to a new tee in another pipe. The new tee."""
    pipe = pipe_with(network, port)
    return tied_to(network, library, pipe, network.far_end(pipe, port), other)


def _replaced(network: Network, old: Pipe, *new: Pipe) -> Iterable[Pipe]:
    for pipe in network.pipes:
        if pipe == old:
            yield from new
        else:
            yield pipe


def joined(network: Network, start: PortId, end: PortId, like: Pipe) -> Network:
    """One more pipe, of the size of another."""
    pipe = Pipe(len(network.pipes), start, end, like.line, like.size, like.size_text)
    return with_pipes(network, (*network.pipes, pipe))


def pipe_between(network: Network, a: PortId, b: PortId) -> Pipe:
    """The pipe that joins two ports."""
    return next(p for p in network.pipes if {p.start, p.end} == {a, b})


def pipe_with(network: Network, port: PortId) -> Pipe | None:
    """The pipe at a port, None if there is none."""
    return next(iter(network.pipes_at.get(port, ())), None)
