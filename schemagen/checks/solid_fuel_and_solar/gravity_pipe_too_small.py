"""gravity-pipe-too-small (warning)

What: a pipe of the loop by which a fire's heat gets away by itself is smaller than 28 mm (1 inch).
Why: nothing but warmth moves the water in it; in a narrow pipe it stands, and the fire boils.
Cure: 28 mm or more all the way from the fire to the heat leak and back.
Source: common practice, no source
Caution: solid-fuel

Wrong:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      A1: {kind: open-vent-end, at: S1.flow}
      F1: {kind: feed-and-expansion-cistern, at: S1.return, capped: [supply, overflow]}
      R1: {kind: heat-leak-radiator}
    connections:
      - {run: [S1.flow, R1, S1.return], size: 22 mm}

Right:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      A1: {kind: open-vent-end, at: S1.flow}
      F1: {kind: feed-and-expansion-cistern, at: S1.return, capped: [supply, overflow]}
      R1: {kind: heat-leak-radiator}
    connections:
      - {run: [S1.flow, R1, S1.return], size: 28 mm}
"""

from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.solid_fuel_and_solar._fires import fires, free_loop

LEAST_M = 0.028
LEAST_INCHES_M = 0.0254


def check(facts):
    for fire in fires(facts):
        loop = free_loop(facts, fire)
        leaks = [tag for tag in sorted(loop.tags) if loop.takes_heat(facts.network.parts[tag])]
        pipes = loop.pipes(facts) if leaks else []
        small = [pipe for pipe in pipes if pipe.size is not None and pipe.size < _least(pipe)]
        if small:
            yield Fault(
                f"{small[0].name} is {small[0].size_text}, too small for water that moves by warmth alone",
                f"take 28 mm or more from {fire.tag} to {leaks[0]} and back",
                parts=(fire.tag, *leaks),
                pipes=small,
            )
        elif any(pipe.size is None for pipe in pipes):
            yield Unknown((fire.tag,), "`size` of the pipes of its gravity loop")


def _least(pipe) -> float:
    """Inches name the bore, millimetres the outside of a tube."""
    return LEAST_M if "mm" in pipe.size_text else LEAST_INCHES_M
