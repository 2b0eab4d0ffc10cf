"""pump-between-vent-and-feed (error)

What: a pump stands between the tee of the open vent and the tee of the cold feed. Advice if they are further apart than 150 mm.
Why: the pump would lift water over the vent into the cistern or suck air down it; oxygen then rusts the radiators.
Cure: both tees close together on the suction side of the pump.
Source: neutral point and 150 mm: textbook, seen

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      A1: {kind: open-vent-end}
      T2: {kind: tee}
      F1: {kind: feed-and-expansion-cistern, capped: [supply, overflow]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, T2.a]
      - [T2.branch, F1.cold-feed]
      - [T2.b, P1.in]
      - [P1.out, T1.a]
      - [T1.branch, A1.port]
      - [T1.b, R1.a]
      - [R1.b, B1.return]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      A1: {kind: open-vent-end}
      T2: {kind: tee}
      F1: {kind: feed-and-expansion-cistern, capped: [supply, overflow]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, A1.port]
      - [T1.b, T2.a]
      - [T2.branch, F1.cold-feed]
      - [T2.b, P1.in]
      - [P1.out, R1.a]
      - [R1.b, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.sealed_and_vented._sections import feeds, open_ends
from schemagen.network.network import PortId

FARTHEST_M = 0.150


def check(facts):
    pumps = [p.tag for p in facts.network.parts.values() if p.kind.driver == "pump" and "in" in p.kind.ports]
    for section in facts.reach.sections:
        vents, cisterns = open_ends(facts, section), feeds(facts, section)
        if not vents or not cisterns or section.supply:
            continue
        vent, feed = facts.reach.header(vents[0]), facts.reach.header(cisterns[0])
        for tag in pumps:
            ends = PortId(tag, "in"), PortId(tag, "out")
            if (ends[0] in vent and ends[1] in feed or ends[0] in feed and ends[1] in vent) and vents[0] not in feed:
                yield Fault(
                    f"{tag} stands between the open vent {vents[0].tag} and the cold feed of {cisterns[0].tag}",
                    f"join both to the pipe at {tag}.in, within 150 mm of each other",
                    parts=(tag, vents[0].tag, cisterns[0].tag),
                )
        yield from _far_apart(facts, vents[0], cisterns[0])


def _far_apart(facts, vent, feed):
    tees = [far.tag for end in (vent, feed) if (far := facts.piped_across(end))]
    for pipe in facts.network.pipes_at and (facts.pipe_at(p) for p in facts.network.ports() if len(tees) == 2 and p.tag == tees[0]):
        if pipe and {pipe.start.tag, pipe.end.tag} == set(tees) and (pipe.values.get("length") or 0) > FARTHEST_M:
            yield Fault(
                f"the tees of {vent.tag} and {feed.tag} are {pipe.values['length']:.2f} m apart",
                "bring them within 150 mm of each other",
                parts=(vent.tag, feed.tag),
                pipes=[pipe],
                severity="advice",
            )
            return
