"""bridged-on-one-header (error)

What: both ends of an emitter or coil are joined to the same piece of plain pipework.
Why: with both ends on one pipe there is no pressure difference, so the radiator stays cold.
Cure: move one end to the return pipe; `one-pipe: yes` says that a one-pipe loop is meant.
Source: common practice; diverting tees as explained in a trade article

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, R1.a]
      - [T1.b, T2.a]
      - [R1.b, T2.branch]
      - [T2.b, R2.a]
      - [R2.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]
"""

from schemagen.checks.circulation._ways import wide_headers
from schemagen.checks.fault import Fault

STAGE = "shape"
FOLDS = ("part-never-flows", "arrow-against-flow")


def check(facts):
    number = wide_headers(facts)
    one_pipe = {
        number[port] for port in facts.network.ports() if facts.network.parts[port.tag].kind.name == "diverting-tee"
    }
    for part in facts.takers:
        if part.value("one-pipe"):
            continue
        for way in facts.waterways(part):
            ends = [port for port in way if port.port in part.kind.takes and facts.is_piped(port)]
            if len(ends) == 2 and number[ends[0]] == number[ends[1]] and number[ends[0]] not in one_pipe:
                yield Fault(
                    f"both ends of {part.tag} hang on the same pipe",
                    f"move {ends[1]} to the return pipe, or use a diverting tee in a one-pipe loop",
                    parts=(part.tag,),
                    pipes=[facts.pipe_at(port) for port in ends],
                )
