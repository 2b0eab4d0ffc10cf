"""control-list-broken (error)

What: a control device or a state names a part that is not there, a position that the part does not have, or one
    part in two positions.
Why: the program, and the electrician, cannot obey two orders at once.
Cure: correct the line; where two calls want different positions, say with `priority:` which goes first.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
      RT1: {kind: room-thermostat, switches: [B2]}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
      RT1: {kind: room-thermostat, switches: [B1]}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]
"""

STAGE = "list"
FOLDS = ("control-without-effect", "valve-no-controller", "zone-no-thermostat")


def check(facts):
    return facts.found_in_list("control-list-broken")
