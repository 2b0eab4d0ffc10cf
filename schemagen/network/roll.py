"""The parts of a list by tag: those that are listed, those made on a run, and how to name one that is not there."""

from schemagen.base.finding import Finding
from schemagen.base.place import Place
from schemagen.joblist.joblist import ConnectionLine, PartLine
from schemagen.network.findings import Findings
from schemagen.network.runs import Stop
from schemagen.network.words import NearTags, tag_key, word
from schemagen.parts.kind import PartKind
from schemagen.parts.library import Library


class Roll:
    """Lines and kinds by tag. `made` has the tags of parts that no line lists, each with its place on the drawing.

    A part whose kind is unknown is a ghost: its tag is taken, and the finding on its kind stands for whatever names it.
    """

    def __init__(self, listed: tuple[PartLine, ...], library: Library, findings: Findings) -> None:
        self.library, self.findings = library, findings
        self.lines: dict[str, tuple[PartLine, PartKind]] = {}
        self.made: dict[str, str] = {}
        self._tag_of: dict[str, str] = {}
        self._ghosts: dict[str, Finding] = {}
        self._next_number: dict[str, int] = {}
        self._kinds: dict[str, PartKind | None] = {}
        self._guesses: dict[str, str] = {}
        self._near: NearTags | None = None
        self._take_tags(listed)

    def _take_tags(self, listed: tuple[PartLine, ...]) -> None:
        for line in listed:
            self._tag_of.setdefault(tag_key(line.tag), line.tag.strip())
        first: dict[str, PartLine] = {}
        for line in listed:
            key, tag = tag_key(line.tag), line.tag.strip()
            if not key:
                self.findings.say(
                    "duplicate-tag",
                    "error",
                    f"a part ({line.kind}) has no tag",
                    "give it a tag of its own",
                    place=line.place,
                )
            elif key in first:
                self._say_duplicate(line, first[key])
            elif kind := self.kind(line.kind):
                first[key] = line
                self.lines[tag] = (line, kind)
            else:
                first[key] = line
                self._ghosts[key] = self._say_unknown_kind(line)

    def _say_duplicate(self, line: PartLine, first: PartLine) -> None:
        self.findings.say(
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
        return next(t for n in range(1, 10**9) if tag_key(t := f"{stem}{n}") not in self._tag_of)

    def _say_unknown_kind(self, line: PartLine) -> Finding:
        tag = line.tag.strip()
        if not line.kind.strip():
            return self.findings.say(
                "unknown-word", "error", f"{tag} has no kind", "write kind: and what it is", (tag,), place=line.place
            )
        guess = self.guess_kind(line.kind)
        cure = f"write kind: {guess}" if guess else "take a kind from the list that `schemagen kinds` prints"
        hint = f"; did you mean {guess}?" if guess else ""
        return self.findings.say(
            "unknown-word", "error", f"{tag}: no kind {line.kind.strip()!r}{hint}", cure, (tag,), place=line.place
        )

    def kind(self, text: str) -> PartKind | None:
        """The kind that a text names, if there is one."""
        if text not in self._kinds:
            name = word(text)
            self._kinds[text] = self.library.kind(name) if name in self.library else None
        return self._kinds[text]

    def guess_kind(self, text: str) -> str:
        """The kind that a text may mean; "" for none."""
        name = word(text)[:60]
        if name not in self._guesses:
            self._guesses[name] = next(iter(self.library.near(name)), "")
        return self._guesses[name]

    def find_tag(self, text: str) -> str | None:
        """The tag as first written, "" for a part that is listed but could not be built, None for no part."""
        key = tag_key(text)
        if key in self._ghosts:
            return ""
        tag = self._tag_of.get(key)
        return tag if tag in self.lines else None

    def make(self, text: str, place: Place) -> str | None:
        """A part made because a run names its kind; None if there is no such kind."""
        kind = self.kind(text)
        return self.made_part(kind, place) if kind else None

    def made_part(self, kind: PartKind, place: Place) -> str:
        """The tag of a new part that no line lists."""
        letter = kind.letter or "X"
        number = self._next_number.get(letter, 1)
        while tag_key(tag := f"{letter}{number}") in self._tag_of:
            number += 1
        self._next_number[letter] = number + 1
        self._tag_of[tag_key(tag)] = tag
        self.lines[tag] = (PartLine(tag, kind.name, (), place), kind)
        self.made[tag] = ""
        return tag

    def name_places(self, runs: list[tuple[ConnectionLine, list[Stop]]]) -> None:
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

    def blame_ghost(self, text: str, parts: tuple[str, ...] = (), ports: tuple[str, ...] = ()) -> None:
        """What names a part of unknown kind: the finding on the kind carries it as well, no second finding."""
        key = tag_key(text)
        if key not in self._ghosts:
            key = tag_key(text.rpartition(".")[0])
        self._ghosts[key] = self.findings.name_also(self._ghosts[key], parts, ports)

    def no_part(self, text: str) -> str:
        """Says that no part has this tag, and which tag may be meant."""
        guess = self.guess_tag(text)
        return f"no part {text.strip()!r} in the list" + (f"; did you mean {guess}?" if guess else "")

    def cure_for_tag(self, text: str) -> str:
        """What to do about a tag that no part has."""
        guess = self.guess_tag(text)
        if guess:
            return f"write {guess}, or add {text.strip()} to the parts"
        return f"add {text.strip()} to the parts, or name a part that is there"

    def guess_tag(self, text: str) -> str:
        """The tag that a text may mean; "" for none."""
        if self._near is None:
            self._near = NearTags(self._tag_of.values())
        return self._near.near(text)
