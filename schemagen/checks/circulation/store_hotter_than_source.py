"""store-hotter-than-source (warning)

What: a hot-water store is set as hot as, or hotter than, the water of every source that heats its coil, and no
    immersion heater helps.
Why: the store never gets there: its thermostat calls for heat without end, and heating waits.
Cure: set the store at least 5 K below the source's highest flow temperature, or add an immersion heater.
Source: heat flows from hot to cold; 5 K common practice, no source

Wrong:
    parts:
      H1: {kind: air-heat-pump, output: 6 kW, flow-temperature: 45 °C, max-flow: 55 °C, capped: [relief-outlet]}
      F1: {kind: strainer}
      C1: {kind: indirect-unvented-cylinder, setting: 60 °C, coil-area: 3 m²,
        capped: [circulation-return, relief-tapping, cold-in, hot-out]}
    connections:
      - [H1.flow, C1.coil-in]
      - [C1.coil-out, F1, H1.return]

Right:
    parts:
      H1: {kind: air-heat-pump, output: 6 kW, flow-temperature: 45 °C, max-flow: 65 °C, capped: [relief-outlet]}
      F1: {kind: strainer}
      C1: {kind: indirect-unvented-cylinder, setting: 60 °C, coil-area: 3 m²,
        capped: [circulation-return, relief-tapping, cold-in, hot-out]}
    connections:
      - [H1.flow, C1.coil-in]
      - [C1.coil-out, F1, H1.return]
"""

from schemagen.base.units import quantity
from schemagen.checks.design_facts import design_of
from schemagen.checks.fault import Fault


def check(facts):
    stores = [p for p in facts.takers if p.kind.store == "wholesome" and p.kind.takes]
    for store in stores:
        plant = design_of(facts).plant
        setting = plant.store_c(store)
        sources = {s.tag: s for name in store.kind.takes for s in plant.sources(plant.body_at(store.tag, name))}
        hottest = [plant.highest_c(source) for source in sources.values()]
        if not setting or not hottest or not all(hottest) or plant.immersion_w(store) is not None:
            continue
        most = max(known.value for known in hottest)
        if setting.value >= most:
            yield Fault(
                f"{store.tag} is set to {quantity(setting.value, '°C')}, but {', '.join(sources)} "
                f"gives no more than {quantity(most, '°C')}",
                f"set {store.tag} to {quantity(most - 5, '°C')} or less, or add an immersion heater",
                parts=(store.tag, *sources),
            )
