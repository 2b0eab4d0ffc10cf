"""heat-trapped-between-valves (error)

What: in some state a source that is hot has no way for its pressure to a relief valve, a vessel or the open air: valves
    that shut on one side, one-way parts on the other. For a fire or a collector each hand valve is tried shut as well.
Why: a motor valve shutting on one side and a check valve on the other can lock a hot collector in a closed box.
Cure: move vessel and relief valve inside the box, or move the valve.
Source: described for solar systems by an installer, seen; US codes M-1802.4.1 and M2301.2.3, seen: no section may be
    isolated from its relief device
Caution: pressure

Wrong:
    parts:
      S1: {kind: solar-collector}
      Z1: {kind: zone-valve, rest: shut}
      C1: {kind: vented-cylinder, capped: [cold-in, hot-out, circulation-return]}
      R1: {kind: relief-valve, setting: 6 bar, at: P1.in}
      O1: {kind: collecting-container}
      E1: {kind: solar-expansion-vessel, at: P1.in}
      P1: {kind: pump}
      K1: {kind: check-valve}
    connections:
      - [S1.out, Z1, C1.coil-in]
      - [C1.coil-out, P1, K1, S1.in]
      - [R1.outlet, O1.in]

Right:
    parts:
      S1: {kind: solar-collector}
      Z1: {kind: zone-valve, rest: shut}
      C1: {kind: vented-cylinder, capped: [cold-in, hot-out, circulation-return]}
      R1: {kind: relief-valve, setting: 6 bar, at: S1.in}
      O1: {kind: collecting-container}
      E1: {kind: solar-expansion-vessel, at: S1.in}
      P1: {kind: pump}
      K1: {kind: check-valve}
    connections:
      - [S1.out, Z1, C1.coil-in]
      - [C1.coil-out, P1, K1, S1.in]
      - [R1.outlet, O1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.heated_circuits import always_reaches, heated_circuits, in_the_way

FOLDS = ("collector-vessel-hot-side",)


def check(facts):
    for circuit in heated_circuits(facts):
        ways_out = frozenset((*circuit.reliefs, *circuit.vessels, *circuit.vents, *circuit.feeds, *circuit.bubble))
        for source in circuit.sources:
            if source.harmless or not ways_out or always_reaches(facts, source.body, ways_out, takers=True):
                continue
            shut = [
                name
                for name, positions in _settings(facts, source, ways_out)
                if ways_out.isdisjoint(facts.reach.downstream_of_all(source.body, positions))
            ]
            if shut:
                yield Fault(
                    f"{source.tag} is shut in, without vessel or relief valve, in: {', '.join(shut[:3])}",
                    f"join the vessel and the relief valve next to {source.tag}, with nothing between that can shut",
                    parts=(source.tag,),
                    states=tuple(shut),
                )


def _settings(facts, source, ways_out):
    """Named settings in which the source can be hot; for a fire or the sun also each hand valve on the way shut."""
    for state in facts.operation.states:
        if state.sort != "filling" and (source.uncontrolled or source.tag in state.sources_on):
            yield state.name, state.positions
    if source.uncontrolled:
        for part in in_the_way(facts, source.body, sorted(ways_out)):
            if part.kind.moved_by == "hand" and "shut" in part.kind.positions:
                yield f"{part.tag} shut by hand", {part.tag: "shut"}
