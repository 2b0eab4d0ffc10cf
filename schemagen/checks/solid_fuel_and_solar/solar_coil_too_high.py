"""solar-coil-too-high (warning)

What: in a store with two coils the sun heats the upper one while another source heats the lower, or both heat the same.
Why: the sun should warm the cold bottom first and the boiler top up the top; the other way round the boiler heats everything and leaves the sun nothing to do.
Cure: the sun to the lower coil.
Source: common practice, no source

Wrong:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      K1: {kind: check-valve}
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      C1: {kind: twin-coil-unvented-cylinder, capped: [cold-in, hot-out, relief-tapping, circulation-return]}
    connections:
      - [S1.out, C1.upper-coil-in]
      - [C1.upper-coil-out, P1.in]
      - [P1.out, K1.in]
      - [K1.out, S1.in]
      - [B1.flow, C1.lower-coil-in]
      - [C1.lower-coil-out, B1.return]

Right:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      K1: {kind: check-valve}
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      C1: {kind: twin-coil-unvented-cylinder, capped: [cold-in, hot-out, relief-tapping, circulation-return]}
    connections:
      - [S1.out, C1.lower-coil-in]
      - [C1.lower-coil-out, P1.in]
      - [P1.out, K1.in]
      - [K1.out, S1.in]
      - [B1.flow, C1.upper-coil-in]
      - [C1.upper-coil-out, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId


def check(facts):
    for store in facts.parts("twin-coil-unvented-cylinder"):
        upper, lower = PortId(store.tag, "upper-coil-in"), PortId(store.tag, "lower-coil-in")
        sun = [_heats(facts, port, solar=True) for port in (upper, lower)]
        other = [_heats(facts, port, solar=False) for port in (upper, lower)]
        if sun[0] and (other[1] or other[0]) or sun[1] and other[1]:
            yield Fault(
                f"the sun heats {'the upper' if sun[0] else 'the same'} coil of {store.tag} as another source heats {'the lower' if other[1] else 'it'}",
                f"join the collector to {lower} and the other source to {upper}",
                parts=(store.tag,),
                pipes=[pipe for port in (upper, lower) if (pipe := facts.pipe_at(port))],
            )


def _heats(facts, port: PortId, solar: bool) -> bool:
    if not facts.is_piped(port):
        return False
    wet = facts.reach.wet(port)
    return any(
        (giver.kind.name == "solar-collector") == solar and any(PortId(giver.tag, n) in wet for n in giver.kind.gives)
        for giver in facts.givers
    )
