"""Which pipes of an old network are which pipes of a new one, once it is known which parts are the same."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from schemagen.changes.matching import ALIKE, is_joint, opening
from schemagen.network.network import Network, Pipe, PortId
from schemagen.network.runs import through
from schemagen.parts.kind import PartKind

Ends = tuple[PortId, PortId]


@dataclass(frozen=True, slots=True)
class Way:
    """Pipes that follow on each other from one opening to another that are in both networks, by their numbers in each.

    More than one on a side where parts on the way were put in or taken out. `turned` if the new list says that water
    runs the other way. Openings are those of the new network.
    """

    ends: Ends
    old: tuple[int, ...]
    new: tuple[int, ...]
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Moved:
    """A pipe that keeps the end at one opening (as the new network names it) and leads elsewhere at the other."""

    at: PortId
    old: int
    new: int


@dataclass(frozen=True)
class Pairing:
    """Tags matched (old to new), ways that are in both networks, and pipes (by number) that are not."""

    tags: Mapping[str, str]
    ways: tuple[Way, ...]
    gone: tuple[int, ...]
    come: tuple[int, ...]
    moved: tuple[Moved, ...]


def paired(old: Network, new: Network, tags: Mapping[str, str]) -> Pairing:
    """Every pipe of both networks is in one way, or gone, or come, or moved.

    A pipe into which a valve or a tee was put is still there: it is the way through it.
    """
    swapped = {t for t, n in tags.items() if _in_its_place(old.parts[t].kind, new.parts[n].kind)}
    gone = {pipe.index: _ends(old, pipe, swapped, tags) for pipe in old.pipes}
    come = {pipe.index: _ends(new, pipe, {tags[t] for t in swapped}) for pipe in new.pipes}
    known = frozenset(tags.values())
    ways: list[Way] = []
    for find in (_same, _around):
        for way in find(_Side(old, gone, known), _Side(new, come, known)):
            if gone.keys() >= set(way.old) and come.keys() >= set(way.new):
                ways.append(way)
                gone = {i: ends for i, ends in gone.items() if i not in way.old}
                come = {i: ends for i, ends in come.items() if i not in way.new}
    moved = _moved(_Side(old, gone, known), _Side(new, come, known))
    return Pairing(
        tags,
        tuple(ways),
        tuple(i for i in gone if all(i != m.old for m in moved)),
        tuple(i for i in come if all(i != m.new for m in moved)),
        tuple(moved),
    )


@dataclass(frozen=True, slots=True)
class _Side:
    """One network: the ends of its pipes that have no counterpart yet, and the new tags of parts that have one."""

    network: Network
    pipes: Mapping[int, Ends]
    known: frozenset[str]


def _in_its_place(old: PartKind, new: PartKind) -> bool:
    """True if a part on a run was changed for one of another kind, whose openings may have other names."""
    return old.name != new.name and through(old) is not None and through(new) is not None


def _ends(network: Network, pipe: Pipe, swapped: Collection[str], tags: Mapping[str, str] | None = None) -> Ends:
    """The ends of a pipe; those of old pipes under the new tags, with a blank before a tag that has none."""

    def named(end: PortId) -> PortId:
        port = ALIKE if end.tag in swapped else opening(network, end).port
        return PortId(end.tag if tags is None else tags.get(end.tag, f" {end.tag}"), port)

    return named(pipe.start), named(pipe.end)


def _same(old: _Side, new: _Side) -> Iterator[Way]:
    """Pipes that join the same openings; those that also run the same way, at the same size, first."""
    where: dict[frozenset[PortId], list[int]] = {}
    for i, ends in new.pipes.items():
        where.setdefault(frozenset(ends), []).append(i)
    pairs = []
    for i, ends in old.pipes.items():
        for j in where.get(frozenset(ends), ()):
            turned = ends != new.pipes[j]
            other = _size(old, i) != _size(new, j)
            pairs.append((turned, other, i, j))
    yield from (Way(new.pipes[j], (i,), (j,), turned) for turned, _, i, j in sorted(pairs))


def _size(side: _Side, index: int) -> float:
    return side.network.pipes[index].size or 0.0


def _around(old: _Side, new: _Side) -> Iterator[Way]:
    """Ways between the same openings through parts that only one network has, the shortest first."""
    found_old, found_new = _ways_of(old), _ways_of(new)
    both = [(found_old[ends], found_new[ends], ends) for ends in found_old if ends in found_new]
    for a, b, ends in sorted(both, key=lambda w: (len(w[0]) + len(w[1]), w[2])):
        yield Way(ends, a, b)


def _ways_of(side: _Side) -> dict[Ends, tuple[int, ...]]:
    """The shortest way from opening to opening of known parts through unknown tees and parts on a run."""
    at: dict[PortId, list[tuple[PortId, int]]] = {}
    for i, (a, b) in side.pipes.items():
        at.setdefault(a, []).append((b, i))
        at.setdefault(b, []).append((a, i))
    out: dict[Ends, tuple[int, ...]] = {}
    for first in sorted(port for port in at if port.tag in side.known):
        reached: dict[PortId, tuple[int, ...]] = {first: ()}
        waiting = [first]
        for port in waiting:
            way = reached[port]
            for far, i in at.get(port, ()):
                if far in reached or i in way:
                    continue
                reached[far] = (*way, i)
                if far.tag in side.known:
                    ends = (first, far) if first <= far else (far, first)
                    out.setdefault(ends, reached[far] if first <= far else reached[far][::-1])
                elif (onward := _past(side.network, far)) and (onward == far or onward not in reached):
                    reached[onward] = reached[far]
                    waiting.append(onward)
    return out


def _past(network: Network, port: PortId) -> PortId | None:
    """Where a run goes on that enters a tee, or a part that stands in a run; None elsewhere."""
    part = network.parts[port.tag.strip()]
    if is_joint(part):
        return port
    way = through(part.kind) if part.kind.shape in ("inline", "bent") else None
    if way is None:
        return None
    ends = [opening(network, PortId(part.tag, name)).port for name in way]
    if port.port not in ends:
        return None
    return PortId(port.tag, ends[1] if port.port == ends[0] else ends[0])


def _moved(old: _Side, new: _Side) -> list[Moved]:
    """Pairs of a pipe that is gone and one that has come with one end in common, at a part that is no tee.

    Where either leads to a part that only one network has, the part says so already.
    """
    at: dict[PortId, list[int]] = {}
    for j, ends in new.pipes.items():
        for end in ends:
            if _stays(new, ends[1] if end == ends[0] else ends[0]):
                at.setdefault(end, []).append(j)
    found = []
    for i, ends in old.pipes.items():
        for end in ends:
            part = new.network.parts.get(end.tag)
            if part and not is_joint(part) and _stays(old, ends[1] if end == ends[0] else ends[0]):
                found += [(end, i, j) for j in at.get(end, ())]
    out: list[Moved] = []
    for end, i, j in sorted(found):
        if all(i != m.old and j != m.new for m in out):
            out.append(Moved(end, i, j))
    return out


def _stays(side: _Side, port: PortId) -> bool:
    return port.tag in side.known or is_joint(side.network.parts[port.tag.strip()])
