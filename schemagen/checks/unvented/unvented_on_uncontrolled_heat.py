"""unvented-on-uncontrolled-heat (error)

What: a stove or hand-fired boiler shares water with the coil, or with the water itself, of an unvented store. A
    thermal store, a buffer or an exchanger between them parts the two, with a pump or valve that the cut-out stops.
Why: a fire cannot be switched off, so nobody can promise that the water stays below 100 °C.
Cure: a vented cylinder, or a thermal store.
Source: a trade magazine's answer on requirement G3, seen; makers' instructions, from memory
Caution: solid-fuel

Wrong:
    parts:
      S1: {kind: solid-fuel-stove}
      P1: {kind: pump}
      C1: {kind: indirect-unvented-cylinder, capped: [circulation-return]}
    connections:
      - [S1.flow, P1, C1.coil-in]
      - [C1.coil-out, S1.return]

Right:
    parts:
      S1: {kind: solid-fuel-stove}
      P1: {kind: pump}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
    connections:
      - [S1.flow, P1, C1.coil-in]
      - [C1.coil-out, S1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.unvented._stores import at, joined, unvented_stores
from schemagen.network.network import PortId


def check(facts):
    fires = [g for g in facts.givers if g.kind.giver == "uncontrolled" and g.kind.name != "solar-collector"]
    if not fires:
        return
    numbers = joined(facts, lambda part: part.kind.store != "heating")
    burning = at(numbers, (PortId(fire.tag, name) for fire in fires for name in fire.kind.gives))
    for store in unvented_stores(facts):
        ports = [PortId(store.tag, name) for name in (*store.kind.takes, "cold-in", "hot-out", "circulation-return")]
        met = next((port for port in ports if numbers[port] in burning), None)
        if met:
            fire = burning[numbers[met]][0].tag
            yield Fault(
                f"{fire} cannot be switched off and heats the unvented store {store.tag} through {met}",
                f"list {store.tag} as a vented-cylinder with its cistern, or put a thermal-store between {fire} and "
                f"{store.tag}",
                parts=(store.tag, fire),
                pipes=[pipe for pipe in [facts.pipe_at(met)] if pipe],
                ports=(met,),
            )
