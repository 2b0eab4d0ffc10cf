"""One network with all that is new and all that is old, so that both are laid out together.

What is in both is there once, as in the new version. Parts taken out of a run stand in it still, struck out, and the
new pipe goes on through them; what was put in follows. An opening to which an old pipe led and a new pipe leads gets a
stand-in: a branch beside the opening, where the old pipe ends with a gap. So every pipe has its own way, both can be
followed, and nothing is drawn on top of anything.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from schemagen.base.place import Place
from schemagen.changes.captions import Caption, caption_of, removed_caption
from schemagen.changes.changes import Changes, Version
from schemagen.changes.pairing import Way
from schemagen.network.network import Network, Part, Pipe, PortId
from schemagen.network.runs import has_free_openings, is_signal
from schemagen.network.waters import Waters
from schemagen.parts.kind import PartKind


@dataclass(frozen=True)
class Union:
    """The network that is laid out, and what is what in it.

    parts      "added", "removed" or "stand-in" by tag; others are in both versions
    pipes      "added" or "removed" by number; others are in both
    old_tags   tags of the parts of the old version by their own, and `old_pipes` numbers of its pipes by theirs
    new_pipes  numbers of the pipes of the new version by their own
    captions   what is written beside changed and removed parts
    struck_sizes  texts beside pipes whose size changed, and the old size with which they begin
    """

    network: Network
    waters: Waters
    parts: Mapping[str, str]
    pipes: Mapping[int, str]
    old_tags: Mapping[str, str]
    old_pipes: Mapping[int, int]
    new_pipes: Mapping[int, int]
    captions: Mapping[str, Caption]
    struck_sizes: Mapping[str, str]


def united(changes: Changes, tee: PartKind) -> Union:
    """The union of both versions. `tee` is the kind of the stand-ins."""
    return _Maker(changes, tee).made()


@dataclass(slots=True)
class _Run:
    """A pipe in the making, with the version and the number that it has there; `ends` are those of the whole pipe."""

    start: PortId
    end: PortId
    sort: str
    of: Version
    number: int
    ends: tuple[PortId, PortId]


def _run(ends: tuple[PortId, PortId], sort: str, of: Version, number: int) -> _Run:
    return _Run(*ends, sort, of, number, ends)


class _Maker:
    def __init__(self, changes: Changes, tee: PartKind) -> None:
        self.changes, self.tee = changes, tee
        self.old, self.new = changes.old.network, changes.new.network
        self.apart = frozenset(self._apart())
        self.old_tags = self._old_tags()
        self.parts: dict[str, Part] = {}
        self.sorts: dict[str, str] = {}
        self.captions: dict[str, Caption] = {}
        self.runs: list[_Run] = []
        self.at: dict[PortId, list[_Run]] = {}
        self.old_runs: dict[int, _Run] = {}
        self.new_runs: dict[int, _Run] = {}
        self.sizes = {
            i: (f"{value.old} {value.new or '–'}".strip(), value.old)
            for change in changes.pipes
            for value in change.values
            if value.key == "size"
            for i in change.new
        }

    def made(self) -> Union:
        self._take_parts()
        pairing = self.changes.pairing
        gone, come = [*pairing.gone], [*pairing.come]
        for way in pairing.ways:
            if self._is_torn(way):
                gone += way.old
                come += way.new
            else:
                self._take_way(way)
        for i in (*come, *(m.new for m in pairing.moved)):
            self._take_new(i, "added")
        for i in (*gone, *(m.old for m in pairing.moved)):
            self._take_removed(i)
        number = {id(run): n for n, run in enumerate(self.runs)}
        return Union(
            replace(self.new, parts=self.parts, pipes=tuple(self._pipe(n, run) for n, run in enumerate(self.runs))),
            self._waters(),
            self.sorts,
            {n: run.sort for n, run in enumerate(self.runs) if run.sort},
            self.old_tags,
            {i: number[id(run)] for i, run in self.old_runs.items()},
            {i: number[id(run)] for i, run in self.new_runs.items()},
            self.captions,
            {text: old for text, old in self.sizes.values() if old},
        )

    # parts

    def _apart(self) -> Iterator[str]:
        """Parts of another kind than before that lack an opening to which an old pipe led: both are drawn."""
        pairing = self.changes.pairing
        for i in (*pairing.gone, *(m.old for m in pairing.moved)):
            for end in (self.old.pipes[i].start, self.old.pipes[i].end):
                tag = pairing.tags.get(end.tag)
                if tag and self._other_kind(end.tag, tag) and end.port not in self.new.parts[tag].kind.ports:
                    yield end.tag

    def _other_kind(self, old: str, new: str) -> bool:
        return self.old.parts[old].kind.name != self.new.parts[new].kind.name

    def _old_tags(self) -> dict[str, str]:
        """The tags of old parts in the union: that of the new part, or their own, marked if a new part has it."""
        out = {}
        for tag in self.old.parts:
            known = self.changes.pairing.tags.get(tag)
            if known and tag not in self.apart:
                out[tag] = known
            else:
                out[tag] = f"{tag} (old)" if tag in self.new.parts else tag
        return out

    def _take_parts(self) -> None:
        known = {new: old for old, new in self.changes.pairing.tags.items() if old not in self.apart}
        changed = {change.new: change for change in self.changes.parts if change.sort in ("changed", "renamed")}
        for tag, part in self.new.parts.items():
            if tag not in known:
                self.sorts[tag] = "added"
            if tag in changed and tag in known:
                self.captions[tag] = caption_of(self.old.parts[known[tag]], part, changed[tag].values)
                part = _captioned(part, self.captions[tag])
            self.parts[tag] = part
        for tag, part in self.old.parts.items():
            if self.old_tags[tag] not in self.parts:
                own = self.old_tags[tag]
                self.sorts[own] = "removed"
                self.captions[own] = removed_caption(part)
                values = {key: self._renamed(value) for key, value in part.values.items()}
                self.parts[own] = _captioned(replace(part, tag=own, values=values), self.captions[own])

    def _renamed(self, value: Any) -> Any:
        """A reference to parts, under their tags in the union."""
        if isinstance(value, PortId):
            return PortId(self.old_tags.get(value.tag, value.tag), value.port)
        if isinstance(value, tuple):
            return tuple(self._renamed(item) for item in value)
        return self.old_tags.get(value, value) if isinstance(value, str) else value

    # pipes

    def _is_torn(self, way: Way) -> bool:
        """True if a way ends at a part that is drawn twice."""
        return any(end.tag in self.apart for i in way.old for end in (self.old.pipes[i].start, self.old.pipes[i].end))

    def _take_way(self, way: Way) -> None:
        """A way in both versions: what was taken out of it, then what was put in."""
        if len(way.old) == 1:
            for i in way.new:
                self._take_new(i, "")
            self.old_runs[way.old[0]] = self.new_runs[way.new[0]]
            return
        before = [*self._along(self.old, way.old, self._old_at(way))]
        after = [*self._along(self.new, way.new, way.ends[0].tag)]
        ends = [(self._in_union(near), self._in_union(far)) for near, far, _ in before]
        first, last = (after[0][0], ends[0][1]), (ends[-1][0], after[0][1])
        for n, (i, (_, _, forward)) in enumerate(zip(way.old, before, strict=True)):
            near, far = first if n == 0 else last if n == len(before) - 1 else ends[n]
            run = _run((near, far) if forward else (far, near), "", self.changes.new, way.new[0])
            self.old_runs[i] = run
            self._take(run)
        self.new_runs[way.new[0]] = self.old_runs[way.old[-1]]
        for i in way.new[1:]:
            self._take_new(i, "")

    def _old_at(self, way: Way) -> str:
        """The old tag of the part at which a way begins."""
        return next(old for old, new in self.changes.pairing.tags.items() if new == way.ends[0].tag)

    def _along(self, network: Network, pipes: Sequence[int], tag: str) -> Iterator[tuple[PortId, PortId, bool]]:
        """Near and far end of each pipe of a way from a part on, and whether the list has it in this direction."""
        for i in pipes:
            pipe = network.pipes[i]
            forward = pipe.start.tag == tag
            near, far = (pipe.start, pipe.end) if forward else (pipe.end, pipe.start)
            yield near, far, forward
            tag = far.tag

    def _in_union(self, port: PortId) -> PortId:
        return PortId(self.old_tags[port.tag], port.port)

    def _take_new(self, i: int, sort: str) -> None:
        pipe = self.new.pipes[i]
        self.new_runs[i] = _run((pipe.start, pipe.end), sort, self.changes.new, i)
        self._take(self.new_runs[i])

    def _take_removed(self, i: int) -> None:
        pipe = self.old.pipes[i]
        ends = self._in_union(pipe.start), self._in_union(pipe.end)
        start, end = map(self._free, ends)
        self.old_runs[i] = _Run(start, end, "removed", self.changes.old, i, ends)
        self._take(self.old_runs[i])

    def _take(self, run: _Run) -> None:
        self.runs.append(run)
        for port in (run.start, run.end):
            self.at.setdefault(port, []).append(run)

    def _free(self, port: PortId) -> PortId:
        """The opening itself if nothing leads to it, another like it, or that of a stand-in."""
        kind = self.parts[port.tag].kind
        alike = [p.name for p in kind.ports.values() if not is_signal(p)] if has_free_openings(kind) else []
        names = [port.port, *alike] if port.port in kind.ports else alike or [next(iter(kind.ports))]
        openings = [PortId(port.tag, name) for name in names]
        for opening in openings:
            if not self.at.get(opening):
                return opening
        return self._beside(next((o for o in openings if self.at[o][0].sort == "added"), openings[0]))

    def _beside(self, port: PortId) -> PortId:
        """The branch of a stand-in, put into the pipe that leads to an opening; that pipe passes it from `a` to `b`."""
        tag = f"{port} {sum(sort == 'stand-in' for sort in self.sorts.values()) + 1}"
        values = {"place": self.parts[port.tag].place} if self.parts[port.tag].place else {}
        self.parts[tag] = Part(tag, self.tee, values, values, Place(""), True)
        self.sorts[tag] = "stand-in"
        run = self.at.pop(port)[0]
        stem, a, b = replace(run), PortId(tag, "a"), PortId(tag, "b")
        if run.start == port:
            stem.end, run.start = a, b
            self.at[b] = [run]
        else:
            run.end, stem.start = a, b
            self.at[a] = [run]
        self._take(stem)
        return PortId(tag, "branch")

    def _pipe(self, n: int, run: _Run) -> Pipe:
        pipe = replace(run.of.network.pipes[run.number], index=n, start=run.start, end=run.end)
        if run.of is self.changes.new and run.number in self.sizes:
            pipe = replace(pipe, size_text=self.sizes[run.number][0])
        start, end = run.ends
        return pipe if (run.start, run.end) == run.ends else replace(pipe, whole=replace(pipe, start=start, end=end))

    def _waters(self) -> Waters:
        """Each pipe with the waters that it has in its own version."""
        def each(values: str) -> tuple:
            return tuple(getattr(run.of.waters, values)[run.number] for run in self.runs)

        return Waters(each("medium"), each("section"), each("body"), (), each("carries"))


def _captioned(part: Part, caption: Caption) -> Part:
    return replace(part, texts={**part.texts, "lines": "\n".join(line for line, _ in caption)}) if caption else part
