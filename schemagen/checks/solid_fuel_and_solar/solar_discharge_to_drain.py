"""solar-discharge-to-drain (warning)

What: the relief valve of a circuit with antifreeze discharges anywhere but into a collecting container.
Why: antifreeze must not go down the drain, and it is wanted back in the system.
Cure: pipe it to a heat-proof container.
Source: German trade reference, seen; common practice
Caution: antifreeze

Wrong:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      C1: {kind: twin-coil-unvented-cylinder, capped: [upper-coil-in, upper-coil-out, cold-in, hot-out, relief-tapping, circulation-return]}
      T1: {kind: tee}
      R1: {kind: relief-valve}
      O1: {kind: safe-outlet}
    connections:
      - [S1.out, C1.lower-coil-in]
      - [C1.lower-coil-out, P1.in]
      - [P1.out, T1.a]
      - [T1.branch, R1.inlet]
      - [R1.outlet, O1.in]
      - [T1.b, S1.in]

Right:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      C1: {kind: twin-coil-unvented-cylinder, capped: [upper-coil-in, upper-coil-out, cold-in, hot-out, relief-tapping, circulation-return]}
      T1: {kind: tee}
      R1: {kind: relief-valve}
      O1: {kind: collecting-container}
    connections:
      - [S1.out, C1.lower-coil-in]
      - [C1.lower-coil-out, P1.in]
      - [P1.out, T1.a]
      - [T1.branch, R1.inlet]
      - [R1.outlet, O1.in]
      - [T1.b, S1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.solid_fuel_and_solar._fires import holds_antifreeze
from schemagen.network.network import PortId


def check(facts):
    for relief in facts.parts("relief-valve"):
        inlet, outlet = PortId(relief.tag, "inlet"), PortId(relief.tag, "outlet")
        if not (facts.is_piped(inlet) and facts.is_piped(outlet)) or not holds_antifreeze(facts, inlet):
            continue
        ends = {facts.network.parts[port.tag].kind.name for port in facts.reach.wet(outlet)}
        if "collecting-container" not in ends and "off-sheet-connector" not in ends:
            yield Fault(
                f"{relief.tag} lets antifreeze out to a drain",
                f"lead {outlet} into a collecting-container",
                parts=(relief.tag,),
                pipes=[facts.pipe_at(outlet)],
            )
