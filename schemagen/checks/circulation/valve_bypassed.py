"""valve-bypassed (warning)

What: a taker that a zone valve serves (by `serves:`, or because the thermostat of its room works that valve)
    still gets water with the valve shut.
Why: another pipe feeds the zone round its own valve, so it can never be turned off.
Cure: move the stray tee to the far side of the valve.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      Z1: {kind: zone-valve, serves: [R1, R2]}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, Z1.in]
      - [Z1.out, R1.a]
      - [T1.branch, R2.a]
      - [R1.b, T2.a]
      - [R2.b, T2.branch]
      - [T2.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      Z1: {kind: zone-valve, serves: [R1, R2]}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [B1.flow, Z1.in]
      - [Z1.out, T1.a]
      - [T1.b, R1.a]
      - [T1.branch, R2.a]
      - [R1.b, T2.a]
      - [R2.b, T2.branch]
      - [T2.b, B1.return]
"""

from schemagen.checks.circulation._ways import bodies, hot_ends
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId


def check(facts):
    for valve in facts.parts("zone-valve"):
        served = _served(facts, valve)
        if not served:
            continue
        stop = bodies(facts)
        reached = facts.reach.downstream_of_all(hot_ends(facts), {valve.tag: "shut"}, without=stop | set(served))
        takers = {part.tag for part in facts.takers}
        behind = facts.reach.downstream(PortId(valve.tag, "out"), without=stop | takers | {valve.tag})
        for tag in served:
            ends = [PortId(tag, name) for name in facts.network.parts[tag].kind.takes]
            fed = [port for port in ends if port in reached and facts.is_piped(port)]
            listed = [port for port in fed if facts.pipe_at(port).end == port]
            if listed and listed[0] not in behind and any(port.tag in takers for port in behind):
                yield Fault(
                    f"{tag} still gets water when {valve.tag} is shut",
                    f"move the pipe at {listed[0]} to the far side of {valve.tag}",
                    parts=(tag, valve.tag),
                    pipes=[facts.pipe_at(listed[0])],
                )


def _served(facts, valve) -> list[str]:
    """Takers named by `serves:`, or in the room of a thermostat that works the valve."""
    said = valve.value("serves") or ()
    named = [tag for tag in said if tag in facts.network.parts and facts.network.parts[tag].kind.takes]
    if named:
        return named
    rooms = {
        part.value("room")
        for part in facts.parts("room-thermostat")
        if part.value("room") and valve.tag in (*part.value("switches", ()), *part.value("acts-on", ()))
    }
    return [part.tag for part in facts.takers if part.value("room") in rooms and part.kind.family == "emitters"]
