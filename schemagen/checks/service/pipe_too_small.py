"""pipe-too-small (warning)

What: the pipe to or from a heat source is too small for the source's output at the usual temperature difference: the
    water runs faster than 1.5 m/s (advice: 1.0 m/s).
Why: fast water is loud, wears the pipe, and costs more pressure than the pump has.
Cure: take the next larger size, or state the `temperature-difference:` for which the source is set.
Source: speeds and differences (20 K at boilers, 5 K at heat pumps) common practice, no source; wall of copper tube from
    EN 1057, from memory

Wrong:
    parts:
      B1: {kind: system-boiler, output: 24 kW, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - {run: [B1.flow, R1], size: 15 mm}
      - {run: [R1, B1.return], size: 22 mm}

Right:
    parts:
      B1: {kind: system-boiler, output: 24 kW, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - {run: [B1.flow, R1], size: 22 mm}
      - {run: [R1, B1.return], size: 22 mm}
"""

import math

from schemagen.base.units import quantity
from schemagen.checks.fault import Fault

FAST_MS, TOO_FAST_MS = 1.0, 1.5
_HEAT_PER_M3K = 4.1e6
_WALLS_M = 0.0014
_USUAL_K = {"air-heat-pump": 5.0, "ground-heat-pump": 5.0, "heat-pump-indoor-unit": 5.0}
_ELSEWHERE = ("solar-collector", "ground-loop", "split-outdoor-unit", "solid-fuel-stove")


def check(facts):
    for giver in facts.givers:
        output = giver.value("output")
        if not output or giver.kind.name in _ELSEWHERE or len(giver.kind.gives) != 2:
            continue
        difference = giver.value("temperature-difference") or _USUAL_K.get(giver.kind.name, 20.0)
        flow = output / (_HEAT_PER_M3K * difference)
        worst = max(_fast(facts, giver, flow), key=lambda found: found[0], default=(0.0, None))
        if worst[0] > FAST_MS:
            yield _fault(giver, output, *worst)


def _fast(facts, giver, flow: float):
    """Speed of the water in each sized pipe between the source and where its water divides."""
    for start in (*facts.outlet_ports(giver), *facts.return_ports(giver)):
        for port in (start, *facts.run_from(start)[1::2]):
            pipe = facts.pipe_at(port)
            if pipe and (pipe.size or 0) > 2 * _WALLS_M and facts.waters.section[pipe.index] != "filling":
                yield flow / (math.pi / 4 * (pipe.size - _WALLS_M) ** 2), pipe


def _fault(giver, output: float, speed: float, pipe) -> Fault:
    return Fault(
        f"{pipe.name} ({pipe.size_text}) is small for the {quantity(output, 'kW')} of {giver.tag}: "
        f"{quantity(speed, 'm/s')}",
        "take the next larger size",
        parts=(giver.tag,),
        pipes=[pipe],
        severity="warning" if speed > TOO_FAST_MS else "advice",
    )
