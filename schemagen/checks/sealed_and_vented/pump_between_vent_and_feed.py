"""pump-between-vent-and-feed (error)

What: a pump of an open-vented circuit stands between the joint of the open vent and that of the cold feed; the body of
    a boiler between them makes no difference. Advice: the two joints are more than 150 mm apart.
Why: the pump would lift water over the vent into the cistern or suck air down it; oxygen then rusts the radiators.
Cure: both joints close together on the suction side of the pump.
Source: neutral point and 150 mm: a plumbing course textbook, seen

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      F1: {kind: feed-and-expansion-cistern, at: P1.in, capped: [supply, overflow]}
      P1: {kind: pump}
      A1: {kind: open-vent-end, at: P1.out}
      R1: {kind: radiator}
    connections:
      - [B1.flow, P1, R1, B1.return]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      A1: {kind: open-vent-end, at: B1.flow}
      F1: {kind: feed-and-expansion-cistern, at: P1.in, capped: [supply, overflow]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, P1, R1, B1.return]
"""

from schemagen.base.units import quantity
from schemagen.checks.fault import Fault
from schemagen.checks.heated_circuits import heated_circuits
from schemagen.network.groups import Groups
from schemagen.network.network import PortId
from schemagen.network.reach import is_wet
from schemagen.network.rises import shortest_way

FARTHEST_M = 0.150


def check(facts):
    for circuit in heated_circuits(facts):
        if not (circuit.section.open and circuit.vents and circuit.feeds):
            continue
        header = _headers(facts, circuit.section.ports)
        vents = {header[port] for port in circuit.vents}
        feeds = {header[port] for port in circuit.feeds}
        if vents & feeds:
            yield from _far_apart(facts, circuit)
            continue
        for tag in circuit.section.tags:
            if facts.network.parts[tag].kind.driver == "pump":
                ends = header.get(PortId(tag, "in")), header.get(PortId(tag, "out"))
                if ends[0] in vents and ends[1] in feeds or ends[0] in feeds and ends[1] in vents:
                    vent, feed = circuit.vents[0].tag, circuit.feeds[0].tag
                    yield Fault(
                        f"{tag} stands between the open vent {vent} and the cold feed of {feed}",
                        f"join both to the pipe at {tag}.in, within 150 mm of each other",
                        parts=(tag, vent, feed),
                    )


def _headers(facts, ports) -> dict[PortId, int]:
    """Ports joined by pipes, plain parts and the bodies of sources have the same number."""
    groups: Groups[PortId] = Groups(ports)
    for port in ports:
        kind = facts.network.parts[port.tag].kind
        for far in facts.reach.piped_to[port]:
            groups.join(port, far)
        for passage in kind.passages:
            if passage.a == port.port and is_wet(kind, passage) and (kind.plain or port.port in kind.gives):
                groups.join(port, PortId(port.tag, passage.b))
    return groups.numbered()[0]


def _far_apart(facts, circuit):
    """The joints of vent and feed, where every pipe between them says its length."""
    ends = {far: port for port in circuit.feeds if (far := facts.piped_across(port))}
    start = facts.piped_across(circuit.vents[0])
    if start is None or not ends:
        return

    def passes(here: PortId, to: PortId) -> bool:
        return facts.network.parts[here.tag].kind.plain

    way = shortest_way(facts.reach, start, frozenset(ends), passes)
    between = {pipe.index: pipe for port in way if (pipe := facts.pipe_at(port)) and {pipe.start, pipe.end} <= {*way}}
    lengths = [pipe.values.get("length") for pipe in between.values()]
    if lengths and None not in lengths and sum(lengths) > FARTHEST_M:
        vent, feed = circuit.vents[0].tag, ends[way[-1]].tag
        yield Fault(
            f"the joints of {vent} and {feed} are {quantity(sum(lengths), 'mm')} apart",
            "bring them within 150 mm of each other",
            parts=(vent, feed),
            pipes=list(between.values()),
            severity="advice",
        )
