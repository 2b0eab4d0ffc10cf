"""sealed-stove-no-thermal-safety (error)

What: a fire that cannot be switched off stands in a sealed circuit without `sealed-allowed: yes`, or without a cooling coil fed from the main through a thermal discharge valve to a safe end.
Why: open-vented stoves can boil safely up the vent; a sealed one needs its own cold-water cooling that works without electricity.
Cure: go open-vented, or fit the maker's cooling coil and valve on a supply without pump.
Source: EN 16510-2-4, scope seen: such appliances only with open-vented systems; EN 303-5 and EN 14597, from memory
Caution: solid-fuel

Wrong:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      P1: {kind: pump}
      R1: {kind: radiator}
      T1: {kind: tee}
      E1: {kind: expansion-vessel}
    connections:
      - [S1.flow, P1.in]
      - [P1.out, R1.a]
      - [R1.b, T1.a]
      - [T1.branch, E1.port]
      - [T1.b, S1.return]

Right:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      T1: {kind: tee}
      A1: {kind: open-vent-end}
      R1: {kind: heat-leak-radiator}
    connections:
      - [S1.flow, T1.a]
      - [T1.branch, A1.port]
      - [T1.b, R1.a]
      - [R1.b, S1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.sealed_and_vented._sections import heated
from schemagen.network.network import PortId

_ENDS = ("tundish", "safe-outlet")


def check(facts):
    for fire, section in heated(facts):
        if fire.kind.giver != "uncontrolled" or fire.kind.name == "solar-collector" or section.open or section.elsewhere:
            continue
        lacks = "" if fire.value("sealed-allowed") else "`sealed-allowed: yes` of its maker"
        lacks = lacks or _coil_lacks(facts, fire)
        if lacks:
            yield Fault(
                f"{fire.tag} stands in a sealed circuit and lacks {lacks}",
                "open the circuit with a vent and a cistern, or fit the maker's cooling coil with a thermal-discharge-valve",
                parts=(fire.tag,),
            )


def _coil_lacks(facts, fire) -> str:
    inlet, outlet = PortId(fire.tag, "safety-in"), PortId(fire.tag, "safety-out")
    if inlet.port not in fire.kind.ports or not (facts.is_piped(inlet) and facts.is_piped(outlet)):
        return "a piped cooling coil"
    supply = {port.tag for port in facts.reach.wet(inlet)}
    kinds = {tag: facts.network.parts[tag].kind.name for tag in supply}
    if "thermal-discharge-valve" not in kinds.values() and not any(
        facts.network.parts[p.tag].kind.name == "thermal-discharge-valve" for p in facts.reach.wet(outlet)
    ):
        return "a thermal-discharge-valve at its cooling coil"
    if not any(facts.network.parts[p.tag].kind.name in _ENDS for p in facts.reach.wet(outlet)):
        return "a safe end of its cooling coil"
    if "cold-main" not in kinds.values() and "cold-water-cistern" not in kinds.values():
        return "a supply of its cooling coil"
    return ""
