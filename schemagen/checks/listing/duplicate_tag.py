"""duplicate-tag (error)

What: two parts have one tag (capitals, blanks and hyphens make no difference), or a part has none.
Why: "pump 1" must mean one pump on the wall.
Cure: give the second part a tag of its own.
Source: common practice; item tags as in ISO drawing practice, from memory

Wrong:
    parts:
      - {tag: P1, kind: pump}
      - {tag: p 1, kind: pump}
      - {tag: B1, kind: heat-only-boiler, capped: [condensate]}
      - {tag: R1, kind: radiator}
    connections:
      - [B1.flow, P1, R1, B1.return]

Right:
    parts:
      - {tag: P1, kind: pump}
      - {tag: P2, kind: pump}
      - {tag: B1, kind: heat-only-boiler, capped: [condensate]}
      - {tag: R1, kind: radiator}
    connections:
      - [B1.flow, P1, P2, R1, B1.return]
"""

FOLDS = ("unknown-end", "port-used-twice", "port-left-open", "part-not-connected")


def check(facts):
    return facts.found_in_list("duplicate-tag")
