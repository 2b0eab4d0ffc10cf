"""Builds the network from the list as written: whatever cannot be built becomes a finding, the sound rest is built."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from schemagen.base.finding import Finding, Severity
from schemagen.base.place import Place
from schemagen.joblist.joblist import ConnectionLine, Entry, JobList, PartLine, Row
from schemagen.network.hang import hang
from schemagen.network.network import Acceptance, NamedState, Network, Part, Pipe, PortId
from schemagen.network.runs import Piece, Stop, Want, connect, grown, is_signal, read_stops
from schemagen.network.values import ValueFault, read_value, split
from schemagen.network.words import NearTags, near, tag_key, word
from schemagen.parts.kind import MEDIA, Attribute, PartKind
from schemagen.parts.library import Library

PIPE_ATTRIBUTES: dict[str, Attribute] = {
    a.name: a
    for a in (
        Attribute("size", "length", "nominal size", unit="mm"),
        Attribute("medium", "word", "what runs in it"),
        Attribute("length", "length", "length of the whole run", unit="m"),
        Attribute("bends", "count", "number of bends"),
        Attribute("heights", "lengths", "heights along the pipe, in order", unit="m"),
        Attribute("fall", "ratio", "fall along the pipe, such as 1:200"),
        Attribute("drop", "length", "vertical length before the first bend", unit="mm"),
        Attribute("place", "text", "indoor, unheated, outdoor, or the name of a place"),
        Attribute("material", "text", "what the pipe is made of"),
        Attribute("max-temperature", "temperature", "what the pipe stands", unit="°C"),
        Attribute("frost-protection", "text", "independent: trace heating with its own supply"),
        Attribute("gravity", "flag", "the water moves by itself, without a pump"),
        Attribute("label", "text", "name printed at the pipe"),
        Attribute("note", "text", "remark"),
    )
}
"""Fields that a connection may carry."""

_MEDIUM_WORDS = {
    **{m: m for m in MEDIA.values()},
    "antifreeze-mix": "antifreeze-mix",
    **{w: "cold" for w in ("cold-main", "cold-stored", "cold-water", "mains-cold")},
    **{w: "hot" for w in ("hot-wholesome", "hot-water")},
    **{w: "tempered" for w in ("tempered-water", "blended", "mixed")},
    **{w: "heating-water" for w in ("heating", "water")},
    **{w: "antifreeze-mix" for w in ("antifreeze", "glycol", "solar-fluid")},
    "brine": "ground-brine",
    "waste": "discharge",
    "pool": "pool-water",
}


@dataclass(frozen=True)
class Built:
    """The network, and what is wrong with the list it was built from."""

    network: Network
    findings: tuple[Finding, ...]


def build(job: JobList, library: Library) -> Built:
    """Builds the network of a list. Total: every fault of the list is a finding; what is sound is built.

    A part whose kind is unknown, a second part of one tag and a pipe whose end cannot be found are left out.
    """
    return _Builder(job, library).built()


class _Unbuilt(Exception):
    """A field names a part that is listed, but whose kind is unknown."""

    def __init__(self, tag: str) -> None:
        super().__init__(tag)
        self.tag = tag


def _as_text(value: Any) -> str:
    """A typed value as the kinds' files spell it in the conditions of their variants."""
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


class _Builder:
    def __init__(self, job: JobList, library: Library) -> None:
        self.job, self.library = job, library
        self.findings: list[Finding] = []
        self.lines: dict[str, tuple[PartLine, PartKind]] = {}
        self.tag_of: dict[str, str] = {}
        self.ghosts: dict[str, Finding] = {}
        self.made: dict[str, str] = {}
        self._next_number: dict[str, int] = {}
        self._kinds: dict[str, PartKind | None] = {}
        self._guesses: dict[str, str] = {}
        self._near: NearTags | None = None
        self._typed_defaults: dict[str, dict[str, Any]] = {}

    def built(self) -> Built:
        self._take_tags()
        runs = [read_stops(line, self.find_tag, self._make) for line in self.job.connections]
        self._name_places(runs)
        kinds = self._grow(runs)
        self.parts = {tag: self._part(line, kinds[tag]) for tag, (line, _) in self.lines.items()}
        pieces, wants = connect(runs, kinds, self._conn_values)
        wants += hang(pieces, self.parts, self._made_tee)
        self._report(wants)
        self._settle_variants(pieces)
        network = Network(
            name=self.job.name,
            sheet={word(e.key): e.text.strip() for e in self.job.sheet},
            parts=self.parts,
            pipes=tuple(self._pipe(i, piece) for i, piece in enumerate(pieces)),
            fluids={word(row.name): self._fluid(row) for row in self.job.fluids},
            named_states=tuple(self._state(row) for row in self.job.states),
            accept=tuple(self._acceptance(row) for row in self.job.accept),
        )
        return Built(network, tuple(self.findings))

    # parts

    def _take_tags(self) -> None:
        for line in self.job.parts:
            self.tag_of.setdefault(tag_key(line.tag), line.tag.strip())
        first: dict[str, PartLine] = {}
        for line in self.job.parts:
            key, tag = tag_key(line.tag), line.tag.strip()
            if not key:
                self._say(
                    "duplicate-tag",
                    "error",
                    f"a part ({line.kind}) has no tag",
                    "give it a tag of its own",
                    place=line.place,
                )
            elif key in first:
                self._say_duplicate(line, first[key])
            elif kind := self._kind(line.kind):
                first[key] = line
                self.lines[tag] = (line, kind)
            else:
                first[key] = line
                self.ghosts[key] = self._say_unknown_kind(line)

    def _say_duplicate(self, line: PartLine, first: PartLine) -> None:
        self._say(
            "duplicate-tag",
            "error",
            f"{line.tag.strip()} is listed twice: as {first.kind} ({first.place}) and as {line.kind}; "
            "the second is left out",
            f"give the second part a tag of its own, for example {self._fresh_like(first.tag.strip())}",
            parts=(first.tag.strip(),),
            place=line.place,
        )

    def _fresh_like(self, tag: str) -> str:
        stem = tag.rstrip("0123456789")
        return next(t for n in range(1, 10**9) if tag_key(t := f"{stem}{n}") not in self.tag_of)

    def _say_unknown_kind(self, line: PartLine) -> Finding:
        tag = line.tag.strip()
        if not line.kind.strip():
            return self._say(
                "unknown-word", "error", f"{tag} has no kind", "write kind: and what it is", (tag,), place=line.place
            )
        guess = self._guess_kind(line.kind)
        cure = f"write kind: {guess}" if guess else "take a kind from the list that `schemagen kinds` prints"
        hint = f"; did you mean {guess}?" if guess else ""
        return self._say(
            "unknown-word", "error", f"{tag}: no kind {line.kind.strip()!r}{hint}", cure, (tag,), place=line.place
        )

    def _kind(self, text: str) -> PartKind | None:
        if text not in self._kinds:
            name = word(text)
            self._kinds[text] = self.library.kind(name) if name in self.library else None
        return self._kinds[text]

    def _guess_kind(self, text: str) -> str:
        name = word(text)[:60]
        if name not in self._guesses:
            self._guesses[name] = next(iter(self.library.near(name)), "")
        return self._guesses[name]

    def find_tag(self, text: str) -> str | None:
        """The tag as first written, "" for a part that is listed but could not be built, None for no part."""
        key = tag_key(text)
        if key in self.ghosts:
            return ""
        tag = self.tag_of.get(key)
        return tag if tag in self.lines else None

    def _make(self, text: str, place: Place) -> str | None:
        """A part made because a run names its kind; None if there is no such kind."""
        kind = self._kind(text)
        return self._made_part(kind, place) if kind else None

    def _made_part(self, kind: PartKind, place: Place) -> str:
        letter = kind.letter or "X"
        number = self._next_number.get(letter, 1)
        while tag_key(tag := f"{letter}{number}") in self.tag_of:
            number += 1
        self._next_number[letter] = number + 1
        self.tag_of[tag_key(tag)] = tag
        self.lines[tag] = (PartLine(tag, kind.name, (), place), kind)
        self.made[tag] = ""
        return tag

    def _name_places(self, runs: list[tuple[ConnectionLine, list[Stop]]]) -> None:
        """Parts made on a run stand in the place that their listed neighbours on both sides share."""
        for _, stops in runs:
            for i, stop in enumerate(stops):
                if stop.tag in self.made:
                    before = next((self._place(s.tag) for s in reversed(stops[:i]) if s.tag not in self.made), "")
                    after = next((self._place(s.tag) for s in stops[i + 1 :] if s.tag not in self.made), "")
                    self.made[stop.tag] = before if before == after else ""

    def _place(self, tag: str | None) -> str:
        line = self.lines[tag][0] if tag in self.lines else None
        return next((e.text.strip() for e in line.entries if word(e.key) == "place"), "") if line else ""

    def _grow(self, runs: list[tuple[ConnectionLine, list[Stop]]]) -> dict[str, PartKind]:
        kinds = {tag: kind for tag, (_, kind) in self.lines.items()}
        return kinds | grown(runs, kinds, self.library)

    def _part(self, line: PartLine, kind: PartKind) -> Part:
        tag = line.tag.strip()
        values = dict(self._defaults(kind))
        texts: dict[str, str] = {}
        for entry in line.entries:
            self._read_entry(entry, kind.attributes, tag, values, texts, f"a {kind.name}")
        if tag in self.made and self.made[tag]:
            texts["place"] = values["place"] = self.made[tag]
        self._check_ports(tag, kind, values, line.place)
        if "acts-on" in values:
            values["switches"] = tuple(dict.fromkeys(values.get("switches", ()) + values.pop("acts-on")))
        return Part(tag, kind, values, texts, line.place, tag in self.made)

    def _defaults(self, kind: PartKind) -> dict[str, Any]:
        if kind.name not in self._typed_defaults:
            self._typed_defaults[kind.name] = {
                name: read_value(attribute.default, attribute, self._resolve)
                for name, attribute in kind.attributes.items()
                if attribute.default is not None
            }
        return self._typed_defaults[kind.name]

    def _settle_variants(self, pieces: list[Piece]) -> None:
        """Kinds take the form that their attributes and their piped openings give them."""
        piped: dict[str, list[str]] = {}
        for piece in pieces:
            for tag, port in (piece.start, piece.end):
                piped.setdefault(tag, []).append(port)
        for tag, part in self.parts.items():
            if part.kind.variants:
                said = {key: _as_text(value) for key, value in part.values.items()}
                self.parts[tag] = replace(part, kind=part.kind.as_listed(said, piped.get(tag, ())))

    def _read_entry(
        self,
        entry: Entry,
        attributes: Mapping[str, Attribute],
        subject: str,
        values: dict[str, Any],
        texts: dict[str, str],
        what: str,
        ports: tuple[str, ...] = (),
    ) -> None:
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
            self._say(
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
            values[key] = read_value(entry.text, attributes[key], self._resolve)
            texts[key] = entry.text.strip()
        except _Unbuilt as e:
            self._blame_ghost(Want(e.tag, "", entry.place), parts)
        except ValueFault as e:
            self._say(e.check, "error", f"{subject}, {key}: {e.message}", e.cure, parts, ports, entry.place)

    def _check_ports(self, tag: str, kind: PartKind, values: dict[str, Any], place: Place) -> None:
        """`capped: yes` means every opening that may be capped; other words are openings of the kind."""
        capped = values.get("capped", ())
        if capped in (("yes",), ("true",)):
            values["capped"] = tuple(p.name for p in kind.ports.values() if p.need == "may")
            return
        for name in capped:
            if name not in kind.ports:
                self._say_port(tag, kind, name, place, "capped: ")
        if capped:
            values["capped"] = tuple(n for n in capped if n in kind.ports)

    # references to parts

    def _resolve(self, text: str, attribute: Attribute) -> Any:
        if attribute.dimension == "tag":
            return self._a_tag(text, attribute)
        if attribute.dimension == "tags":
            return tuple(dict.fromkeys(self._a_tag(item.partition(":")[0], attribute) for item in split(text)))
        if attribute.dimension == "ports":
            return tuple(self._a_port(item) for item in split(text))
        return self._a_port(text)

    def _a_tag(self, text: str, attribute: Attribute) -> str:
        tag = self.find_tag(text)
        if tag:
            return tag
        if tag == "":
            raise _Unbuilt(text)
        check = "control-list-broken" if attribute.name in ("switches", "acts-on", "reads") else "unknown-end"
        raise ValueFault(check, self._no_part(text), self._cure_for_tag(text))

    def _a_port(self, text: str) -> PortId:
        left, dot, right = text.rpartition(".")
        if tag := self.find_tag(text):
            return PortId(tag, "")
        if tag == "" or dot and self.find_tag(left) == "":
            raise _Unbuilt(text)
        if dot and (tag := self.find_tag(left)):
            kind, name = self.lines[tag][1], word(right)
            if name in kind.ports or kind.grows and name.startswith(kind.grows.partition("{n}")[0]):
                return PortId(tag, name)
            guess = near(name, kind.ports)
            raise ValueFault(
                "unknown-end",
                f"{tag} ({kind.name}) has no opening {right!r}" + (f"; did you mean {guess}?" if guess else ""),
                f"write {tag}. and one of: {', '.join(kind.ports)}",
            )
        raise ValueFault("unknown-end", self._no_part(left or text), self._cure_for_tag(left or text))

    def _no_part(self, text: str) -> str:
        guess = self._guess_tag(text)
        return f"no part {text.strip()!r} in the list" + (f"; did you mean {guess}?" if guess else "")

    def _cure_for_tag(self, text: str) -> str:
        guess = self._guess_tag(text)
        if guess:
            return f"write {guess}, or add {text.strip()} to the parts"
        return f"add {text.strip()} to the parts, or name a part that is there"

    def _guess_tag(self, text: str) -> str:
        if self._near is None:
            self._near = NearTags(self.tag_of.values())
        return self._near.near(text)

    # pipes

    def _conn_values(self, line: ConnectionLine) -> tuple[dict[str, Any], dict[str, str]]:
        values: dict[str, Any] = {}
        texts: dict[str, str] = {}
        ports = tuple(line.stops[:1])
        for entry in line.entries:
            self._read_entry(
                entry, PIPE_ATTRIBUTES, "→".join((line.stops[0], line.stops[-1])), values, texts, "a connection", ports
            )
        if medium := values.get("medium"):
            values["medium"] = self._medium(medium, line)
        return values, texts

    def _medium(self, said: str, line: ConnectionLine) -> str:
        if said in _MEDIUM_WORDS:
            return _MEDIUM_WORDS[said]
        media = sorted(set(_MEDIUM_WORDS.values()) - {"air"})
        guess = near(said, _MEDIUM_WORDS)
        self._say(
            "unknown-word",
            "warning",
            f"medium: {said!r} is not known" + (f"; did you mean {_MEDIUM_WORDS[guess]}?" if guess else ""),
            f"write one of: {', '.join(media)}",
            ports=tuple(line.stops[:1]),
            place=line.place,
        )
        return ""

    def _pipe(self, index: int, piece: Piece) -> Pipe:
        size = piece.texts.get("size", "")
        return Pipe(
            index=index,
            start=piece.start,
            end=piece.end,
            line=piece.line,
            size=piece.values.get("size"),
            size_text=f"{size} mm" if size and not any(c.isalpha() or c in "\"'″′" for c in size) else size,
            medium=piece.values.get("medium", ""),
            values=piece.values,
        )

    def _made_tee(self, place: Place, where: str) -> str:
        tag = self._made_part(self.library.kind("tee"), place)
        line, kind = self.lines[tag]
        self.made[tag] = where
        self.parts[tag] = self._part(line, kind)
        return tag

    def _report(self, wants: Iterable[Want]) -> None:
        for want in wants:
            if want.tag == "":
                self._blame_ghost(want)
            elif want.check:
                self._say(want.check, "error", want.message, want.cure, want.tags, want.ports, want.place, want.pipes)
            elif want.tag is None:
                self._say_no_stop(want)
            else:
                self._say_port(want.tag, self.lines[want.tag][1], want.port, want.place, "", want.ports)

    def _blame_ghost(self, want: Want, parts: tuple[str, ...] = ()) -> None:
        """What names a part of unknown kind: the finding on the kind carries it as well, no second finding."""
        key = tag_key(want.text)
        if key not in self.ghosts:
            key = tag_key(want.text.rpartition(".")[0])
        old = self.ghosts[key]
        new = replace(old, parts=tuple(dict.fromkeys((*old.parts, *parts))), ports=old.ports + want.ports)
        self.findings[self.findings.index(old)] = self.ghosts[key] = new

    def _say_no_stop(self, want: Want) -> None:
        text = want.text.strip()
        left, dot, _ = text.rpartition(".")
        guess = "" if dot else self._guess_kind(text) if not self._guess_tag(text) else ""
        if guess:
            message, cure = (
                f"no part and no kind {text!r}; did you mean {guess}?",
                f"write {guess}, or the tag of a listed part",
            )
        else:
            message, cure = self._no_part(left if dot else text), self._cure_for_tag(left if dot else text)
        self._say("unknown-end", "error", message, cure, ports=want.ports, place=want.place)

    def _say_port(
        self, tag: str, kind: PartKind, port: str, place: Place, before: str = "", ports: tuple[str, ...] = ()
    ) -> None:
        guess = near(port, kind.ports)
        hint = f"; did you mean {tag}.{guess}?" if guess else ""
        names = [f"{tag}.{p.name}" for p in kind.ports.values() if not is_signal(p)]
        cure = (
            f"write {before}one of: {', '.join(names)}"
            if names
            else f"{tag} carries no water: write switches: or on: at {tag}"
        )
        self._say(
            "unknown-end",
            "error",
            f"{before}{tag} ({kind.name}) has no opening {port!r}{hint}",
            cure,
            (tag,),
            ports,
            place,
        )

    # what stands beside parts and connections

    def _fluid(self, row: Row) -> dict[str, Any]:
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
            self._read_entry(entry, attributes, row.name, values, {}, "a fluid", ("",))
        return values

    def _state(self, row: Row) -> NamedState:
        calling: tuple[str, ...] = ()
        positions: dict[str, str] = {}
        for entry in row.entries:
            key = word(entry.key)
            if key == "calling":
                calling = tuple(t for item in split(entry.text) if (t := self._state_tag(item, row, entry)))
            elif key == "positions":
                for tag, position in ((k.strip(), v) for k, _, v in (i.partition(":") for i in split(entry.text))):
                    self._position(tag, position, row, entry, positions)
            elif key not in ("note", "label", "name"):
                self._position(entry.key, entry.text, row, entry, positions)
        return NamedState(row.name or self._entry(row, "name"), calling, positions, row.place)

    def _state_tag(self, text: str, row: Row, entry: Entry) -> str | None:
        tag = self.find_tag(text)
        if tag is None:
            message = f"state {row.name}: {self._no_part(text)}"
            self._say("control-list-broken", "error", message, self._cure_for_tag(text), place=entry.place)
        return tag or None

    def _position(self, text: str, said: str, row: Row, entry: Entry, positions: dict[str, str]) -> None:
        tag = self._state_tag(text, row, entry)
        if tag is None:
            return
        kind, position = self.lines[tag][1], word(said)
        allowed = kind.positions or (("on", "off") if kind.giver or kind.driver else ())
        if position not in allowed and not (position in ("on", "off") and (kind.giver or kind.driver)):
            self._say(
                "control-list-broken",
                "error",
                f"state {row.name}: {tag} ({kind.name}) has no position {said.strip()!r}",
                f"write one of: {', '.join(allowed)}" if allowed else f"leave {tag} out: it has no moving part",
                (tag,),
                place=entry.place,
            )
        elif positions.setdefault(tag, position) != position:
            self._say(
                "control-list-broken",
                "error",
                f"state {row.name}: {tag} is to be {positions[tag]} and {position} at once",
                "name one position for it",
                (tag,),
                place=entry.place,
            )

    def _acceptance(self, row: Row) -> Acceptance:
        check = word(self._entry(row, "check") or row.name)
        named = [item for key in ("parts", "part", "at", "tag", "tags") for item in split(self._entry(row, key))]
        found = [self.find_tag(item) or self.find_tag(item.rpartition(".")[0]) for item in named]
        for item, tag in zip(named, found, strict=True):
            if tag is None:
                self._say(
                    "unknown-word",
                    "warning",
                    f"accept: {self._no_part(item)}",
                    self._cure_for_tag(item),
                    place=row.place,
                )
        reason, by, date = (self._entry(row, key) for key in ("reason", "by", "date"))
        return Acceptance(check, tuple(t for t in found if t), reason, by, date, row.place)

    @staticmethod
    def _entry(row: Row, key: str) -> str:
        return next((e.text.strip() for e in row.entries if word(e.key) == key), "")

    def _say(
        self,
        check: str,
        severity: Severity,
        message: str,
        cure: str,
        parts: tuple[str, ...] = (),
        ports: tuple[str, ...] = (),
        place: Place | None = None,
        pipes: tuple[tuple[str, str], ...] = (),
    ) -> Finding:
        finding = Finding(check, severity, message, cure, parts, pipes, tuple(p for p in ports if p), place=place)
        self.findings.append(finding)
        return finding
