"""Which medium each pipe carries: as stated, or as the openings at its ends and upstream of it have it."""

from collections import Counter, deque
from collections.abc import Iterable, Mapping

from schemagen.network.groups import Groups
from schemagen.network.network import Network, Pipe, PortId
from schemagen.network.reach import is_wet
from schemagen.parts.kind import MEDIA, PortSpec

FAMILY: dict[str, str] = {
    "cold": "wholesome",
    "hot": "wholesome",
    "tempered": "wholesome",
    "heating-water": "heating",
    "antifreeze-mix": "heating",
    "ground-brine": "brine",
    "discharge": "waste",
    "condensate": "waste",
    "refrigerant": "refrigerant",
    "pool-water": "pool",
    "air": "air",
}
"""Media that may mix in service belong to one family."""

_PREFERRED = "HCWTBPDKRA"
_CLOSED = ("heating-water", "antifreeze-mix", "ground-brine")


_SAID = {"cold": "cold water", "hot": "hot water", "tempered": "blended water"}


def in_words(medium: str) -> str:
    """A medium as it is called in a sentence: "heating water"."""
    return _SAID.get(medium, medium.replace("-", " "))


def media_of(port: PortSpec) -> tuple[str, ...]:
    """The media an opening may carry; none for an opening that takes what its neighbours have."""
    return () if set(port.media) & {"X", "S"} else tuple(MEDIA[letter] for letter in port.media)


def find_media(network: Network) -> tuple[str, ...]:
    """The medium of each pipe by index, "" where nothing tells.

    A stated medium holds for its pipe and passes on like an opening's. Openings that disagree along one run of pipes
    split it: each pipe takes what its own ends say, then what comes from upstream.
    """
    said: dict[int, str] = {}
    for pipes in _runs(network):
        said |= _of_run(network, pipes)
    _tell_antifreeze(network, said)
    return tuple(said[pipe.index] for pipe in network.pipes)


def _runs(network: Network) -> list[list[Pipe]]:
    """Pipes joined through parts that take the medium of their neighbours."""
    groups: Groups[object] = Groups([*range(len(network.pipes)), *network.ports()])
    for pipe in network.pipes:
        for end in (pipe.start, pipe.end):
            groups.join(end, pipe.index)
    for part in network.parts.values():
        for passage in part.kind.passages:
            if is_wet(part.kind, passage):
                a, b = PortId(part.tag, passage.a), PortId(part.tag, passage.b)
                if len(_tells(network, a)) != 1 and len(_tells(network, b)) != 1:
                    groups.join(a, b)
    return [run for group in groups.numbered()[1] if (run := [network.pipes[i] for i in group if isinstance(i, int)])]


def _tells(network: Network, port: PortId) -> tuple[str, ...]:
    return media_of(network.parts[port.tag].kind.ports[port.port])


def _of_run(network: Network, pipes: list[Pipe]) -> dict[int, str]:
    votes = [(pipe.medium,) for pipe in pipes if pipe.medium]
    votes += [media for pipe in pipes for end in (pipe.start, pipe.end) if (media := _tells(network, end))]
    votes = list(dict.fromkeys(votes))
    common = _common(votes)
    if set().union(*votes) == {"hot", "tempered"} and not common:
        gives_blended = any(_tells(network, pipe.start) == ("tempered",) for pipe in pipes)
        common = {"tempered" if gives_blended else "hot"}
    if common or not votes:
        chosen = _best(common)
        return {pipe.index: pipe.medium or chosen for pipe in pipes}
    return _split(network, pipes)


def _common(votes: Iterable[tuple[str, ...]]) -> set[str]:
    sets = [set(v) | ({"heating-water"} if "antifreeze-mix" in v else set()) for v in votes]
    return set.intersection(*sets) if sets else set()


def _best(media: Iterable[str]) -> str:
    order = [MEDIA[letter] for letter in _PREFERRED]
    return min(media, key=lambda m: order.index(m) if m in order else len(order), default="")


def _split(network: Network, pipes: list[Pipe]) -> dict[int, str]:
    """Openings disagree: what a pipe's own ends say, then what comes from upstream, then what lies downstream."""
    said: dict[int, str] = {}
    for pipe in pipes:
        start, end = _tells(network, pipe.start), _tells(network, pipe.end)
        agreed = [m for m in start if m in end]
        sure = next((media[0] for media in (agreed, start, end) if len(media) == 1), "")
        if pipe.medium or sure:
            said[pipe.index] = pipe.medium or sure
    for forward in (True, False):
        queue = deque(pipe for pipe in pipes if pipe.index in said)
        while queue:
            pipe = queue.popleft()
            for other in _next(network, pipe, forward):
                if other.index not in said:
                    said[other.index] = said[pipe.index]
                    queue.append(other)
    usual = Counter(said.values()).most_common(1)
    return {pipe.index: said.get(pipe.index, usual[0][0] if usual else "") for pipe in pipes}


def _next(network: Network, pipe: Pipe, forward: bool) -> list[Pipe]:
    """Pipes that go on from the pipe's end (or lead to its start) through parts that take any medium."""
    port = pipe.end if forward else pipe.start
    if len(_tells(network, port)) == 1:
        return []
    beyond = [
        PortId(port.tag, name)
        for name, spec in network.parts[port.tag].kind.ports.items()
        if name != port.port and len(media_of(spec)) != 1
    ]
    side = (lambda p: p.start) if forward else (lambda p: p.end)
    return [other for b in beyond for other in network.pipes_at.get(b, ()) if side(other) == b]


def _tell_antifreeze(network: Network, said: dict[int, str]) -> None:
    """Turns heating water into antifreeze mix where one water holds a part or pipe that says so, or a solar collector.

    A solar circuit is taken as filled with antifreeze unless the list says otherwise or it drains back.
    """
    for pipes in _waters(network, said):
        stated = {network.pipes[i].medium for i in pipes} - {""}
        tags = dict.fromkeys(end.tag for i in pipes for end in (network.pipes[i].start, network.pipes[i].end))
        stated |= {str(network.parts[tag].value("medium")) for tag in tags if "medium" in network.parts[tag].texts}
        kinds = {network.parts[tag].kind.name for tag in tags}
        solar = "solar-collector" in kinds and "drain-back-vessel" not in kinds and "heating-water" not in stated
        if "antifreeze-mix" in stated or solar:
            for i in pipes:
                if said[i] == "heating-water" and network.pipes[i].medium != "heating-water":
                    said[i] = "antifreeze-mix"


def _waters(network: Network, said: Mapping[int, str]) -> list[list[int]]:
    """Pipes of heating water that share it."""
    number, groups = bodies(network, said)
    return [[i for i in group if said[i] in _CLOSED] for group in groups]


def bodies(network: Network, said: Mapping[int, str]) -> tuple[dict[int, int], list[list[int]]]:
    """Bodies of water: pipes that reach each other through wet passages without a change of media family."""
    groups: Groups[object] = Groups([*range(len(network.pipes)), *network.ports()])
    for pipe in network.pipes:
        for end in (pipe.start, pipe.end):
            groups.join(pipe.index, end)
    for part in network.parts.values():
        for passage in part.kind.passages:
            if is_wet(part.kind, passage):
                a, b = PortId(part.tag, passage.a), PortId(part.tag, passage.b)
                if _alike(network, said, a, b):
                    groups.join(a, b)
    members = [[t for t in g if isinstance(t, int)] for g in groups.numbered()[1]]
    members = [g for g in members if g]
    return {i: n for n, g in enumerate(members) for i in g}, members


def _alike(network: Network, said: Mapping[int, str], a: PortId, b: PortId) -> bool:
    families = []
    for port in (a, b):
        media = [said[p.index] for p in network.pipes_at.get(port, ())] or list(_tells(network, port))
        families.append({FAMILY.get(m, m) for m in media if m})
    return not all(families) or bool(families[0] & families[1])
