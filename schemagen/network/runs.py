"""Stops on runs become ports: where each run enters a part and where it leaves, and how many openings a part needs."""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from schemagen.base.place import Place
from schemagen.joblist.joblist import ConnectionLine
from schemagen.network.network import PortId
from schemagen.network.words import word
from schemagen.parts.kind import PartKind, PortSpec
from schemagen.parts.library import Library


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of a run. `tag` is None if there is no such part or kind, "" if the part is listed but not built."""

    text: str
    tag: str | None
    port: str = ""


@dataclass(slots=True)
class Piece:
    """A pipe in the making."""

    start: PortId
    end: PortId
    line: Place
    values: dict[str, Any]
    texts: dict[str, str]


@dataclass(frozen=True, slots=True)
class Want:
    """A stop that cannot be used as written. `ports` are the known ends that were to be joined to it.

    Without `check` it is an unknown end: `tag` and `port` say of what.
    """

    text: str
    tag: str | None
    place: Place
    port: str = ""
    ports: tuple[str, ...] = ()
    check: str = ""
    message: str = ""
    cure: str = ""
    tags: tuple[str, ...] = ()
    pipes: tuple[tuple[str, str], ...] = ()


Run = tuple[ConnectionLine, list[Stop]]


def read_stops(
    line: ConnectionLine, find_tag: Callable[[str], str | None], make: Callable[[str, Place], str | None]
) -> Run:
    """The stops of one line: "TAG", "TAG.port", or a kind's name, for which a part is made."""
    return line, [_stop(text, line.place, find_tag, make) for text in line.stops]


def _stop(
    text: str, place: Place, find_tag: Callable[[str], str | None], make: Callable[[str, Place], str | None]
) -> Stop:
    tag = find_tag(text)
    if tag is not None:
        return Stop(text, tag)
    left, dot, right = text.rpartition(".")
    if dot and (tag := find_tag(left)) is not None:
        return Stop(text, tag, word(right))
    return Stop(text, make(text, place))


def is_signal(port: PortSpec) -> bool:
    return port.need in ("signal", "mount")


def has_free_openings(kind: PartKind) -> bool:
    """True for tees and headers: three or more openings, all alike and always joined."""
    wet = [p for p in kind.ports.values() if not is_signal(p)]
    alike = len(wet) > 2 and all(p.role == "either" for p in wet)
    return alike and not kind.positions and all(p.sort == "both" for p in kind.passages)


def through(kind: PartKind) -> tuple[str, str] | None:
    """The openings by which a run enters and leaves a part that it passes, or None if that is not plain.

    A relief valve counts: in by its inlet (a dead end until it lifts), out by its outlet.
    """
    if kind.inlet is not None and kind.outlet is not None:
        return kind.inlet, kind.outlet
    must = [p for p in kind.ports.values() if p.need == "must"]
    if [p.role for p in must] == ["dead", "out"]:
        return must[0].name, must[1].name
    return None


def grown(runs: Iterable[Run], kinds: Mapping[str, PartKind], library: Library) -> dict[str, PartKind]:
    """Kinds with repeating openings, at the number of units that the runs use. Others are left out."""
    named: dict[str, dict[str, None]] = {}
    unnamed: dict[str, int] = {}
    for _, stops in runs:
        for i, stop in enumerate(stops):
            if not stop.tag or not kinds[stop.tag].grows:
                continue
            sides = 1 if i in (0, len(stops) - 1) else 2
            if stop.port:
                named.setdefault(stop.tag, {})[stop.port] = None
                sides -= 1
            if has_free_openings(kinds[stop.tag]):
                unnamed[stop.tag] = unnamed.get(stop.tag, 0) + sides
    result = {}
    for tag in [*named, *(t for t in unnamed if t not in named)]:
        kind = kinds[tag]
        units = max(_highest(kind, named.get(tag, ())), _needed(kind, len(named.get(tag, ())), unnamed.get(tag, 0)))
        if units:
            result[tag] = library.kind(kind.name, min(units, kind.most_units))
    return result


def _highest(kind: PartKind, ports: Iterable[str]) -> int:
    pattern = re.compile(re.escape(kind.grows).replace(r"\{n\}", r"(\d{1,4})"))
    return max((int(m[1]) for p in ports if (m := pattern.match(p))), default=0)


def _needed(kind: PartKind, named: int, unnamed: int) -> int:
    """Units of a header so that all its named and unnamed uses find an opening."""
    if not unnamed:
        return 0
    fixed = len(kind.ports) - kind.units
    return max(named + unnamed - fixed, 1)


def connect(
    runs: Iterable[Run],
    kinds: Mapping[str, PartKind],
    read_values: Callable[[ConnectionLine], tuple[dict[str, Any], dict[str, str]]],
) -> tuple[list[Piece], list[Want]]:
    """Pipes from stop to stop, and what could not be joined. A run's length is shared out evenly among its pipes."""
    runs = list(runs)
    openings = _Openings(kinds, runs)
    pieces: list[Piece] = []
    wants: list[Want] = []
    for line, stops in runs:
        values, texts = read_values(line)
        ends = [openings.take(stop, i > 0, i < len(stops) - 1, line.place) for i, stop in enumerate(stops)]
        pieces += _pieces(line, ends, values, texts)
        wants += _wants(ends)
        if len(stops) < 2:
            message = f"{', '.join(line.stops) or 'a connection'} is joined to nothing"
            wants.append(
                Want("", None, line.place, check="unknown-end", message=message, cure="write both ends of the pipe")
            )
    return _once(pieces, wants)


@dataclass(slots=True)
class _Ends:
    """Where a run enters a part and where it leaves it; None where it does not, or cannot (`want` says why)."""

    enter: PortId | None = None
    leave: PortId | None = None
    want: Want | None = None
    near: list[str] = field(default_factory=list)


class _Openings:
    """Hands out openings to stops that do not name one."""

    def __init__(self, kinds: Mapping[str, PartKind], runs: Iterable[Run]) -> None:
        self.kinds = kinds
        self.free = {tag: has_free_openings(kind) for tag, kind in kinds.items()}
        self.taken = {PortId(s.tag, s.port) for _, stops in runs for s in stops if s.tag and s.port}

    def take(self, stop: Stop, comes: bool, goes: bool, place: Place) -> _Ends:
        if not stop.tag:
            return _Ends(want=Want(stop.text, stop.tag, place))
        kind = self.kinds[stop.tag]
        if stop.port and (stop.port not in kind.ports or is_signal(kind.ports[stop.port])):
            return _Ends(want=self._unfit(stop, kind, place))
        if stop.port:
            return self._from_named(stop, kind, comes, goes, place)
        ends = _Ends()
        if comes and not (goes and not self._passes(kind)):
            ends.enter = self._opening(stop.tag, kind, entering=True)
        if goes and not (comes and not self._passes(kind)):
            ends.leave = self._opening(stop.tag, kind, entering=False)
        if (comes and ends.enter is None) or (goes and ends.leave is None):
            ends.want = self._unnamed(stop, kind, place)
        return ends

    def _from_named(self, stop: Stop, kind: PartKind, comes: bool, goes: bool, place: Place) -> _Ends:
        port = PortId(stop.tag, stop.port)
        if not (comes and goes):
            return _Ends(enter=port if comes else None, leave=port if goes else None)
        if self.free[stop.tag]:
            return _Ends(enter=port, leave=self._opening(stop.tag, kind, entering=False))
        if (way := through(kind)) and stop.port in way:
            return _Ends(enter=port, leave=PortId(stop.tag, way[0] if stop.port == way[1] else way[1]))
        return _Ends(enter=port, want=self._unnamed(stop, kind, place))

    def _passes(self, kind: PartKind) -> bool:
        return through(kind) is not None or has_free_openings(kind)

    def _opening(self, tag: str, kind: PartKind, entering: bool) -> PortId | None:
        name = self._opening_name(tag, kind, entering)
        if name is None:
            return None
        self.taken.add(PortId(tag, name))
        return PortId(tag, name)

    def _opening_name(self, tag: str, kind: PartKind, entering: bool) -> str | None:
        if self.free[tag]:
            names = list(kind.ports)
            return next((n for n in names if PortId(tag, n) not in self.taken), names[-1])
        if way := through(kind):
            first, other = way if entering else way[::-1]
            alike = kind.ports[first].role == "either"
            swap = alike and PortId(tag, first) in self.taken and PortId(tag, other) not in self.taken
            return other if swap else first
        wet = [p for p in kind.ports.values() if not is_signal(p)]
        must = [p for p in wet if p.need == "must"]
        only = wet if len(wet) == 1 else must
        return only[0].name if len(only) == 1 else None

    def _unfit(self, stop: Stop, kind: PartKind, place: Place) -> Want:
        if stop.port not in kind.ports:
            return Want(stop.text, stop.tag, place, stop.port)
        words = (
            "on: and the tag of its host"
            if kind.ports[stop.port].need == "mount"
            else "switches: and the tags it acts on"
        )
        return Want(
            stop.text,
            stop.tag,
            place,
            check="unknown-end",
            message=f"{stop.tag}.{stop.port} carries no water, so no pipe can end there",
            cure=f"write {words}, in the line of {stop.tag} in the parts list",
            tags=(stop.tag,),
        )

    def _unnamed(self, stop: Stop, kind: PartKind, place: Place) -> Want:
        names = [f"{stop.tag}.{p.name}" for p in kind.ports.values() if not is_signal(p)]
        if not names:
            message, cure = (
                f"{stop.tag} ({kind.name}) carries no water",
                f"write switches: or on: in the line of {stop.tag}",
            )
        elif stop.port:
            message = (
                f"a run cannot go on through {stop.tag}.{stop.port}: it is not plain where it would leave {stop.tag}"
            )
            cure = f"end the run at {stop.tag}.{stop.port} and begin a new one at the opening where the water leaves"
        else:
            message = f"{stop.tag} ({kind.name}) does not say which opening is meant"
            cure = f"write one of: {', '.join(names)}"
        return Want(stop.text, stop.tag, place, check="unknown-end", message=message, cure=cure, tags=(stop.tag,))


def _pieces(line: ConnectionLine, ends: list[_Ends], values: dict[str, Any], texts: dict[str, str]) -> list[Piece]:
    pairs = []
    for a, b in zip(ends, ends[1:], strict=False):
        if a.leave and b.enter:
            pairs.append((a.leave, b.enter))
        elif a.leave:
            b.near.append(str(a.leave))
        elif b.enter:
            a.near.append(str(b.enter))
    if len(pairs) > 1 and "length" in values:
        values = values | {"length": values["length"] / len(pairs)}
    return [Piece(a, b, line.place, values, texts) for a, b in pairs]


def _wants(ends: list[_Ends]) -> list[Want]:
    return [replace(e.want, ports=tuple(e.near)) for e in ends if e.want]


def _once(pieces: list[Piece], wants: list[Want]) -> tuple[list[Piece], list[Want]]:
    """Drops pipes from a port to itself and pipes listed twice; names the ports that have more than one pipe."""
    kept: dict[frozenset[PortId], Piece] = {}
    at: dict[PortId, list[Piece]] = {}
    for piece in pieces:
        ends = frozenset((piece.start, piece.end))
        if len(ends) == 1:
            wants.append(_ring(piece))
        elif ends in kept:
            wants.append(_again(piece, kept[ends]))
        else:
            kept[ends] = piece
            at.setdefault(piece.start, []).append(piece)
            at.setdefault(piece.end, []).append(piece)
    wants += [_crowded(port, there) for port, there in at.items() if len(there) > 1]
    return list(kept.values()), wants


def _ring(piece: Piece) -> Want:
    return Want(
        "",
        piece.start.tag,
        piece.line,
        check="port-used-twice",
        message=f"a pipe runs from {piece.start} back to itself",
        cure="name the other end of the pipe",
        tags=(piece.start.tag,),
    )


def _again(piece: Piece, first: Piece) -> Want:
    return Want(
        "",
        piece.start.tag,
        piece.line,
        check="port-used-twice",
        message=f"the pipe from {first.start} to {first.end} is listed twice ({first.line})",
        cure="leave one of the two lines out",
        tags=(piece.start.tag, piece.end.tag),
        pipes=((str(first.start), str(first.end)),),
    )


def _crowded(port: PortId, there: list[Piece]) -> Want:
    others = [str(p.end if p.start == port else p.start) for p in there]
    return Want(
        "",
        port.tag,
        there[1].line,
        check="port-used-twice",
        message=f"{port} has {len(there)} pipes, to {', '.join(others[:-1])} and {others[-1]}; an opening takes one",
        cure=f"add a tee, or a header, and share from it: {port}, {', '.join(others)}",
        tags=(port.tag,),
        pipes=tuple((str(p.start), str(p.end)) for p in there),
    )
