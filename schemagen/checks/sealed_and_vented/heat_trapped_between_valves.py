"""heat-trapped-between-valves (error)

What: in some state a source that is hot has no way for its pressure to a relief valve, a vessel or an open vent: shut valves on one side, one-way parts on the other.
Why: a motor valve shutting on one side and a check valve on the other can lock a hot collector in a closed box.
Cure: move vessel and relief valve inside the box, or move the valve.
Source: described for solar systems by an installer, seen; US codes forbid a section that can be isolated from its relief device, seen; common practice
Caution: pressure

Wrong:
    parts:
      S1: {kind: solar-collector}
      Z1: {kind: zone-valve, rest: shut}
      X1: {kind: plate-heat-exchanger, capped: [right-top, right-bottom]}
      T1: {kind: tee}
      T2: {kind: tee}
      R1: {kind: relief-valve}
      O1: {kind: collecting-container}
      E1: {kind: expansion-vessel}
      P1: {kind: pump}
      K1: {kind: check-valve}
    connections:
      - [S1.out, Z1.in]
      - [Z1.out, X1.left-top]
      - [X1.left-bottom, T1.a]
      - [T1.branch, R1.inlet]
      - [R1.outlet, O1.in]
      - [T1.b, T2.a]
      - [T2.branch, E1.port]
      - [T2.b, P1.in]
      - [P1.out, K1.in]
      - [K1.out, S1.in]

Right:
    parts:
      S1: {kind: solar-collector}
      X1: {kind: plate-heat-exchanger, capped: [right-top, right-bottom]}
      T1: {kind: tee}
      T2: {kind: tee}
      R1: {kind: relief-valve}
      O1: {kind: collecting-container}
      E1: {kind: expansion-vessel}
      P1: {kind: pump}
      K1: {kind: check-valve}
    connections:
      - [S1.out, X1.left-top]
      - [X1.left-bottom, P1.in]
      - [P1.out, K1.in]
      - [K1.out, T1.a]
      - [T1.branch, R1.inlet]
      - [R1.outlet, O1.in]
      - [T1.b, T2.a]
      - [T2.branch, E1.port]
      - [T2.b, S1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.sealed_and_vented._sections import heated, open_ends, relief_inlets, vessel_ports
from schemagen.network.network import PortId

FOLDS = ("collector-vessel-hot-side",)


def check(facts):
    for giver, section in heated(facts):
        ways_out = {*relief_inlets(facts, section), *vessel_ports(facts, section), *open_ends(facts, section)}
        if not ways_out or section.open or facts.built_in(giver.tag, "relief", "vessel"):
            continue
        body = [PortId(giver.tag, name) for name in giver.kind.gives]
        shut = [
            name
            for name, positions in _positions(facts, giver, section)
            if not ways_out & facts.reach.downstream_of_all(body, positions)
        ]
        if shut:
            yield Fault(
                f"{giver.tag} is shut in without vessel or relief valve when: {', '.join(shut[:3])}",
                f"move the vessel and the relief valve next to {giver.tag}, with nothing between that can shut",
                parts=(giver.tag,),
                states=tuple(shut),
            )


def _positions(facts, giver, section):
    """Named settings of the moving parts in which the source can be hot; for a fire or the sun each hand valve too."""
    uncontrolled = giver.kind.giver == "uncontrolled"
    for state in facts.operation.states:
        if (uncontrolled or giver.tag in state.sources_on) and state.sort != "filling":
            yield state.name, state.positions
    if uncontrolled:
        for tag in section.tags:
            part = facts.network.parts[tag]
            if part.kind.moved_by == "hand" and "shut" in part.kind.positions and part.value("locked") != "open":
                yield f"{tag} shut by hand", {tag: "shut"}
