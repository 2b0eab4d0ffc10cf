"""Builds the network from the list as written: whatever cannot be built becomes a finding, the sound rest is built."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from schemagen.base.finding import Finding
from schemagen.base.place import Place
from schemagen.joblist.joblist import ConnectionLine, JobList, PartLine
from schemagen.network.entries import EntryReader
from schemagen.network.findings import Findings
from schemagen.network.hang import hang
from schemagen.network.network import Network, Part, Pipe
from schemagen.network.pipe_fields import MEDIUM_WORDS, PIPE_ATTRIBUTES
from schemagen.network.roll import Roll
from schemagen.network.rows import acceptance, fluid, named_state
from schemagen.network.runs import Piece, Stop, Want, connect, grown, is_signal, read_stops
from schemagen.network.values import read_value
from schemagen.network.words import near, word
from schemagen.parts.kind import PartKind
from schemagen.parts.library import Library


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


def _as_text(value: Any) -> str:
    """A typed value as the kinds' files spell it in the conditions of their variants."""
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


class _Builder:
    def __init__(self, job: JobList, library: Library) -> None:
        self.job, self.library = job, library
        self.findings = Findings()
        self.roll = Roll(job.parts, library, self.findings)
        self.reader = EntryReader(self.roll, self.findings)
        self._typed_defaults: dict[str, dict[str, Any]] = {}

    def built(self) -> Built:
        runs = [read_stops(line, self.roll.find_tag, self.roll.make) for line in self.job.connections]
        self.roll.name_places(runs)
        kinds = self._grow(runs)
        self.parts = {tag: self._part(line, kinds[tag]) for tag, (line, _) in self.roll.lines.items()}
        pieces, wants = connect(runs, kinds, self._conn_values)
        wants += hang(pieces, self.parts, self._made_tee)
        self._report(wants)
        self._settle_variants(pieces)
        network = Network(
            name=self.job.name,
            sheet={word(e.key): e.text.strip() for e in self.job.sheet},
            parts=self.parts,
            pipes=tuple(self._pipe(i, piece) for i, piece in enumerate(pieces)),
            fluids={word(row.name): fluid(self.reader, row) for row in self.job.fluids},
            named_states=tuple(named_state(self.reader, row) for row in self.job.states),
            accept=tuple(acceptance(self.reader, row) for row in self.job.accept),
        )
        return Built(network, tuple(self.findings.made))

    def _grow(self, runs: list[tuple[ConnectionLine, list[Stop]]]) -> dict[str, PartKind]:
        kinds = {tag: kind for tag, (_, kind) in self.roll.lines.items()}
        return kinds | grown(runs, kinds, self.library)

    def _part(self, line: PartLine, kind: PartKind) -> Part:
        tag = line.tag.strip()
        values = dict(self._defaults(kind))
        texts: dict[str, str] = {}
        for entry in line.entries:
            self.reader.read(entry, kind.attributes, tag, values, texts, f"a {kind.name}")
        if tag in self.roll.made and self.roll.made[tag]:
            texts["place"] = values["place"] = self.roll.made[tag]
        self._check_ports(tag, kind, values, line.place)
        if "acts-on" in values:
            values["switches"] = tuple(dict.fromkeys(values.get("switches", ()) + values.pop("acts-on")))
        return Part(tag, kind, values, texts, line.place, tag in self.roll.made)

    def _defaults(self, kind: PartKind) -> dict[str, Any]:
        if kind.name not in self._typed_defaults:
            self._typed_defaults[kind.name] = {
                name: read_value(attribute.default, attribute, self.reader.resolve)
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

    def _conn_values(self, line: ConnectionLine) -> tuple[dict[str, Any], dict[str, str]]:
        values: dict[str, Any] = {}
        texts: dict[str, str] = {}
        ports = tuple(line.stops[:1])
        for entry in line.entries:
            self.reader.read(
                entry, PIPE_ATTRIBUTES, "→".join((line.stops[0], line.stops[-1])), values, texts, "a connection", ports
            )
        if medium := values.get("medium"):
            values["medium"] = self._medium(medium, line)
        return values, texts

    def _medium(self, said: str, line: ConnectionLine) -> str:
        if said in MEDIUM_WORDS:
            return MEDIUM_WORDS[said]
        media = sorted(set(MEDIUM_WORDS.values()) - {"air"})
        guess = near(said, MEDIUM_WORDS)
        self.findings.say(
            "unknown-word",
            "warning",
            f"medium: {said!r} is not known" + (f"; did you mean {MEDIUM_WORDS[guess]}?" if guess else ""),
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
        tag = self.roll.made_part(self.library.kind("tee"), place)
        line, kind = self.roll.lines[tag]
        self.roll.made[tag] = where
        self.parts[tag] = self._part(line, kind)
        return tag

    def _report(self, wants: Iterable[Want]) -> None:
        for want in wants:
            if want.tag == "":
                self.roll.blame_ghost(want.text, ports=want.ports)
            elif want.check:
                self.findings.say(
                    want.check, "error", want.message, want.cure, want.tags, want.ports, want.place, want.pipes
                )
            elif want.tag is None:
                self._say_no_stop(want)
            else:
                self._say_port(want.tag, self.roll.lines[want.tag][1], want.port, want.place, "", want.ports)

    def _say_no_stop(self, want: Want) -> None:
        text = want.text.strip()
        left, dot, _ = text.rpartition(".")
        guess = "" if dot else self.roll.guess_kind(text) if not self.roll.guess_tag(text) else ""
        if guess:
            message, cure = (
                f"no part and no kind {text!r}; did you mean {guess}?",
                f"write {guess}, or the tag of a listed part",
            )
        else:
            message, cure = self.roll.no_part(left if dot else text), self.roll.cure_for_tag(left if dot else text)
        self.findings.say("unknown-end", "error", message, cure, ports=want.ports, place=want.place)

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
        self.findings.say(
            "unknown-end",
            "error",
            f"{before}{tag} ({kind.name}) has no opening {port!r}{hint}",
            cure,
            (tag,),
            ports,
            place,
        )
