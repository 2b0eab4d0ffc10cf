"""coil-one-side (error)

What: a coil, an exchanger side or an emitter has only one of its two openings piped, or both lead into a dead end.
Why: water has to go in at one end and out at the other; a coil fed from one end never warms.
Cure: pipe the other end to the return.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, R1.a]
      - [R1.b, B1.return]
      - [T1.branch, R2.a]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, R1.a]
      - [R1.b, T2.a]
      - [T1.branch, R2.a]
      - [R2.b, T2.branch]
      - [T2.b, B1.return]
"""

from schemagen.checks.fault import Fault

STAGE = "shape"
FOLDS = (
    "port-left-open",
    "store-not-heated",
    "part-never-flows",
    "diverter-outlet-no-return",
    "no-path-back",
    "blind-end",
    "source-on-without-flow",
)


def check(facts):
    for part in facts.takers:
        for way in facts.waterways(part):
            ports = [port for port in way if port.port in part.kind.takes]
            piped = [port for port in ports if facts.is_piped(port)]
            if len(ports) < 2 or not piped:
                continue
            if len(piped) == 1:
                (bare,) = [port for port in ports if port not in piped][:1]
                yield Fault(
                    f"{piped[0]} is piped and {bare} is not: water cannot pass",
                    f"pipe {bare} to the return, if {piped[0]} is the flow",
                    parts=(part.tag,),
                    pipes=[facts.pipe_at(piped[0])],
                    ports=(bare,),
                )
            elif not any(facts.waters.carries[facts.pipe_at(port).index] for port in piped):
                yield Fault(
                    f"{part.tag}: no closed way leads through {piped[0]} and {piped[1]}",
                    f"see where the pipes at {piped[0]} and {piped[1]} end, and close the circuit there",
                    parts=(part.tag,),
                    pipes=[facts.pipe_at(port) for port in piped],
                )
