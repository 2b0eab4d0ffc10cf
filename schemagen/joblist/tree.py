"""What every form of the list is first read into: texts, items and tables, each with its place; nothing interpreted."""

from dataclasses import dataclass
from typing import TypeAlias

from schemagen.base.place import Place


@dataclass(frozen=True, slots=True)
class Text:
    """A scalar as typed; empty if nothing was written."""

    text: str
    place: Place


@dataclass(frozen=True, slots=True)
class Items:
    items: "tuple[Node, ...]"
    place: Place


@dataclass(frozen=True, slots=True)
class Table:
    """Keys and values in the order of the file; a key may occur twice."""

    pairs: "tuple[tuple[Text, Node], ...]"
    place: Place


Node: TypeAlias = Text | Items | Table

DEEPEST = 20
"""Deeper nesting than this is no list; refused by every reader before it costs anything."""


def plain(node: Node) -> str | list | dict:
    """The node as text, list and dict. A key's second occurrence gets a NUL and its number, so that none is lost."""
    if isinstance(node, Text):
        return node.text
    if isinstance(node, Items):
        return [plain(item) for item in node.items]
    return {key: plain(value) for key, _, value in numbered(node)}


def numbered(table: Table) -> list[tuple[str, Text, Node]]:
    """The pairs with a name for each that is unique in the table."""
    seen: dict[str, int] = {}
    out = []
    for key, value in table.pairs:
        n = seen[key.text] = seen.get(key.text, 0) + 1
        out.append((key.text if n == 1 else f"{key.text}\0{n}", key, value))
    return out
