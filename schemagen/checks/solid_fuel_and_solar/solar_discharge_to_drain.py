"""solar-discharge-to-drain (warning)

What: the relief valve of a circuit with antifreeze discharges anywhere but into a collecting container.
Why: antifreeze must not go down the drain, and it is wanted back in the system.
Cure: pipe it to a heat-proof container.
Source: a German trade handbook, seen
Caution: antifreeze

Wrong:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      K1: {kind: check-valve}
      C1: {kind: vented-cylinder, capped: [cold-in, hot-out, circulation-return]}
      R1: {kind: relief-valve, setting: 6 bar, at: S1.in}
      N1: {kind: tundish}
      O1: {kind: waste-stack}
    connections:
      - [S1.out, C1.coil-in]
      - [C1.coil-out, P1, K1, S1.in]
      - [R1.outlet, N1, O1.in]

Right:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      K1: {kind: check-valve}
      C1: {kind: vented-cylinder, capped: [cold-in, hot-out, circulation-return]}
      R1: {kind: relief-valve, setting: 6 bar, at: S1.in}
      O1: {kind: collecting-container}
    connections:
      - [S1.out, C1.coil-in]
      - [C1.coil-out, P1, K1, S1.in]
      - [R1.outlet, O1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.heated_circuits import heated_circuits
from schemagen.checks.solid_fuel_and_solar._sun import ANTIFREEZE
from schemagen.network.network import PortId

_ENDS = ("collecting-container", "off-sheet-connector")


def check(facts):
    for circuit in heated_circuits(facts):
        for tag in dict.fromkeys(port.tag for port in circuit.reliefs) if circuit.medium == ANTIFREEZE else ():
            name = "outlet" if facts.network.parts[tag].kind.name == "relief-valve" else "relief-outlet"
            outlet = PortId(tag, name)
            if facts.is_piped(outlet) and not _ends(facts, outlet) & set(_ENDS):
                yield Fault(
                    f"{tag} lets antifreeze out to a drain",
                    f"lead {outlet} into a collecting-container",
                    parts=(tag,),
                    pipes=[facts.pipe_at(outlet)],
                )


def _ends(facts, outlet: PortId) -> set[str]:
    """Kinds of the parts that a discharge reaches, through tundishes too."""
    kinds: set[str] = set()
    seen, todo = set(), [outlet]
    while todo:
        reached = facts.reach.wet(todo.pop())
        kinds |= {facts.network.parts[port.tag].kind.name for port in reached}
        for port in reached:
            if facts.network.parts[port.tag].kind.name == "tundish" and port.tag not in seen:
                seen.add(port.tag)
                todo.append(PortId(port.tag, "out"))
    return kinds
