"""branch-pipe-too-small (warning)

What: a pipe away from the source is too small for the flow of the loads behind it: the water runs faster than 1.5 m/s
    (advice: 1.0 m/s) when all of them call.
Why: fast water is loud, wears the pipe, and costs more pressure than the pump has.
Cure: take the next larger size.
Source: 1.0 m/s: CIBSE Guide B (1986), as quoted in a teaching note; 1.5 m/s common practice, no source; bore of the
    tube from EN 1057 where no material is given

Wrong:
    parts:
      B1: {kind: system-boiler, output: 24 kW, flow-temperature: 70 °C, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      H1: {kind: heating-zone, output: 22 kW}
      H2: {kind: heating-zone, output: 2 kW}
    connections:
      - {run: [B1.flow, T1.a], size: 28 mm}
      - {run: [T1.b, H1, T2.a], size: 15 mm}
      - {run: [T1.branch, H2, T2.branch], size: 15 mm}
      - {run: [T2.b, B1.return], size: 28 mm}

Right:
    parts:
      B1: {kind: system-boiler, output: 24 kW, flow-temperature: 70 °C, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      H1: {kind: heating-zone, output: 22 kW}
      H2: {kind: heating-zone, output: 2 kW}
    connections:
      - {run: [B1.flow, T1.a], size: 28 mm}
      - {run: [T1.b, H1, T2.a], size: 28 mm}
      - {run: [T1.branch, H2, T2.branch], size: 15 mm}
      - {run: [T2.b, B1.return], size: 28 mm}
"""

import math

from schemagen.base.units import quantity
from schemagen.checks.design_facts import design_of, fullest_states
from schemagen.checks.fault import Fault
from schemagen.checks.service.pipe_too_small import FAST_MS, TOO_FAST_MS

_HEATING = ("heating-water", "antifreeze-mix")


def check(facts):
    plant = design_of(facts).plant
    own = {i for source in facts.givers for i in _of_source(facts, source)}
    worst = {}
    for state in fullest_states(facts):
        for run in plant.runs:
            first = run.pipes[0]
            w = state.pipe_ways.get(first.index)
            size = plant.pipe_size(first)
            flow = None if w is None else state.flow(w)
            if (
                not flow
                or not size
                or own.intersection(run.indices)
                or facts.waters.medium[first.index] not in _HEATING
            ):
                continue
            speed = abs(flow) / (math.pi / 4 * size.value.bore_m**2)
            if speed > max(FAST_MS, worst.get(run.name, (0.0,))[0]):
                worst[run.name] = speed, run, state
    for name, (speed, run, state) in worst.items():
        yield Fault(
            f"{name} ({run.pipes[0].size_text}) is small for the flow of what is behind it: {quantity(speed, 'm/s')}",
            "take the next larger size",
            pipes=list(run.pipes),
            states=(state.state.name,),
            severity="warning" if speed > TOO_FAST_MS else "advice",
        )


def _of_source(facts, source):
    """Indices of the pipes between a source and where its water divides."""
    for start in (*facts.outlet_ports(source), *facts.return_ports(source)):
        for port in (start, *facts.run_from(start)[1::2]):
            if pipe := facts.pipe_at(port):
                yield pipe.index
