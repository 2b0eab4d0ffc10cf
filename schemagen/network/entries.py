"""The entries of a line read into typed values; what names a part is looked up on the roll."""

from collections.abc import Mapping
from typing import Any

from schemagen.joblist.joblist import Entry
from schemagen.network.findings import Findings
from schemagen.network.network import PortId
from schemagen.network.roll import Roll
from schemagen.network.values import ValueFault, read_value, split
from schemagen.network.words import near, word
from schemagen.parts.kind import Attribute


class _Unbuilt(Exception):
    """A field names a part that is listed, but whose kind is unknown."""

    def __init__(self, tag: str) -> None:
        super().__init__(tag)
        self.tag = tag


class EntryReader:
    """Reads entries by the attributes that their line may carry; an entry that cannot be read is a finding."""

    def __init__(self, roll: Roll, findings: Findings) -> None:
        self.roll, self.findings = roll, findings

    def read(
        self,
        entry: Entry,
        attributes: Mapping[str, Attribute],
        subject: str,
        values: dict[str, Any],
        texts: dict[str, str],
        what: str,
        ports: tuple[str, ...] = (),
    ) -> None:
        """Puts an entry into `values` by its key, and as written into `texts`; `what` is the line that carries it."""
        key = word(entry.key)
        parts = () if ports else (subject,)
        if key not in attributes:
            guess = near(key, attributes)
            hint = f"; did you mean {guess}?" if guess else ""
            cure = (
                f"write {guess}: {entry.text}"
                if guess
                else f"leave it out, or use one of: {', '.join(sorted(attributes))}"
            )
            self.findings.say(
                "unknown-word",
                "warning",
                f"{subject}: {what} has no field {entry.key!r}{hint}",
                cure,
                parts,
                ports,
                entry.place,
            )
            return
        try:
            values[key] = read_value(entry.text, attributes[key], self.resolve)
            texts[key] = entry.text.strip()
        except _Unbuilt as e:
            self.roll.blame_ghost(e.tag, parts)
        except ValueFault as e:
            self.findings.say(e.check, "error", f"{subject}, {key}: {e.message}", e.cure, parts, ports, entry.place)

    def resolve(self, text: str, attribute: Attribute) -> Any:
        """The tags or openings that a text names. Raises ValueFault where there are none."""
        if attribute.dimension == "tag":
            return self._a_tag(text, attribute)
        if attribute.dimension == "tags":
            return tuple(dict.fromkeys(self._a_tag(item.partition(":")[0], attribute) for item in split(text)))
        if attribute.dimension == "ports":
            return tuple(self._a_port(item) for item in split(text))
        return self._a_port(text)

    def _a_tag(self, text: str, attribute: Attribute) -> str:
        tag = self.roll.find_tag(text)
        if tag:
            return tag
        if tag == "":
            raise _Unbuilt(text)
        check = "control-list-broken" if attribute.name in ("switches", "acts-on", "reads") else "unknown-end"
        raise ValueFault(check, self.roll.no_part(text), self.roll.cure_for_tag(text))

    def _a_port(self, text: str) -> PortId:
        left, dot, right = text.rpartition(".")
        if tag := self.roll.find_tag(text):
            return PortId(tag, "")
        if tag == "" or dot and self.roll.find_tag(left) == "":
            raise _Unbuilt(text)
        if dot and (tag := self.roll.find_tag(left)):
            kind, name = self.roll.lines[tag][1], word(right)
            if name in kind.ports or kind.grows and name.startswith(kind.grows.partition("{n}")[0]):
                return PortId(tag, name)
            guess = near(name, kind.ports)
            raise ValueFault(
                "unknown-end",
                f"{tag} ({kind.name}) has no opening {right!r}" + (f"; did you mean {guess}?" if guess else ""),
                f"write {tag}. and one of: {', '.join(kind.ports)}",
            )
        raise ValueFault("unknown-end", self.roll.no_part(left or text), self.roll.cure_for_tag(left or text))
