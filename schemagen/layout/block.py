"""A block: one piece to be placed, in any of its possible shapes."""

from dataclasses import dataclass

from schemagen.layout.shapes import End, Shape


@dataclass(frozen=True)
class Block:
    """One piece to be placed: its possible shapes, the plainest first. A `joint` is a lone tee whose sides are open."""

    tags: tuple[str, ...]
    shapes: tuple[Shape, ...]
    ends: tuple[End, ...]
    joint: str = ""
    run: bool = False


def block_of(shapes: tuple[Shape, ...], run: bool = False) -> Block:
    """The block that takes any of these shapes, which have the same parts and the same open ends."""
    return Block(tuple(p.tag for p in shapes[0].parts), shapes, tuple(shapes[0].open), run=run)
