"""Each change in a sentence, in the words of the list."""

from collections import Counter
from collections.abc import Iterable, Sequence

from schemagen.base.finding import Finding
from schemagen.changes.changes import Changes, PartChange, PipeChange, natural
from schemagen.changes.matching import ALIKE, is_joint, opening
from schemagen.changes.states import StateChange
from schemagen.changes.values import Value
from schemagen.drawing.words import counted, listed
from schemagen.network.network import Network, PortId

MOST_ENDS = 4
"""Of more ends than this, the first ones are named and the rest counted."""


def said_of(changes: Changes, change: PartChange | PipeChange) -> str:
    """A sentence without a full stop: what changed, where, and from what to what."""
    return _part(changes, change) if isinstance(change, PartChange) else _pipes(changes, change)


def said_of_value(value: Value) -> str:
    """For example "size: 28 mm → 22 mm"."""
    return f"{value.key.replace('-', ' ')}: {value.old or 'not given'} → {value.new or 'not given'}"


def finding_words(finding: Finding) -> str:
    """A finding in one line."""
    return f"{finding.severity} {finding.check}: {finding.message}"


def state_words(change: StateChange) -> str:
    """A state in one line: that it came or went, or how parts stand in it otherwise than before."""
    if change.sort != "changed":
        return f"{change.name}: {change.sort}"
    return f"{change.name}: " + ", ".join(f"{v.key} {v.old} → {v.new}" for v in change.values)


def counts_of(changes: Changes) -> str:
    """How much changed, in a line."""
    sorts = Counter((isinstance(c, PartChange), c.sort) for c in changes.rows)
    said = [
        f"{counted(n, 'part' if of_part else 'pipe run')} {sort}"
        for (of_part, sort), n in sorts.items()
    ]  # fmt: skip
    findings = [
        f"{counted(len(some), 'finding')} {word}"
        for word, some in (("came", changes.came), ("went", changes.went))
        if some
    ]
    return listed([*said, *findings]) if said or findings else "no changes of the system"


# parts


def _part(changes: Changes, change: PartChange) -> str:
    values = "; ".join(map(said_of_value, change.values))
    if change.sort == "renamed":
        return f"{_named(changes.old.network, change.old)} is now {change.new}{'; ' if values else ''}{values}"
    if change.sort == "changed":
        return f"{_named(changes.new.network, change.new)}: {values}"
    tag, network = (change.new, changes.new.network) if change.new else (change.old, changes.old.network)
    return f"{_named(network, tag)} {change.sort}{_where(network, tag)}{_in_place_of(changes, change)}"


def _named(network: Network, tag: str) -> str:
    part = network.parts[tag]
    label = f" ({part.label})" if part.label else ""
    return f"{part.kind.title} {tag}{label}"


def _where(network: Network, tag: str) -> str:
    """What a part is joined to, with the words before it."""
    ends = [
        _place_of(network, far, pipe.index)
        for pipe in network.pipes
        for near, far in ((pipe.start, pipe.end), (pipe.end, pipe.start))
        if near.tag == tag
    ]
    if ends:
        head = {1: " at ", 2: " between "}.get(len(ends), ", joined to ")
        return head + _some(list(dict.fromkeys(ends)))
    host, switches = network.host_of(tag), network.parts[tag].value("switches", ())
    on = f", mounted on {host.tag}" if host else ""
    return on + (f", switching {listed(switches)}" if switches else "")


def _in_place_of(changes: Changes, change: PartChange) -> str:
    """What stood in the run where an added part stands."""
    if change.sort != "added":
        return ""
    known = changes.pairing.tags
    for way in changes.pairing.ways:
        come = _passed(changes.new.network, way.new, set(known.values()))
        gone = _passed(changes.old.network, way.old, set(known))
        if come == [change.new] and len(gone) == 1:
            return f", in place of {gone[0]}"
    return ""


def _passed(network: Network, pipes: Iterable[int], known: set[str]) -> list[str]:
    """Parts that only this version has, on a way."""
    ends = (end.tag for i in pipes for end in (network.pipes[i].start, network.pipes[i].end))
    return [tag for tag in dict.fromkeys(ends) if tag not in known and not is_joint(network.parts[tag])]


def _place_of(network: Network, port: PortId, along: int) -> str:
    """An end in words: the opening, or for a tee the run in which it sits. `along` is the pipe by which one comes."""
    part = network.parts.get(port.tag)
    if part is None or not is_joint(part):
        return port.tag if opening(network, port).port == ALIKE else str(port)
    others = [p for p in network.pipes if p.index != along and port.tag in (p.start.tag, p.end.tag)]
    found = [_beyond(network, port.tag, p.index, {along}) for p in others]
    return f"the run {'–'.join(found)}" if len(found) == 2 else "the run at " + (listed(found) if found else port.tag)


def _beyond(network: Network, tag: str, along: int, seen: set[int]) -> str:
    """The nearest part with a name that a pipe leads to from a tee, through other tees."""
    waiting, seen = [(tag, along)], set(seen)
    for joint, i in waiting:
        seen.add(i)
        pipe = network.pipes[i]
        far = pipe.end.tag if pipe.start.tag == joint else pipe.start.tag
        if not is_joint(network.parts[far]):
            return far
        waiting += [(far, p.index) for p in network.pipes if p.index not in seen and far in (p.start.tag, p.end.tag)]
    return tag


# pipes


def _pipes(changes: Changes, change: PipeChange) -> str:
    old, new = changes.old.network, changes.new.network
    if change.sort == "re-piped":
        return _re_piped(changes, change)
    network, pipes = (old, change.old) if change.sort == "removed" else (new, change.new)
    what = f"{'pipe' if len(pipes) == 1 else 'pipes'} {_between(network, pipes)}"
    if change.sort == "changed":
        return f"{what}: {'; '.join(map(said_of_value, change.values))}"
    sizes = sorted({network.pipes[i].size_text for i in pipes} - {""}, key=natural)
    return f"{what} {change.sort}" + (f", {' and '.join(sizes)}" if sizes else "")


def _re_piped(changes: Changes, change: PipeChange) -> str:
    """Where a pipe led and where it leads; with the tags of the tees if that alone tells them apart."""
    tags = {new: old for old, new in changes.pairing.tags.items()}
    far = [
        _other_end(network, i, change.at, tag)
        for network, (i,), tag in (
            (changes.old.network, change.old, tags[change.at.tag]),
            (changes.new.network, change.new, change.at.tag),
        )
    ]
    before = _place_of(changes.old.network, far[0], change.old[0])
    after = _place_of(changes.new.network, far[1], change.new[0])
    if before == after:
        before, after = f"{before} at {far[0].tag}", f"{after} at {far[1].tag}"
    at = change.at.tag if change.at.port == ALIKE else str(change.at)
    return f"pipe at {at} led to {before}, now leads to {after}"


def _other_end(network: Network, i: int, at: PortId, tag: str) -> PortId:
    """The end of a pipe that is not at an opening, of a part with that tag in its network."""
    pipe = network.pipes[i]
    start = pipe.start if at.port != ALIKE else pipe.start._replace(port=ALIKE)
    return pipe.end if start == at._replace(tag=tag) else pipe.start


def _between(network: Network, pipes: Sequence[int]) -> str:
    """From where to where pipes run that hang together."""
    if len(pipes) == 1:
        pipe = network.pipes[pipes[0]]
        return f"from {_place_of(network, pipe.start, pipe.index)} to {_place_of(network, pipe.end, pipe.index)}"
    seen = Counter(end.tag for i in pipes for end in (network.pipes[i].start, network.pipes[i].end))
    outer = [
        (n, _place_of(network, end, i))
        for i in pipes
        for n, end in enumerate((network.pipes[i].start, network.pipes[i].end))
        if seen[end.tag] == 1
    ]
    starts, ends = ([text for n, text in outer if n == side] for side in (0, 1))
    if len(starts) == len(ends) == 1:
        return f"from {starts[0]} to {ends[0]}"
    if not outer:
        return f"in a ring at {min(seen, key=natural)}"
    return f"between {_some(sorted({text for _, text in outer}, key=natural))}"


def _some(words: Sequence[str]) -> str:
    return listed(words if len(words) <= MOST_ENDS else [*words[: MOST_ENDS - 1], f"{len(words) - MOST_ENDS + 1} more"])
