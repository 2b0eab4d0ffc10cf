"""circulation-no-check-valve (warning)

What: on a hot-water circulation no check valve points towards the store between the last tap and the return.
Why: when a tap opens, cold or half-warm water would be drawn backwards up the return to it.
Cure: a check valve after the circulating pump.
Source: common practice, no source; CIBSE Guide G, from memory
Caution: drinking-water

Wrong:
    parts:
      C1: {kind: vented-cylinder}
      T1: {kind: tee}
      O1: {kind: hot-outlet}
      P1: {kind: wholesome-circulating-pump}
    connections:
      - [C1.hot-out, T1, P1, C1.circulation-return]
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

from schemagen.checks.drinking_water._hot import circulation_ends, is_check, tap_openings
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId
from schemagen.network.walks import upstream


def check(facts):
    taps = tap_openings(facts)
    for store, end in circulation_ends(facts):
        came = upstream(facts.reach, end, lambda port, _, own=store: not is_check(facts, port.tag) and port.tag != own)
        met = [port for port in came if port in taps or port == PortId(store, "hot-out")]
        if met:
            yield Fault(
                f"no check valve holds the circulation back between {met[0]} and {end}",
                f"put a check-valve (out towards {end.tag}) into the pipe to {end}, behind the pump",
                parts=(end.tag, *([met[0].tag] if met[0].tag != end.tag else [])),
                pipes=[facts.pipe_at(end)],
                ports=(end,),
            )
