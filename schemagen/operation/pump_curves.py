"""What a pump gives at a flow: pressure rise and slope, for the network solve and for the sizes."""

import math
from bisect import bisect_right
from dataclasses import dataclass

from schemagen.base.bad_input import BadInput, above_zero, not_negative


@dataclass(frozen=True, slots=True)
class QuadraticCurve:
    """Rise [Pa] = shutoff_pa·n² − fall·flow², fall in [Pa/(m³/s)²], n the speed over the full speed [-]."""

    shutoff_pa: float
    fall: float
    speed: float = 1.0

    def __post_init__(self) -> None:
        above_zero(shutoff_pa=self.shutoff_pa, speed=self.speed)
        not_negative(fall=self.fall)

    def rise(self, flow_m3s: float) -> tuple[float, float]:
        """Pressure rise [Pa] and its slope [Pa·s/m³]."""
        return (
            self.shutoff_pa * self.speed**2 - self.fall * flow_m3s * abs(flow_m3s),
            -2 * self.fall * abs(flow_m3s),
        )


@dataclass(frozen=True, slots=True)
class TableCurve:
    """A curve read from points (flow [m³/s], rise [Pa]), joined without overshoot; `straight` joins by lines.

    Beyond either end the curve goes on straight. Source of the smooth joint: Fritsch and Carlson's monotone cubic
    with Butland's slopes (from memory).
    """

    flows_m3s: tuple[float, ...]
    rises_pa: tuple[float, ...]
    straight: bool = False
    speed: float = 1.0

    def __post_init__(self) -> None:
        above_zero(speed=self.speed)
        if len(self.flows_m3s) != len(self.rises_pa) or len(self.flows_m3s) < 2:
            raise BadInput("pump curve", "needs two points at least, each with flow and head")
        if not all(math.isfinite(v) for v in (*self.flows_m3s, *self.rises_pa)):
            raise BadInput("pump curve", "has a point that is not a finite number")
        if any(b <= a for a, b in zip(self.flows_m3s, self.flows_m3s[1:], strict=False)):
            raise BadInput("pump curve", "needs its points in the order of rising flow")

    @property
    def falls_throughout(self) -> bool:
        return all(b < a for a, b in zip(self.rises_pa, self.rises_pa[1:], strict=False))

    @property
    def last_flow_m3s(self) -> float:
        return self.flows_m3s[-1] * self.speed

    def rise(self, flow_m3s: float) -> tuple[float, float]:
        """Pressure rise [Pa] and its slope [Pa·s/m³]; at another speed by the affinity laws."""
        value, slope = self._at_full_speed(flow_m3s / self.speed)
        return value * self.speed**2, slope * self.speed

    def _at_full_speed(self, q: float) -> tuple[float, float]:
        x, y = self.flows_m3s, self.rises_pa
        i = min(max(bisect_right(x, q) - 1, 0), len(x) - 2)
        h = x[i + 1] - x[i]
        chord = (y[i + 1] - y[i]) / h
        slopes = (chord, chord) if self.straight else (self._slope(i), self._slope(i + 1))
        if q < x[0]:
            slope = slopes[0]
            return y[0] + slope * (q - x[0]), slope
        if q > x[-1]:
            slope = slopes[1] if slopes[1] < 0 else chord
            return y[-1] + slope * (q - x[-1]), slope
        s = (q - x[i]) / h
        a, b = slopes[0] * h, slopes[1] * h
        c2, c3 = 3 * chord * h - 2 * a - b, a + b - 2 * chord * h
        return y[i] + s * (a + s * (c2 + s * c3)), (a + s * (2 * c2 + 3 * s * c3)) / h

    def _slope(self, i: int) -> float:
        x, y = self.flows_m3s, self.rises_pa
        chord = [(y[j + 1] - y[j]) / (x[j + 1] - x[j]) for j in range(len(x) - 1)]
        step = [x[j + 1] - x[j] for j in range(len(x) - 1)]
        if len(x) == 2:
            return chord[0]
        if i == 0:
            return _end_slope(step[0], step[1], chord[0], chord[1])
        if i == len(x) - 1:
            return _end_slope(step[-1], step[-2], chord[-1], chord[-2])
        left, right = chord[i - 1], chord[i]
        if left * right <= 0:
            return 0.0
        w1, w2 = 2 * step[i] + step[i - 1], step[i] + 2 * step[i - 1]
        return (w1 + w2) / (w1 / left + w2 / right)


def _end_slope(h0: float, h1: float, d0: float, d1: float) -> float:
    slope = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
    if slope * d0 <= 0:
        return 0.0
    return 3 * d0 if d0 * d1 <= 0 and abs(slope) > 3 * abs(d0) else slope


Curve = QuadraticCurve | TableCurve


@dataclass(frozen=True, slots=True)
class ConstantPressure:
    """A pump that holds `rise_pa` at any flow, or as much of it as its full-speed curve `limit` can give.

    Water pressed through it backwards loses as much more as the curve falls at that flow.
    """

    rise_pa: float
    limit: Curve | None = None

    def __post_init__(self) -> None:
        above_zero(rise_pa=self.rise_pa)

    def rise(self, flow_m3s: float) -> tuple[float, float]:
        """Pressure rise [Pa] and its slope [Pa·s/m³]."""
        if self.limit is None:
            return self.rise_pa, 0.0
        most, slope = self.limit.rise(abs(flow_m3s))
        if flow_m3s < 0:
            return self.rise_pa + self.limit.rise(0.0)[0] - most, slope
        return (most, slope) if most < self.rise_pa else (self.rise_pa, 0.0)


@dataclass(frozen=True, slots=True)
class ProportionalPressure:
    """A pump that gives half of `rise_pa` at no flow, all of it at `design_flow_m3s`, a straight line between.

    Source: common practice, no source.
    """

    rise_pa: float
    design_flow_m3s: float
    limit: Curve | None = None

    def __post_init__(self) -> None:
        above_zero(rise_pa=self.rise_pa, design_flow_m3s=self.design_flow_m3s)

    def held_at(self, flow_m3s: float) -> ConstantPressure:
        """The constant pressure that the pump's control holds at this flow."""
        share = min(max(flow_m3s / self.design_flow_m3s, 0.0), 1.0)
        return ConstantPressure(self.rise_pa * (0.5 + 0.5 * share), self.limit)


@dataclass(frozen=True, slots=True)
class Duty:
    """A pump that moves exactly this flow, whatever pressure it takes."""

    flow_m3s: float

    def __post_init__(self) -> None:
        not_negative(flow_m3s=self.flow_m3s)


PumpSetting = QuadraticCurve | TableCurve | ConstantPressure | ProportionalPressure | Duty
