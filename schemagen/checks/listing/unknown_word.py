"""unknown-word (error)

What: a kind, a field, a choice or the name of a check is not in the program's word list; a wrong kind is an error,
    a wrong field a warning.
Why: a misspelt field would be ignored in silence, and the check that needed it would never run.
Cure: take the near miss that is offered.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiater}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.pages import all_checks
from schemagen.network.words import near

FOLDS = (
    "port-left-open", "part-not-connected", "group-cut-off", "no-path-back", "coil-one-side", "store-not-heated",
    "diverter-outlet-no-return", "part-never-flows", "control-without-effect", "valve-no-controller",
    "zone-no-thermostat",
)  # fmt: skip


def check(facts):
    yield from facts.found_in_list("unknown-word")
    known = [one.slug for one in all_checks()]
    for accepted in facts.network.accept:
        if accepted.check not in known:
            guess = near(accepted.check, known)
            yield Fault(
                f"accept: no check is called {accepted.check!r}" + (f"; did you mean {guess}?" if guess else ""),
                f"write check: {guess}" if guess else "write the name that is printed with the finding",
                severity="warning",
                place=accepted.line,
            )
