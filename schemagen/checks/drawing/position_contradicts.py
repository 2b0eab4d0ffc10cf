"""position-contradicts (advice)

What: where the list wants a part to stand (`left-of:`, `right-of:`, `above:`, `below:`) contradicts another such wish,
    or names the part itself.
Why: both cannot hold; the drawing keeps the wish that is listed first.
Cure: take one of them out.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate], left-of: R1}
      R1: {kind: radiator, left-of: B1}
    connections:
      - [B1.flow, R1, B1.return]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate], left-of: R1}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.layout.hints import agreed, hints_of


def check(facts):
    for hint in agreed(hints_of(facts.network))[1]:
        yield Fault(
            f"{hint.text} contradicts where other parts are wanted",
            f"take {hint.way}: {hint.other} out at {hint.tag}, or the wish that it contradicts",
            parts=tuple(dict.fromkeys((hint.tag, hint.other))),
        )
