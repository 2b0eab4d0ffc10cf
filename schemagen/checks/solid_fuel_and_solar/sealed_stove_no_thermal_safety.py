"""sealed-stove-no-thermal-safety (error)

What: a fire that cannot be switched off stands in a sealed circuit and lacks its maker's leave (`sealed-allowed: yes`),
    or a cooling coil fed with drinking water through a thermal discharge valve to a tundish or safe outlet, or a pump,
    a motor valve or a hand valve that is not locked open stands in the supply of that coil.
Why: open-vented stoves can boil safely up the vent; a sealed one needs its own cold-water cooling that works without
    electricity.
Cure: go open-vented, or fit the maker's cooling coil and valve on a supply without pump.
Source: EN 16510-2-4, scope seen: such appliances only with open-vented systems; EN 303-5 and EN 14597, from memory
Caution: solid-fuel

Wrong:
    parts:
      B1: {kind: wood-boiler, sealed-allowed: yes, capped: [safety-in, safety-out]}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
      E1: {kind: expansion-vessel, at: B1.return}
      R1: {kind: heat-leak-radiator}
    connections:
      - [B1.flow, R1, B1.return]
      - [S1.outlet, O1.in]

Right:
    parts:
      B1: {kind: wood-boiler, sealed-allowed: yes}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
      E1: {kind: expansion-vessel, at: B1.return}
      R1: {kind: heat-leak-radiator}
      M1: {kind: cold-main}
      V1: {kind: isolating-valve, locked: open}
      D1: {kind: thermal-discharge-valve, on: B1.flow}
      N1: {kind: tundish}
      O2: {kind: safe-outlet}
    connections:
      - [B1.flow, R1, B1.return]
      - [S1.outlet, O1.in]
      - [M1.out, V1, D1, B1.safety-in]
      - [B1.safety-out, N1, O2.in]
"""

from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.heated_circuits import heated_circuits
from schemagen.checks.solid_fuel_and_solar._fires import KINDS
from schemagen.network.network import PortId

_ENDS = ("tundish", "safe-outlet", "off-sheet-connector")
_SUPPLIES = {"cold-main": "out", "cold-water-cistern": "outlet"}


def check(facts):
    for circuit in heated_circuits(facts):
        for source in circuit.sources if circuit.sealed else ():
            if not source.uncontrolled or source.part.kind.name not in KINDS:
                continue
            if circuit.section.elsewhere:
                yield Unknown((source.tag,), "what stands beyond the off-sheet connector")
            elif lacks := _lacks(facts, source.part):
                said, tags = lacks
                yield Fault(
                    f"{source.tag} stands in a sealed circuit and {said}",
                    "open the circuit with a vent and a cistern, or fit the maker's cooling coil with a "
                    "thermal-discharge-valve on a supply that nothing shuts",
                    parts=(source.tag, *tags),
                )


def _lacks(facts, fire) -> tuple[str, tuple[str, ...]] | None:
    """What a fire lacks, and the parts that are to blame; None if it has its thermal safety."""
    if not fire.value("sealed-allowed"):
        return "its maker is not said to allow that (`sealed-allowed: yes`)", ()
    inlet, outlet = PortId(fire.tag, "safety-in"), PortId(fire.tag, "safety-out")
    if not (facts.is_piped(inlet) and facts.is_piped(outlet)):
        return "has no piped cooling coil", ()
    before = {port.tag: facts.network.parts[port.tag].kind.name for port in facts.reach.wet(inlet)}
    after = {facts.network.parts[port.tag].kind.name for port in facts.reach.wet(outlet)}
    if "thermal-discharge-valve" not in {*before.values(), *after}:
        return "has no thermal-discharge-valve at its cooling coil", ()
    if after.isdisjoint(_ENDS):
        return "its cooling coil does not end at a tundish or safe outlet", ()
    if "off-sheet-connector" in before.values():
        return None
    return _supply_lacks(facts, inlet)


def _supply_lacks(facts, inlet: PortId) -> tuple[str, tuple[str, ...]] | None:
    ways = (facts.reach.chain(PortId(s.tag, _SUPPLIES[s.kind.name]), inlet) for s in facts.parts(*_SUPPLIES))
    chains = [chain for chain in ways if chain]
    if not chains:
        return "its cooling coil has no supply of drinking water", ()
    stops = [[tag for tag in chain if _can_stop(facts.network.parts[tag])] for chain in chains]
    worst = min(stops, key=len)
    return (f"{worst[0]} can stop the supply of its cooling coil", tuple(worst)) if worst else None


def _can_stop(part) -> bool:
    if part.kind.driver == "pump" or part.kind.moved_by == "motor":
        return True
    return part.kind.moved_by == "hand" and part.value("locked") != "open"
