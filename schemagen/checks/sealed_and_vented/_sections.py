"""Questions about pressure sections that several checks of this group ask."""

from collections import deque
from collections.abc import Collection, Iterator

from schemagen.network.network import Part, PortId
from schemagen.network.reach import Section

CIRCUITS = ("heating-water", "antifreeze-mix", "ground-brine")
FEED = "feed-and-expansion-cistern"


def heated(facts) -> Iterator[tuple[Part, Section]]:
    """Each heat source with the section of its own water, where that is a circuit and not a supply."""
    for giver in facts.givers:
        ports = [PortId(giver.tag, n) for n in giver.kind.gives if facts.is_piped(PortId(giver.tag, n))]
        if ports and facts.medium_at(ports[0]) in CIRCUITS:
            section = facts.section(ports[0])
            if not section.supply and giver.kind.name != "ground-loop":
                yield giver, section


def relief_inlets(facts, section: Section) -> list[PortId]:
    return [port for port in section.ports if facts.network.parts[port.tag].kind.name == "relief-valve" and port.port == "inlet"]


def vessel_ports(facts, section: Section) -> list[PortId]:
    """Where the water of a section finds a vessel: its opening, or the body of a source with one inside."""
    out = []
    for port in section.ports:
        part = facts.network.parts[port.tag]
        name = part.kind.name
        if name.endswith("expansion-vessel") and port.port == "port" or name == "drain-back-vessel":
            out.append(port)
        elif "vessel" in part.built_in and port.port in part.kind.gives:
            out.append(port)
    return out


def open_ends(facts, section: Section) -> list[PortId]:
    return [port for port in section.ports if facts.network.parts[port.tag].kind.name == "open-vent-end"]


def feeds(facts, section: Section) -> list[PortId]:
    return [port for port in section.ports if facts.network.parts[port.tag].kind.name == FEED and port.port == "cold-feed"]


def in_between(facts, starts: Collection[PortId], ends: Collection[PortId]) -> list[str]:
    """Tags on a shortest wet way that can shut, stick or be blocked."""
    came: dict[PortId, PortId | None] = dict.fromkeys(starts)
    queue = deque(starts)
    goal = set(ends)
    while queue:
        port = queue.popleft()
        if port in goal:
            path = [port]
            while came[path[-1]] is not None:
                path.append(came[path[-1]])
            pairs = zip(path[::-1], path[-2::-1], strict=False)
            return list(dict.fromkeys(a.tag for a, b in pairs if a.tag == b.tag and b not in facts.reach.fixed(a)))
        for other in (*facts.reach.piped_to[port], *(way.to for way in facts.reach.ways[port])):
            if other not in came:
                came[other] = port
                queue.append(other)
    return []
