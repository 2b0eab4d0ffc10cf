"""check-silenced-without-reason (warning)

What: a finding is accepted without a written reason, who accepted it, or a date; or the check that is named does
    not exist.
Why: "we know" is not a record: who reads the sheet later must see why a finding was left.
Cure: write reason:, by: and date: at the entry under `accept:`.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - {run: [B1.flow, R1, B1.return]}
    accept:
      - {check: no-drain-point, parts: [B1], by: heating engineer, date: 2025-05-05}

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - {run: [B1.flow, R1, B1.return]}
    accept:
      - {check: no-drain-point, parts: [B1], reason: drained at the boiler, by: heating engineer, date: 2025-05-05}
"""

from schemagen.checks.fault import Fault
from schemagen.checks.pages import all_checks
from schemagen.network.words import near


def check(facts):
    slugs = tuple(one.slug for one in all_checks())
    for one in facts.network.accept:
        missing = [word for word, said in (("reason", one.reason), ("by", one.by), ("date", one.date)) if not said]
        if one.check not in slugs:
            guess = near(one.check, slugs)
            yield Fault(
                f"accept: there is no check {one.check!r}" + (f"; did you mean {guess}?" if guess else ""),
                f"write check: {guess}" if guess else "name the check as the findings do",
                parts=one.tags,
                place=one.line,
            )
        elif missing:
            yield Fault(
                f"{one.check} is accepted without {' and '.join(missing)}",
                f"write {', '.join(f'{word}:' for word in missing)} at this entry under accept:",
                parts=one.tags,
                place=one.line,
            )
