"""buffer-bypassed (warning)

What: a four-pipe buffer is listed, and yet
    a way from the source through space heating back to the source goes round it.
Why: the buffer cannot add water to a circuit that goes round it, so the source still starts and stops too often.
Cure: move the load to the buffer's secondary openings, or use a two-pipe buffer.
Source: buffer connections as explained in a trade article

Wrong:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet]}
      T1: {kind: tee}
      T2: {kind: tee}
      U1: {kind: buffer-four-pipe, capped: [vent, drain]}
      P1: {kind: pump}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [H1.flow, T1.a]
      - [T1.b, U1.primary-flow]
      - [T1.branch, R2.a]
      - [R2.b, T2.branch]
      - [U1.primary-return, T2.a]
      - [T2.b, H1.return]
      - [U1.secondary-flow, P1.in]
      - [P1.out, R1.a]
      - [R1.b, U1.secondary-return]

Right:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet]}
      U1: {kind: buffer-four-pipe, capped: [vent, drain]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [H1.flow, U1.primary-flow]
      - [U1.primary-return, H1.return]
      - [U1.secondary-flow, P1.in]
      - [P1.out, R1.a]
      - [R1.b, U1.secondary-return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId


def check(facts):
    buffers = [
        p.tag
        for p in facts.parts("buffer-four-pipe", "cylinder-and-buffer")
        if facts.is_piped(PortId(p.tag, "primary-flow"))
    ]
    if not buffers:
        return
    told = set()
    for giver in facts.givers:
        outlets = [port for port in facts.outlet_ports(giver) if facts.is_piped(port)]
        homes = facts.return_ports(giver)
        near = [tag for tag in buffers if outlets and facts.reach.same_water(outlets[0], PortId(tag, "primary-flow"))]
        if not near:
            continue
        without = (*buffers, giver.tag)
        reached = facts.reach.downstream_of_all(outlets, without=without)
        for taker in facts.takers:
            ends = [PortId(taker.tag, name) for name in taker.kind.takes]
            if taker.kind.family != "emitters" or taker.tag in told or not any(port in reached for port in ends):
                continue
            if any(home in facts.reach.downstream_of_all(ends, without=without) for home in homes):
                told.add(taker.tag)
                yield Fault(
                    f"water runs from {giver.tag} through {taker.tag} and home without passing {near[0]}",
                    f"join {taker.tag} to {near[0]}.secondary-flow and {near[0]}.secondary-return",
                    parts=(taker.tag, near[0]),
                    pipes=[pipe for port in ends if (pipe := facts.pipe_at(port))],
                )
