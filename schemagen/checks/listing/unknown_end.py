"""unknown-end (error)

What: a connection, or a field that names a place, names a part that is not in the list or an opening that its kind
    does not have, or does not say which opening is meant.
Why: the pipe ends in nothing; every later answer would be about another system than the one in your head.
Cure: take the near miss that is offered, or add the part.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1.a]
      - [R1.outlet, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]
"""

FOLDS = (
    "port-left-open", "part-not-connected", "group-cut-off", "no-path-back", "coil-one-side", "store-not-heated",
    "diverter-outlet-no-return", "part-never-flows",
)  # fmt: skip


def check(facts):
    return facts.found_in_list("unknown-end")
