"""A part that is a piece of its own, in each of its turns, with all that hangs on its ports and its caption.

All shapes of its block have the same parts: as many of those that hang on it as any turn has room for.
"""

from collections.abc import Sequence

from schemagen.base.geometry import Box
from schemagen.layout.block import Block, block_of
from schemagen.layout.captions import caption_lines, label_of, slots
from schemagen.layout.mounted import with_mounted
from schemagen.layout.shapes import Opening, Shape, corridor, joined, lines_of, placed, positions
from schemagen.layout.stacks import hung_on_port
from schemagen.layout.tails import Piping
from schemagen.network.network import Part


def major(piping: Piping, tag: str) -> Block:
    """The block of a part with what hangs on it, one shape for each of its turns; a lone tee has no shape yet."""
    part = piping.part(tag)
    if part.kind.name == "tee":
        return Block((tag,), (), tuple(e for e, _ in piping.ends[tag]), joint=tag)
    shapes = tuple(_major_shape(piping, part, turn, mirror) for turn, mirror in positions(part))
    most = max(len(s.parts) for s in shapes)
    shapes = tuple(s for s in shapes if len(s.parts) == most)
    tags = {p.tag for p in shapes[0].parts}
    shapes = tuple(s for s in shapes if {p.tag for p in s.parts} == tags)
    return block_of(shapes)


def _major_shape(piping: Piping, part: Part, turn: int, mirror: bool) -> Shape:
    p = placed(part, turn, mirror)
    tails = {t.root: t for t in piping.tails.get(part.tag, ())}
    ends = {e: Opening(p.ports[name].at, p.ports[name].side) for e, name in piping.ends[part.tag]}
    shape = Shape((p,), {}, (), (), {e: o for e, o in ends.items() if e not in tails})
    for end, tail in tails.items():
        others = [ends[e] for e in ends if e != end]
        hung = hung_on_port(piping.network, tail, ends[end], shape, others)
        shape = joined([shape, hung]) if hung else joined([shape, Shape((), {}, (), (), {end: ends[end]})])
    shape = with_mounted(shape, p, piping.guests(part.tag), "RLBT")
    lines = caption_lines(part)
    if lines:
        blocked = shape.solids() + [corridor(o) for o in shape.open.values()] + lines_of(shape)
        order = "tTbBrl" if part.kind.shape != "stub" else "rltb"
        options = [s for s in slots(lines, p.box, order) if not any(s[0].overlaps(b) for b in blocked)]
        slot = options[0] if options else _beyond(lines, p.box, blocked)
        shape = joined([shape, Shape((), {}, (label_of(part, lines, slot),))])
    return shape


def _beyond(lines: tuple[str, ...], box: Box, blocked: Sequence[Box]) -> tuple[Box, str]:
    """A slot further out, above or below, clear of all that is blocked."""
    for away in range(0, 400, 10):
        for slot in slots(lines, box.grown(away), "TBrltb"):
            if not any(slot[0].overlaps(b) for b in blocked):
                return slot
    raise AssertionError("a caption always finds room within 400 units")
