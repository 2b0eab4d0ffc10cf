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
        suspects = [
            source
            for source in circuit.sources
            if ways_out and not source.harmless and not always_reaches(facts, source.body, ways_out, takers=True)
        ]
        for source, shut in _shut_in(facts, suspects, ways_out):
            yield Fault(
                f"{source.tag} is shut in, without vessel or relief valve, in: {', '.join(shut[:3])}",
                f"join the vessel and the relief valve next to {source.tag}, with nothing between that can shut",
                parts=(source.tag,),
                states=tuple(shut),
            )


def _shut_in(facts, suspects, ways_out):
    """Sources with the names of the settings in which they can be hot and have no way out."""
    shut: dict[str, list[str]] = {source.tag: [] for source in suspects}
    for name, positions, sources in _settings(facts, suspects, ways_out):
        if sources:
            free = facts.reach.upstream_of_all(sorted(ways_out), positions)
            for source in sources:
                if free.isdisjoint(source.body):
                    shut[source.tag].append(name)
    return [(source, shut[source.tag]) for source in suspects if shut[source.tag]]


def _settings(facts, suspects, ways_out):
    """Settings of moving parts, and the sources that can be hot in them; each hand valve on a fire's way is tried."""
    for state in facts.operation.states if suspects else ():
        if state.sort != "filling":
            hot = [source for source in suspects if source.uncontrolled or source.tag in state.sources_on]
            yield state.name, state.positions, hot
    for source in suspects:
        for part in in_the_way(facts, source.body, sorted(ways_out)) if source.uncontrolled else ():
            if part.kind.moved_by == "hand" and "shut" in part.kind.positions:
                yield f"{part.tag} shut by hand", {part.tag: "shut"}, [source]
