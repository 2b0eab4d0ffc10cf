"""no-pasteurising-heat (warning)

What: nothing can bring the whole of a hot-water store to 60 °C: each heat source on it gives less than 65 °C or is the
    sun, and no immersion heater covers the whole store. A store that only warms water for another one is exempt.
Why: a low-temperature source alone may leave lukewarm water in the bottom for weeks.
Cure: a low-level immersion heater, or a pump that stirs the store during the hot cycle.
Source: a heat-pump planning manual that cites W 551, and two trade articles on heat-pump cylinders, seen; 65 °C flow
    for 60 °C in the store, common practice, no source
Caution: legionella

Wrong:
    parts:
      H1: {kind: air-heat-pump, max-flow: 55 °C, capped: [relief-outlet]}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
    connections:
      - [H1.flow, C1.coil-in]
      - [C1.coil-out, H1.return]

Right:
    parts:
      H1: {kind: air-heat-pump, max-flow: 55 °C, capped: [relief-outlet]}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      I1: {kind: immersion-heater, on: C1, covers: whole}
    connections:
      - [H1.flow, C1.coil-in]
      - [C1.coil-out, H1.return]
"""

from schemagen.base.units import quantity
from schemagen.checks.fault import Fault, Unknown
from schemagen.network.network import PortId

_FLOW_LEAST_C = 65.0
_HEAT_PUMPS = ("air-heat-pump", "ground-heat-pump", "heat-pump-indoor-unit")


def check(facts):
    givers: dict[int, dict[str, None]] = {}
    for giver in facts.givers:
        for name in giver.kind.gives:
            givers.setdefault(facts.reach.wet_number(PortId(giver.tag, name)), {})[giver.tag] = None
    for store in facts.network.parts.values():
        if store.kind.store == "wholesome":
            yield from _store(facts, store, givers)


def _store(facts, store, givers):
    heaters = [facts.network.parts[tag] for tag in facts.network.mounted_on.get(store.tag, ())]
    heaters = [heater for heater in heaters if heater.kind.name == "immersion-heater"]
    if any(heater.value("covers", "whole") == "whole" for heater in heaters) or _is_stirred(store):
        return
    coils = [PortId(store.tag, name) for name in store.kind.takes if facts.is_piped(PortId(store.tag, name))]
    sources = [facts.network.parts[t] for coil in coils for t in givers.get(facts.reach.wet_number(coil), {})]
    sources = list({part.tag: part for part in sources}.values())
    if any(_gives_enough(part) for part in sources) or _warms_for_another(facts, store):
        return
    if any(facts.goes_on_elsewhere(coil) for coil in coils) or _is_fed_by_exchanger(facts, coils):
        yield Unknown((store.tag,), f"what heats {store.tag}")
    elif unknown := [p.tag for p in sources if p.kind.name in _HEAT_PUMPS and p.value("max-flow") is None]:
        yield Unknown((store.tag, *unknown), f"`max-flow:` of {' and '.join(unknown)}")
    elif sources or heaters:
        yield _fault(store, sources, heaters)


def _gives_enough(part) -> bool:
    most = part.value("max-flow")
    if part.kind.name == "solar-collector":
        return False
    return most >= _FLOW_LEAST_C if most is not None else part.kind.name not in _HEAT_PUMPS


def _is_stirred(store) -> bool:
    return "shunt-pump" in store.built_in


def _warms_for_another(facts, store) -> bool:
    """True if the water goes on into another store or heater, where it is drawn through a hotter zone."""
    stop = {part.tag for part in facts.network.parts.values() if part.kind.store}
    reached = facts.reach.downstream(PortId(store.tag, "hot-out"), without=stop - {store.tag})
    return any(
        port.port == "cold-in" and port.tag != store.tag and (kind.store or kind.giver)
        for port in reached
        for kind in [facts.network.parts[port.tag].kind]
    )


def _is_fed_by_exchanger(facts, coils) -> bool:
    waters = {facts.reach.wet_number(coil) for coil in coils}
    return any(
        facts.reach.wet_number(PortId(plate.tag, name)) in waters
        for plate in facts.parts("plate-heat-exchanger", "heat-interface-unit")
        for name in plate.kind.ports
    )


def _fault(store, sources, heaters) -> Fault:
    why = [_word(part) for part in sources] + [f"{heater.tag} heats the top only" for heater in heaters]
    return Fault(
        f"nothing brings the whole of {store.tag} to 60 °C: {'; '.join(why)}",
        f"list an immersion heater with `on: {store.tag}` and `covers: whole`, or state the `max-flow:` of its source",
        parts=(store.tag, *[part.tag for part in sources]),
    )


def _word(part) -> str:
    if part.kind.name == "solar-collector":
        return f"{part.tag} gives heat only while the sun shines"
    return f"{part.tag} gives {quantity(part.value('max-flow'), '°C')} at most"
