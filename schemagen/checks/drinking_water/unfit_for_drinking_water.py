"""unfit-for-drinking-water (error)

What: a part that is not approved for drinking water stands in it. Heating pumps, heating vessels and magnetic filters
    count as not approved unless the list says `drinking-water: yes`.
Why: an iron pump rusts in fresh water, and its materials have not been tested for drinking.
Cure: a wholesome-circulating-pump, a wholesome-expansion-vessel.
Source: Water Supply (Water Fittings) Regulations 1999, regulation 4(1), from pages of the water-regulations body, seen;
    copper-alloy pump body: a building-services text, seen
Caution: drinking-water

Wrong:
    parts:
      C1: {kind: vented-cylinder}
      T1: {kind: tee}
      O1: {kind: hot-outlet}
      P1: {kind: pump}
      K1: {kind: check-valve}
    connections:
      - [C1.hot-out, T1, P1, K1, C1.circulation-return]
      - [T1, O1.in]

Right:
    parts:
      C1: {kind: vented-cylinder}
      T1: {kind: tee}
      O1: {kind: hot-outlet}
      P1: {kind: wholesome-circulating-pump}
      K1: {kind: check-valve}
    connections:
      - [C1.hot-out, T1, P1, K1, C1.circulation-return]
      - [T1, O1.in]
"""

from schemagen.checks.drinking_water._backflow import WHOLESOME
from schemagen.checks.fault import Fault

_INSTEAD = {"pump": "wholesome-circulating-pump", "expansion-vessel": "wholesome-expansion-vessel"}
_TELLS_BY_ITSELF = ("pressure-gauge", "thermometer", "test-point")
"""Instruments are made for both waters, so only the list can say that one is not fit."""


def check(facts):
    for part in facts.network.parts.values():
        if part.value("drinking-water") is not False:
            continue
        if part.kind.name in _TELLS_BY_ITSELF and "drinking-water" not in part.texts:
            continue
        wet = [port for port in facts.wet_ports(part) if facts.medium_at(port) in WHOLESOME]
        if wet:
            instead = _INSTEAD.get(part.kind.name)
            yield Fault(
                f"{part.tag} ({part.kind.title}) is not approved for drinking water and stands in it",
                (f"list {part.tag} as a {instead}" if instead else f"take {part.tag} out of the drinking water")
                + ", or write `drinking-water: yes` if it is approved",
                parts=(part.tag,),
                ports=tuple(wet[:1]),
            )
