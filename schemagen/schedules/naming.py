"""How parts, places and sets of them are named in tables and sentences."""

from collections.abc import Iterable

from schemagen.network.network import Network, Part


def name_of(network: Network, tag: str) -> str:
    """The tag, and in brackets what people call it: "R1 (Hall)"; with its place if others are called the same."""
    part = network.parts[tag]
    alike = any(about(p) == about(part) for p in network.parts.values() if p.tag != tag)
    place = f", {part.place}" if alike and part.place else ""
    return f"{tag} ({about(part)}{place})"


def about(part: Part) -> str:
    """What people call it: its label, else the room it serves, else its kind."""
    return part.label or str(part.texts.get("room", "")) or part.kind.title


def kind_words(part: Part) -> str:
    """The kind with a capital first letter, for the cells of tables."""
    return capital(part.kind.title)


def what_is(part: Part) -> str:
    """The kind, and the label or room if it says more: "Pump: Heating pump", "Room thermostat: Hall"."""
    kind = kind_words(part)
    return kind if about(part).casefold() == kind.casefold() else f"{kind}: {about(part)}"


def named(network: Network, tags: Iterable[str]) -> str:
    """Parts as a list in words: "R1 (Hall) and R2 (Living room)"."""
    return listed(name_of(network, tag) for tag in tags)


def listed(words: Iterable[str]) -> str:
    *head, last = list(words) or [""]
    return f"{', '.join(head)} and {last}" if head else last


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]
