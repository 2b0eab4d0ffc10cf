"""What is written beside changed parts: the new, and the old struck through."""

from collections.abc import Sequence

from schemagen.changes.values import Value
from schemagen.layout.captions import LONGEST_LINE, SHORT_LINE, broken, caption_lines
from schemagen.network.network import Part

Caption = tuple[tuple[str, bool], ...]
"""Lines from the top, and whether a line is struck through."""

MOST_MORE = 2
"""So many changed quantities are written that are not in the usual caption; the table has them all."""


def removed_caption(part: Part) -> Caption:
    """All lines struck through."""
    return tuple((line, True) for line in caption_lines(part))


def caption_of(old: Part, new: Part, values: Sequence[Value]) -> Caption:
    """The usual lines of the new part; each that changed below the old one."""
    if not caption_lines(new):
        return ()
    longest = LONGEST_LINE if new.kind.shape == "major" else SHORT_LINE
    changed = {value.key: value for value in values}
    lines = [(new.tag, False)]
    if old.tag != new.tag:
        lines.append((old.tag, True))
    for key in ("kind", "label"):
        if key in changed:
            lines += [(line, True) for line in broken(changed[key].old, longest)]
            lines += [(line, False) for line in broken(changed[key].new, longest)]
    if "label" not in changed:
        lines += [(line, False) for line in broken(new.label, longest)]
    before, after = (_figure(part, longest) for part in (old, new))
    if before != after:
        lines += [(line, True) for line in before]
    lines += [(line, False) for line in after]
    more = [v for v in values if v.key not in ("kind", "label") and isinstance(_typed(old, new, v.key), float)]
    for value in [v for v in more if v.old not in before and v.new not in after][:MOST_MORE]:
        lines += [(f"{value.key} {value.old}", True)] if value.old else []
        lines += [(f"{value.key} {value.new}", False)] if value.new else []
    return tuple(lines)


def _figure(part: Part, longest: int) -> tuple[str, ...]:
    """The one setting that is written below tag and label, if any."""
    return caption_lines(part)[1 + len(broken(part.label, longest)) :]


def _typed(old: Part, new: Part, key: str):
    return new.values.get(key, old.values.get(key))
