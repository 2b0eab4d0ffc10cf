"""changes(old, new): what came, went and changed between two networks and between what the checks say of them."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from schemagen.base.finding import Finding
from schemagen.changes.findings import findings_between
from schemagen.changes.matching import ALIKE, is_joint, matched
from schemagen.changes.pairing import Pairing, Way, paired
from schemagen.changes.states import StateChange, states_between
from schemagen.changes.values import Value, part_values, pipe_values, sheet_values
from schemagen.checks.check import Report
from schemagen.network.groups import Groups
from schemagen.network.network import Network, PortId
from schemagen.network.waters import Waters
from schemagen.operation.states import State


@dataclass(frozen=True)
class Version:
    """One version of a system: its network, its waters, what the checks say of it, and its operating states."""

    network: Network
    waters: Waters
    report: Report
    states: tuple[State, ...] = ()


@dataclass(frozen=True, slots=True)
class PartChange:
    """A part that was added or removed, has another tag, or other values. `old` and `new` are its tags, "" for none.

    `pipes` are those that come or go with it, by number in its own network.
    """

    sort: str
    old: str
    new: str
    values: tuple[Value, ...] = ()
    pipes: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class PipeChange:
    """Pipes that were added or removed, lead elsewhere ("re-piped"), or have other values; by number in each network.

    Pipes that hang together and changed alike are one change. `at` is the end that a re-piped one keeps.
    """

    sort: str
    old: tuple[int, ...]
    new: tuple[int, ...]
    values: tuple[Value, ...] = ()
    at: PortId | None = None


@dataclass(frozen=True)
class Changes:
    """All changes from one version to another. `pairing` says what is the same part and pipe in both."""

    old: Version
    new: Version
    pairing: Pairing
    sheet: tuple[Value, ...]
    parts: tuple[PartChange, ...]
    pipes: tuple[PipeChange, ...]
    came: tuple[Finding, ...]
    went: tuple[Finding, ...]
    stayed: tuple[Finding, ...]
    states: tuple[StateChange, ...]

    @property
    def rows(self) -> tuple[PartChange | PipeChange, ...]:
        """The changes of the system in the order of their numbers, which begin at 1."""
        return (*self.parts, *self.pipes)


def changes(old: Version, new: Version) -> Changes:
    """What changed. Parts with the same tag are the same, others if kind and neighbours are the same.

    After: a version compared with itself, or with its lines in another order, has no changes (what hangs on one opening
    hangs there in the order of the list, so that order is one); with old and new exchanged, added and removed, old and
    new values, came and went are exchanged, and nothing else.
    """
    tags = matched(old.network, new.network)
    pairing = paired(old.network, new.network, tags)
    went, came, stayed = findings_between(old.report.findings, new.report.findings, tags)
    told = _Told(old, new, pairing)
    return Changes(
        old,
        new,
        pairing,
        sheet_values(old.network, new.network),
        told.parts(),
        told.pipes(),
        came,
        went,
        stayed,
        states_between(old.states, new.states, tags),
    )


class _Told:
    """Groups what differs into changes, each told once."""

    def __init__(self, old: Version, new: Version, pairing: Pairing) -> None:
        self.old, self.new, self.pairing = old.network, new.network, pairing

    def parts(self) -> tuple[PartChange, ...]:
        known_new = set(self.pairing.tags.values())
        added = [tag for tag in self.new.parts if tag not in known_new]
        removed = [tag for tag in self.old.parts if tag not in self.pairing.tags]
        changed = filter(None, (self._changed(*pair) for pair in self.pairing.tags.items()))
        come, gone = ([getattr(m, side) for m in self.pairing.moved] for side in ("new", "old"))
        return (
            *self._with_pipes("added", self.new, added, self.pairing.come, come),
            *self._with_pipes("removed", self.old, removed, self.pairing.gone, gone),
            *sorted(changed, key=lambda c: (c.sort, natural(c.new))),
        )

    def _with_pipes(
        self, sort: str, network: Network, tags: Sequence[str], pipes: Sequence[int], moved: Sequence[int]
    ) -> Iterator[PartChange]:
        """Parts with the pipes that come or go with them; a joint only if no pipe tells of it."""
        ends = {i: {end.tag for end in (network.pipes[i].start, network.pipes[i].end)} for i in (*pipes, *moved)}
        told: set[int] = set()
        for tag in sorted(tags, key=natural):
            if not (is_joint(network.parts[tag]) and any(tag in tags_at for tags_at in ends.values())):
                own = tuple(i for i in pipes if tag in ends[i] and i not in told)
                told.update(own)
                yield PartChange(sort, *(("", tag) if sort == "added" else (tag, "")), pipes=own)

    def _changed(self, old: str, new: str) -> PartChange | None:
        before, after = self.old.parts[old], self.new.parts[new]
        if is_joint(after) or before.made and after.made:
            return None
        values = part_values(before, after, self.pairing.tags)
        return PartChange("renamed" if old != new else "changed", old, new, values) if values or old != new else None

    def pipes(self) -> tuple[PipeChange, ...]:
        moved = sorted(self.pairing.moved, key=lambda m: natural(str(m.at)))
        return (
            *(PipeChange("added", (), group) for group in self._of_their_own(self.new, self.pairing.come)),
            *(PipeChange("removed", group, ()) for group in self._of_their_own(self.old, self.pairing.gone)),
            *(PipeChange("re-piped", (m.old,), (m.new,), at=m.at) for m in moved),
            *self._changed_ways(),
        )

    def _of_their_own(self, network: Network, pipes: Sequence[int]) -> list[tuple[int, ...]]:
        """Pipes that no added or removed part tells of; what hangs together at joints of the same sort is one."""
        known = set(self.pairing.tags if network is self.old else self.pairing.tags.values())
        own, joint_of = [], {}
        for i in pipes:
            unknown = [e.tag for e in (network.pipes[i].start, network.pipes[i].end) if e.tag not in known]
            if all(is_joint(network.parts[tag]) for tag in unknown):
                own.append(i)
                joint_of[i] = unknown
        return _in_groups(network, own, joint_of)

    def _changed_ways(self) -> list[PipeChange]:
        alike: dict[tuple[Value, ...], list[Way]] = {}
        for way in self.pairing.ways:
            values = pipe_values(self.old, self.new, (way.old, way.new))
            if way.turned:
                a, b = (end.tag if end.port == ALIKE else str(end) for end in way.ends)
                values = (Value("direction", f"{b} to {a}", f"{a} to {b}"), *values)
            if values:
                alike.setdefault(values, []).append(way)
        out = []
        for values in sorted(alike, key=lambda values: [(v.key, v.old, v.new) for v in values]):
            ways = {way.new[0]: way for way in alike[values]}
            ends = {i: [end.tag for end in way.ends] for i, way in ways.items()}
            for group in _in_groups(self.new, list(ways), ends):
                old = tuple(i for n in group for i in ways[n].old)
                out.append(PipeChange("changed", old, tuple(i for n in group for i in ways[n].new), values))
        return out


def _in_groups(network: Network, pipes: Sequence[int], joined_at: Mapping[int, Iterable[str]]) -> list[tuple[int, ...]]:
    """Pipes in groups that meet at the parts named for each, in the order of their names."""
    groups: Groups[int] = Groups(pipes)
    first: dict[str, int] = {}
    for i in pipes:
        for tag in joined_at[i]:
            groups.join(first.setdefault(tag, i), i)
    in_order = [tuple(sorted(group, key=lambda i: natural(network.pipes[i].name))) for group in groups.numbered()[1]]
    return sorted(in_order, key=lambda group: natural(network.pipes[group[0]].name))


def natural(text: str) -> list[tuple[int, int, str]]:
    """A key by which "R2" comes before "R10"."""
    pieces = re.findall(r"\d+|\D+", text)
    return [(0, int(p), p) if p.isdecimal() else (1, 0, p.casefold()) for p in pieces]
