"""no-expansion (error)

What: a sealed circuit that something heats has neither an expansion vessel of its own nor one built into a part. A
    circuit that drains back needs none.
Why: water swells by a few per cent when it is heated and cannot be squeezed; with nowhere to go it opens the relief
    valve or bursts something.
Cure: an expansion vessel on the return, sized for the circuit.
Source: BS EN 12828 and BS 7074-1 (clause numbers from memory); makers' lists of the parts of a sealed system, seen
Caution: pressure

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      P1: {kind: pump}
      R1: {kind: radiator}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
    connections:
      - [B1.flow, P1, R1, B1.return]
      - [S1.outlet, O1.in]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      P1: {kind: pump}
      R1: {kind: radiator}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
      E1: {kind: expansion-vessel, volume: 12 L, at: B1.return}
    connections:
      - [B1.flow, P1, R1, B1.return]
      - [S1.outlet, O1.in]
"""

from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.heated_circuits import heated_circuits

FOLDS = ("solar-no-overheat-plan",)


def check(facts):
    for circuit in heated_circuits(facts):
        if not circuit.sealed or circuit.vessels:
            continue
        tags = circuit.tags
        if circuit.section.elsewhere:
            yield Unknown(tags, "what stands beyond the off-sheet connector")
            continue
        yield Fault(
            f"the sealed circuit of {', '.join(tags[:4])} has no expansion vessel",
            f"add an expansion-vessel, for example with `at: {_cool_end(facts, circuit.sources[0])}`, "
            "or say that one is built in (`built-in: [vessel, …]`)",
            parts=tags,
        )


def _cool_end(facts, source) -> str:
    returns = [port for port in facts.return_ports(source.part) if facts.is_piped(port)]
    return str((returns or source.body)[0])
