"""port-used-twice (error)

What: one opening is an end of two or more pipes, or a pipe is listed twice.
Why: an opening takes one pipe; where pipes divide there is a real fitting, and it has to be in the list so that it
    can be counted and drawn.
Cure: add a tee or a header and share from that.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
      R2: {kind: radiator}
      T1: {kind: tee}
    connections:
      - [B1.flow, R1.a]
      - [B1.flow, R2.a]
      - [R1.b, T1]
      - [R2.b, T1]
      - [T1, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
      R2: {kind: radiator}
      T1: {kind: tee}
      T2: {kind: tee}
    connections:
      - [B1.flow, T2]
      - [T2, R1.a]
      - [T2, R2.a]
      - [R1.b, T1]
      - [R2.b, T1]
      - [T1, B1.return]
"""

FOLDS = ("port-left-open", "no-path-back", "coil-one-side", "part-never-flows")


def check(facts):
    return facts.found_in_list("port-used-twice")
