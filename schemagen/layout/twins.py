"""Equal places are laid out once: a key that equal ones share, and the drawing of one under the names of another."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from schemagen.layout.captions import caption_lines, caption_size
from schemagen.layout.hints import WAYS
from schemagen.layout.shapes import End, Shape, Ways, pipes_at
from schemagen.network.network import Network


def key_of(
    network: Network, section: Sequence[str], inner: Sequence[str], wanted: Ways, far: Mapping[str, int]
) -> tuple[tuple, tuple[int, ...]]:
    """What a place looks like apart from names, and its pipes in an order that goes with it.

    `far` says how far from the sources each part is. Two places with the same key are drawn alike, part by part in the
    order of `inner`, pipe by pipe in that order.
    """
    number = {tag: n for n, tag in enumerate(inner)}
    parts = []
    for tag in inner:
        part = network.parts[tag]
        lines = caption_lines(part)
        host = network.host_of(tag)
        acts = tuple(number.get(t, -1) for t in part.value("switches", ()))
        parts.append(
            (
                part.kind.name, part.kind.units, len(lines), caption_size(lines) if lines else (),
                (number.get(host.tag, -1), host.port) if host else (), acts,
                tuple(number.get(part.values[way], -1) if way in part.values else -2 for way in WAYS),
            )
        )  # fmt: skip
    pipes = []
    for pipe in pipes_at(network, inner):
        a, b = number.get(pipe.start.tag, -1), number.get(pipe.end.tag, -1)
        ends = [End(pipe.index, n) for n in (0, 1)]
        farther = 0 if a >= 0 and b >= 0 else _sign(far.get(pipe.end.tag, 0) - far.get(pipe.start.tag, 0))
        pipes.append(
            (
                a, pipe.start.port if a >= 0 else "", b, pipe.end.port if b >= 0 else "", section[pipe.index],
                farther, tuple(wanted.get(e, ("", -1)) for e in ends), pipe.index,
            )
        )  # fmt: skip
    pipes.sort()
    return (tuple(parts), tuple(p[:-1] for p in pipes)), tuple(p[-1] for p in pipes)


def _sign(n: int) -> int:
    return (n > 0) - (n < 0)


def renamed(
    network: Network, shape: Shape, old: tuple[Sequence[str], Sequence[int]], new: tuple[Sequence[str], Sequence[int]]
) -> Shape:
    """The shape of one place with the tags and pipes of its twin."""
    tag = dict(zip(old[0], new[0], strict=True))
    pipe = dict(zip(old[1], new[1], strict=True))
    return Shape(
        tuple(replace(p, tag=tag[p.tag]) for p in shape.parts),
        {pipe[i]: points for i, points in shape.routes.items()},
        tuple(
            replace(t, subject=tag[t.subject], lines=caption_lines(network.parts[tag[t.subject]]))
            for t in shape.labels
        ),
        shape.places,
        {End(pipe[e.pipe], e.end): o for e, o in shape.open.items()},
        {End(pipe[e.pipe], e.end): way for e, way in shape.stubs.items()},
        shape.crossings,
    )
