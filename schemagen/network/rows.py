"""What stands in a list beside parts and connections: fluids, named states, and findings that are accepted."""

from typing import Any

from schemagen.joblist.joblist import Entry, Row
from schemagen.network.entries import EntryReader
from schemagen.network.network import Acceptance, NamedState
from schemagen.network.values import split
from schemagen.network.words import word
from schemagen.parts.kind import Attribute


def fluid(reader: EntryReader, row: Row) -> dict[str, Any]:
    """What is said of one fluid."""
    attributes = {
        a.name: a
        for a in (
            Attribute("content", "volume", "water content", unit="L"),
            Attribute("antifreeze", "percent", "share of antifreeze"),
            Attribute("inhibitor", "flag", "corrosion inhibitor added"),
            Attribute("note", "text", "remark"),
        )
    }
    values: dict[str, Any] = {}
    for entry in row.entries:
        reader.read(entry, attributes, row.name, values, {}, "a fluid", ("",))
    return values


def named_state(reader: EntryReader, row: Row) -> NamedState:
    """A state that the list names: what calls in it, and the positions of its parts."""
    calling: tuple[str, ...] = ()
    positions: dict[str, str] = {}
    for entry in row.entries:
        key = word(entry.key)
        if key == "calling":
            calling = tuple(t for item in split(entry.text) if (t := _state_tag(reader, item, row, entry)))
        elif key == "positions":
            for tag, position in ((k.strip(), v) for k, _, v in (i.partition(":") for i in split(entry.text))):
                _position(reader, tag, position, row, entry, positions)
        elif key not in ("note", "label", "name"):
            _position(reader, entry.key, entry.text, row, entry, positions)
    return NamedState(row.name or _entry(row, "name"), calling, positions, row.place)


def _state_tag(reader: EntryReader, text: str, row: Row, entry: Entry) -> str | None:
    tag = reader.roll.find_tag(text)
    if tag is None:
        message = f"state {row.name}: {reader.roll.no_part(text)}"
        reader.findings.say("control-list-broken", "error", message, reader.roll.cure_for_tag(text), place=entry.place)
    return tag or None


def _position(reader: EntryReader, text: str, said: str, row: Row, entry: Entry, positions: dict[str, str]) -> None:
    tag = _state_tag(reader, text, row, entry)
    if tag is None:
        return
    kind, position = reader.roll.lines[tag][1], word(said)
    allowed = kind.positions or (("on", "off") if kind.giver or kind.driver else ())
    if position not in allowed and not (position in ("on", "off") and (kind.giver or kind.driver)):
        reader.findings.say(
            "control-list-broken",
            "error",
            f"state {row.name}: {tag} ({kind.name}) has no position {said.strip()!r}",
            f"write one of: {', '.join(allowed)}" if allowed else f"leave {tag} out: it has no moving part",
            (tag,),
            place=entry.place,
        )
    elif positions.setdefault(tag, position) != position:
        reader.findings.say(
            "control-list-broken",
            "error",
            f"state {row.name}: {tag} is to be {positions[tag]} and {position} at once",
            "name one position for it",
            (tag,),
            place=entry.place,
        )


def acceptance(reader: EntryReader, row: Row) -> Acceptance:
    """A check whose findings are accepted, at some parts or everywhere."""
    check = word(_entry(row, "check") or row.name)
    named = [item for key in ("parts", "part", "at", "tag", "tags") for item in split(_entry(row, key))]
    found = [reader.roll.find_tag(item) or reader.roll.find_tag(item.rpartition(".")[0]) for item in named]
    for item, tag in zip(named, found, strict=True):
        if tag is None:
            reader.findings.say(
                "unknown-word",
                "warning",
                f"accept: {reader.roll.no_part(item)}",
                reader.roll.cure_for_tag(item),
                place=row.place,
            )
    reason, by, date = (_entry(row, key) for key in ("reason", "by", "date"))
    return Acceptance(check, tuple(t for t in found if t), reason, by, date, row.place)


def _entry(row: Row, key: str) -> str:
    return next((e.text.strip() for e in row.entries if word(e.key) == key), "")
