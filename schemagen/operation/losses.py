"""Pressure loss and slope of all links of a network at once; no loss falls as its flow rises."""

import math
from collections.abc import Sequence

import numpy as np

from schemagen.operation.friction import factor_and_slope
from schemagen.operation.links import Link, Pump, Resistance, Tube

STEEP = 1e15
"""Resistance [Pa/(m³/s)] that stands for "does not pass": 1 bar drives 1e-10 m³/s, which is then set to nothing."""

CREEP_PA = 1e-6
"""Below this loss [Pa] a resistance is taken as linear, so that links at rest keep a slope."""

LEAST_SLOPE = 30.0
"""Linear resistance [Pa/(m³/s)] added to every resistance: 0.03 Pa at 1 L/s, so that none is free of loss."""


class Losses:
    """The links' data as arrays, made once for many flows."""

    def __init__(self, links: Sequence[Link]) -> None:
        n = len(links)
        self.quadratic = np.zeros(n)
        self.is_pump = np.array([isinstance(link.element, Pump) for link in links])
        self.pumps = [(i, link.element.setting) for i, link in enumerate(links) if isinstance(link.element, Pump)]
        tubes = [(i, link.element) for i, link in enumerate(links) if isinstance(link.element, Tube)]
        for i, link in enumerate(links):
            if isinstance(link.element, Resistance):
                self.quadratic[i] = link.element.factor
        columns = [
            (i, t.length_m, t.bore_m, t.roughness_m, t.density_kgm3, t.viscosity_pas, t.loss_coefficient)
            for i, t in tubes
        ]
        at, length, bore, rough, density, viscosity, local = np.array(columns).reshape(-1, 7).T
        area = math.pi / 4 * bore**2
        self.tubes = at.astype(int)
        self.quadratic[self.tubes] = local * density / (2 * area**2)
        self.creep = np.sqrt(CREEP_PA / np.where(self.quadratic > 0, self.quadratic, np.inf))
        self.least = np.where(self.is_pump, 0.0, LEAST_SLOPE)
        self.least[self.tubes] = 0.0
        self.friction = length / bore * density / (2 * area**2)
        self.reynolds = density * bore / (viscosity * area)
        self.rough = rough / bore
        self.laminar = length / bore**2 * 32 * viscosity / area
        self.bore_area = area
        self.one_way = np.array([link.one_way or link.opening_pa > 0 for link in links])
        self.opening = np.array([link.opening_pa for link in links])
        self.limit = np.array([link.limit_m3s for link in links])
        self.limited = bool(np.isfinite(self.limit).any())
        self.at_limit = self._plain(np.where(np.isfinite(self.limit), self.limit, 0.0))[0]
        self.at_rest = self._plain(np.zeros(n))[0] + self.opening

    def usual_flow(self) -> np.ndarray:
        """Where to start: half a metre a second in tubes, elsewhere what 1 kPa drives."""
        flow = np.sqrt(1e3 / np.where(self.quadratic > 0, self.quadratic, 1e11))
        flow[self.tubes] = 0.5 * self.bore_area
        return np.minimum(flow, self.limit)

    def at(self, q: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Loss [Pa] and slope [Pa·s/m³] of every link at its flow [m³/s]."""
        sealed = self.opening / STEEP
        value, slope = self._plain(q - sealed)
        value = value + self.opening
        back = self.one_way & (q < sealed)
        value = np.where(back, self.at_rest + STEEP * (q - sealed), value)
        slope = np.where(back, STEEP, slope)
        if self.limited:
            over = q > self.limit
            beyond = self.at_limit + self.opening + STEEP * (q - np.where(over, self.limit, 0.0))
            value, slope = np.where(over, beyond, value), np.where(over, STEEP, slope)
        return value, slope

    def _plain(self, q: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        size = np.abs(q)
        creeps = size < self.creep
        value = q * (self.least + self.quadratic * np.where(creeps, self.creep, size))
        slope = self.least + self.quadratic * np.where(creeps, self.creep, 2 * size)
        if len(self.tubes):
            flow = size[self.tubes]
            re = np.minimum(self.reynolds * flow, 1e8)
            factor, factor_slope = factor_and_slope(re, self.rough)
            still = re < 1.0
            friction = np.where(still, self.laminar * flow, self.friction * factor * flow**2)
            rise = self.friction * (2 * factor * flow + factor_slope * self.reynolds * flow**2)
            value[self.tubes] += np.sign(q[self.tubes]) * friction
            slope[self.tubes] += np.where(still, self.laminar, rise)
        for i, setting in self.pumps:
            rise_pa, rise_slope = setting.rise(float(q[i]))
            value[i] -= rise_pa
            slope[i] -= rise_slope
        return value, slope
