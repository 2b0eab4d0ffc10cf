"""vent-obstructed (error)

What: in an open-vented circuit the way from a source's flow (or from the hot outlet of a vented store) to the open vent can be shut, is missing, or falls.
Why: the open vent is the boiler's emergency chimney for steam: no valve, no pump, always uphill.
Cure: run it without a valve, rising from the flow.
Source: the vent rises all the way and carries no valve or pump: trade and textbook pages, seen; BS EN 12828 national annex, from memory
Caution: pressure

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      A1: {kind: open-vent-end}
      T2: {kind: tee}
      F1: {kind: feed-and-expansion-cistern, capped: [supply, overflow]}
      P1: {kind: pump}
      R1: {kind: radiator}
      V1: {kind: isolating-valve}
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, V1.a]
      - [V1.b, A1.port]
      - [T1.b, T2.a]
      - [T2.branch, F1.cold-feed]
      - [T2.b, P1.in]
      - [P1.out, R1.a]
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
from schemagen.checks.sealed_and_vented._sections import heated, in_between, open_ends
from schemagen.network.network import PortId


def check(facts):
    for giver, section in heated(facts):
        if section.open and not section.elsewhere:
            outlets = [port for port in facts.outlet_ports(giver) if facts.is_piped(port)]
            reached = facts.reach.fixed_of(giver.tag)
            yield from _vent(facts, giver.tag, outlets[0] if outlets else None, open_ends(facts, section), reached)
    for store in facts.parts("vented-cylinder", "single-feed-cylinder"):
        outlet = PortId(store.tag, "hot-out")
        if facts.is_piped(outlet) and not facts.goes_on_elsewhere(outlet):
            yield from _vent(facts, store.tag, outlet, open_ends(facts, facts.section(outlet)), facts.reach.fixed(outlet))


def _vent(facts, tag: str, start, ends, reached):
    if start is None:
        return
    if not set(ends) & reached:
        between = in_between(facts, [start], ends)
        said = f"{', '.join(between)} can shut the open vent of {tag}" if between else f"no open vent leads from {start}"
        yield Fault(
            said,
            f"lead an open vent without a valve from {start}, rising all the way",
            parts=(tag, *between),
            ports=(start,),
        )
        return
    for pipe in facts.network.pipes:
        heights = pipe.values.get("heights") or ()
        if (pipe.start in reached and pipe.end in ends) and any(b < a for a, b in zip(heights, heights[1:], strict=False)):
            yield Fault(f"the open vent of {tag} falls on its way", "let it rise all the way", parts=(tag,), pipes=[pipe], severity="warning")
