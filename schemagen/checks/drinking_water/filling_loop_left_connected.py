"""filling-loop-left-connected (error)

What: the main is joined to a heating circuit by fixed pipe that cannot be parted and has no disconnecting preventer. A
    warning if a filling hose stays connected in a state other than filling.
Why: a valve left half open slowly over-fills the system, and is a standing risk to the main.
Cure: take the hose off after filling, at the end next to the check valve.
Source: interpretation B54, revised 2018, and installation note IRN 360 of the water-regulations body, seen: a
    temporary connection, or a device of type CA
Caution: drinking-water

Wrong:
    parts:
      M1: {kind: cold-main}
      K1: {kind: double-check-valve}
      V1: {kind: isolating-valve}
      T1: {kind: tee}
      B1: {kind: system-boiler}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1, T1, B1.return]
      - [M1.out, K1, V1, T1.branch]

Right:
    parts:
      M1: {kind: cold-main}
      K1: {kind: disconnecting-preventer, capped: [discharge]}
      V1: {kind: isolating-valve}
      T1: {kind: tee}
      B1: {kind: system-boiler}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1, T1, B1.return]
      - [M1.out, K1, V1, T1.branch]
"""

from schemagen.checks.drinking_water._backflow import drunk, joined_without
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

_PARTS_THEM = ("filling-loop", "disconnecting-preventer", "automatic-fill-unit")
_FILLED = ("heating-water", "antifreeze-mix", "ground-brine")


def check(facts):
    yield from _fixed(facts)
    for loop in facts.parts("filling-loop"):
        states = [
            state.name
            for state in facts.network.named_states
            if state.positions.get(loop.tag) == "connected" and "fill" not in state.name.casefold()
        ]
        if states or loop.kind.normal == "connected":
            when = f"in {', '.join(states)}" if states else "in normal use"
            yield Fault(
                f"the filling loop {loop.tag} stays connected {when}",
                f"take the hose off after filling: write `normal: disconnected` at {loop.tag}, and leave `connected` "
                "to the state filling",
                parts=(loop.tag,),
                states=tuple(states),
                severity="warning",
            )


def _fixed(facts):
    number = joined_without(facts, {part.tag for part in facts.parts(*_PARTS_THEM)})
    drinking = {number[port] for port in drunk(facts) if facts.spec(port).media == "C"}
    told: set[int] = set()
    for pipe in facts.network.pipes:
        group = number[pipe.start]
        if facts.waters.medium[pipe.index] in _FILLED and group in drinking and group not in told:
            told.add(group)
            yield _fault(facts, number, group, pipe)


def _fault(facts, number, group: int, pipe) -> Fault:
    place = _where_it_turns(facts, number, group) or pipe.start
    return Fault(
        f"drinking water is joined to {facts.waters.medium[pipe.index].replace('-', ' ')} at {place.tag} by fixed pipe "
        "that cannot be parted",
        "fill through a filling-loop that comes off, or put a disconnecting-preventer into the pipe",
        parts=(place.tag,),
        pipes=[facts.pipe_at(place) or pipe],
        ports=(place,),
    )


def _where_it_turns(facts, number, group: int) -> PortId | None:
    """The opening with drinking water of the first part that has heating water on another side."""
    for part in facts.network.parts.values():
        ports = [port for port in facts.wet_ports(part) if number[port] == group and facts.is_piped(port)]
        clean = [port for port in ports if facts.medium_at(port) == "cold"]
        if clean and any(facts.medium_at(port) in _FILLED for port in facts.waterway(clean[0])):
            return clean[0]
    return None
