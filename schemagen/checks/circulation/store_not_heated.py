"""store-not-heated (error)

What: no coil or water of a cylinder, store or buffer is joined to a heat source, and no immersion heater sits in it.
Why: a cylinder that nothing heats is a cold tank.
Cure: connect the coil or fit an immersion heater.
Source: common practice, no source

Wrong:
    parts:
      M1: {kind: cold-main}
      C1: {kind: indirect-unvented-cylinder, capped: [circulation-return, relief-tapping, coil-in, coil-out]}
      H1: {kind: hot-outlet}
    connections:
      - [M1.out, C1.cold-in]
      - [C1.hot-out, H1.in]

Right:
    parts:
      M1: {kind: cold-main}
      C1: {kind: indirect-unvented-cylinder, capped: [circulation-return, relief-tapping, coil-in, coil-out]}
      H1: {kind: hot-outlet}
      I1: {kind: immersion-heater, on: C1}
    connections:
      - [M1.out, C1.cold-in]
      - [C1.hot-out, H1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

STAGE = "shape"
_ELSEWHERE = "off-sheet-connector"


def check(facts):
    links = [
        (PortId(part.tag, passage.a), PortId(part.tag, passage.b))
        for part in facts.network.parts.values()
        for passage in part.kind.passages
        if passage.sort == "heat"
    ]
    number = facts.reach.grouped(lambda part, passage: True, links)
    heated = {number[PortId(giver.tag, name)] for giver in facts.givers for name in giver.kind.gives}
    elsewhere = {
        number[port] for port in facts.network.ports() if facts.network.parts[port.tag].kind.name == _ELSEWHERE
    }
    hosts = {host.tag for part in facts.parts("immersion-heater") if (host := facts.network.host_of(part.tag))}
    for store in facts.network.parts.values():
        if not store.kind.store or store.tag in hosts:
            continue
        mine = {number[port] for port in facts.wet_ports(store) if facts.is_piped(port)}
        if mine and not mine & (heated | elsewhere):
            yield Fault(
                f"nothing heats {store.tag} ({store.kind.title})",
                f"join a heat source to {store.tag}, or list an immersion heater with `on: {store.tag}`",
                parts=(store.tag,),
            )
