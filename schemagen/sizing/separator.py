"""The body of water by which a part separates circuits, and its hot and its cool end."""

from schemagen.network.network import Part


def is_top(part: Part, name: str) -> bool:
    """True for an opening at the hot end of a separator."""
    return in_heart(part, name) and (name.endswith("flow") or name in ("top", "primary-in", "buffer-top"))


def is_bottom(part: Part, name: str) -> bool:
    """True for an opening at the cool end of a separator."""
    return in_heart(part, name) and not is_top(part, name)


def in_heart(part: Part, name: str) -> bool:
    """True for an opening into the body of water by which a separator separates."""
    spec = part.kind.ports.get(name)
    own = name not in ("cold-in", "hot-out", "circulation-return") and not name.startswith(("coil", "vent", "drain"))
    return spec is not None and spec.role != "dead" and own


def heart(part: Part) -> tuple[str, str]:
    """One opening at the top and one at the bottom of a separator's body."""
    names = [n for n in part.kind.ports if in_heart(part, n)]
    return next(n for n in names if is_top(part, n)), next(n for n in names if is_bottom(part, n))


def through_heart(part: Part, a: str, b: str) -> bool:
    """True for the way inside a separator between two openings of its body."""
    return part.kind.separates and in_heart(part, a) and in_heart(part, b)
