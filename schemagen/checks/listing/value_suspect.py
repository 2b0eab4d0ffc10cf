"""value-suspect (warning)

What: a value is of the wrong dimension or no quantity at all (error), a pressure has no unit, or a value lies
    outside the band that is plausible for its field.
Why: a 3 that means psi to one person and bar to another is dangerous, and a slip of the decimal point spoils every
    figure that rests on it.
Cure: write the unit, and look at the figure again.
Source: common practice, no source; bands from memory
Caution: pressure

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
      S1: {kind: relief-valve, setting: 3, at: B1.flow}
      O1: {kind: safe-outlet}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]
      - [S1.outlet, O1.in]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]
      - [S1.outlet, O1.in]
"""

from schemagen.base.units import show
from schemagen.checks.fault import Fault

_RELIEF = ("relief-valve", "expansion-relief-valve", "temperature-and-pressure-relief-valve")
_BAR, _KW, _LITRE, _MM = 1e5, 1e3, 1e-3, 1e-3

FOLDS = ("label-missing",)


def check(facts):
    yield from facts.found_in_list("value-suspect")
    for part in facts.network.parts.values():
        for field, text in part.texts.items():
            if part.kind.attributes[field].dimension == "pressure" and not any(c.isalpha() for c in text):
                unit = part.kind.attributes[field].unit
                yield Fault(
                    f"{part.tag}, {field}: {text} has no unit; it is taken as {text} {unit}",
                    f"write {field}: {text} {unit}, or the unit that is meant",
                    parts=(part.tag,),
                )
        for field, least, most, unit in _bands(part):
            value = part.value(field)
            if field in part.texts and isinstance(value, float) and not least <= value <= most:
                yield _outside(f"{part.tag}, {field}", part.texts[field], least, most, unit, parts=(part.tag,))
    told = set()
    for pipe in facts.network.pipes:
        if pipe.size is not None and not 6 * _MM <= pipe.size <= 108 * _MM and (pipe.line, pipe.size_text) not in told:
            told.add((pipe.line, pipe.size_text))
            yield _outside(f"{pipe.start} to {pipe.end}, size", pipe.size_text, 6 * _MM, 108 * _MM, "mm", pipes=(pipe,))


def _bands(part):
    """(field, least, most, unit to print) that is plausible for the part, in SI."""
    kind = part.kind
    if kind.name in _RELIEF:
        yield "setting", 0.5 * _BAR, 10 * _BAR, "bar"
    if kind.store:
        yield "setting", 30, 90, "°C"
    if kind.store == "wholesome":
        yield "volume", 30 * _LITRE, 2000 * _LITRE, "L"
    if kind.gives:
        yield "output", 1 * _KW, 500 * _KW, "kW"


def _outside(what, text, least, most, unit, **where) -> Fault:
    low, high = show(least, unit), show(most, unit)
    return Fault(f"{what}: {text} is not between {low} and {high}", "look at the figure and its unit again", **where)
