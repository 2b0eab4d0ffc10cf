"""Local losses: fittings by their coefficient K, valves by their Kv, parts by a maker's point."""

import math

from schemagen.base.bad_input import above_zero, not_negative
from schemagen.sizing.figure import Figure, calculation, worked
from schemagen.sizing.water import Fluid

KV_SOURCE = "definition of Kv: m³/h of water of 1000 kg/m³ at 1 bar"
K_SOURCE = "handbook tables of loss coefficients"

LOSS_COEFFICIENTS = {
    "elbow": 0.9, "long-radius bend": 0.5, "45 degree bend": 0.4, "tee run": 0.4, "tee branch": 1.0,
    "full-bore valve": 0.2, "check valve": 2.0, "entry": 0.5, "exit": 1.0,
}  # fmt: skip
"""K [-] of fittings at the velocity in the pipe: handbook tables; globe and radiator valves go by their Kv."""


@calculation("loss of fittings", "Pa", K_SOURCE, shown_in="kPa")
def fitting_loss(loss_coefficient: float, velocity_ms: float, fluid: Fluid) -> Figure:
    """Loss [Pa] of fittings with a K [-] at a velocity [m/s]. Raises BadInput for a negative K."""
    not_negative(loss_coefficient=loss_coefficient, velocity_ms=velocity_ms)
    value = loss_coefficient * fluid.density_kgm3 * velocity_ms**2 / 2
    return worked(value, "{K}·{ρ}·{v}²/2", K=loss_coefficient, ρ=(fluid.density_kgm3, "kg/m³"), v=(velocity_ms, "m/s"))


@calculation("loss of a valve", "Pa", KV_SOURCE, shown_in="kPa", assumes={"density_kgm3": "water of 1000 kg/m³"})
def valve_loss(flow_m3s: float, kv_m3h: float, density_kgm3: float = 1000.0) -> Figure:
    """Loss [Pa] of an open valve with a Kv [m³/h] at a flow [m³/s]. Raises BadInput for a Kv ≤ 0."""
    not_negative(flow_m3s=flow_m3s)
    above_zero(Kv=kv_m3h, density_kgm3=density_kgm3)
    value = 1e5 * density_kgm3 / 1000 * (3600 * flow_m3s / kv_m3h) ** 2
    return worked(
        value, "100000·{ρ}/1000·(3600·{q}/{Kv})²", ρ=(density_kgm3, "kg/m³"), q=(flow_m3s, "m³/s"), Kv=(kv_m3h, "m³/h")
    )


@calculation("Kv for a flow and a loss", "m³/h", KV_SOURCE, assumes={"density_kgm3": "water of 1000 kg/m³"})
def kv_for(flow_m3s: float, loss_pa: float, density_kgm3: float = 1000.0) -> Figure:
    """Kv [m³/h] that passes a flow [m³/s] at a loss [Pa]."""
    not_negative(flow_m3s=flow_m3s)
    above_zero(loss_pa=loss_pa, density_kgm3=density_kgm3)
    value = 3600 * flow_m3s * math.sqrt(density_kgm3 / 1000 / (loss_pa / 1e5))
    return worked(
        value, "3600·{q}·√({ρ}/1000/({Δp}/100000))", q=(flow_m3s, "m³/s"), ρ=(density_kgm3, "kg/m³"), Δp=(loss_pa, "Pa")
    )


@calculation("K of a valve", "-", KV_SOURCE)
def k_from_kv(kv_m3h: float, bore_m: float) -> Figure:
    """Loss coefficient K [-] at the velocity in a bore [m] of a valve with a Kv [m³/h]."""
    above_zero(Kv=kv_m3h, bore_m=bore_m)
    area = math.pi / 4 * bore_m**2
    value = 2 * (3600 * area) ** 2 * 1e5 / (1000 * kv_m3h**2)
    return worked(value, "2·(3600·{A})²·100000/(1000·{Kv}²)", A=(area, "m²"), Kv=(kv_m3h, "m³/h"))


@calculation("Kv of a fitting", "m³/h", KV_SOURCE)
def kv_from_k(loss_coefficient: float, bore_m: float) -> Figure:
    """Kv [m³/h] of a fitting with a K [-] at the velocity in a bore [m]."""
    above_zero(loss_coefficient=loss_coefficient, bore_m=bore_m)
    area = math.pi / 4 * bore_m**2
    value = 3600 * area * math.sqrt(2e5 / (1000 * loss_coefficient))
    return worked(value, "3600·{A}·√(200000/(1000·{K}))", A=(area, "m²"), K=loss_coefficient)


@calculation("equivalent length", "m", K_SOURCE)
def equivalent_length(loss_coefficient: float, bore_m: float, friction: float) -> Figure:
    """Straight pipe [m] that loses as much as a K [-], for a bore [m] and a friction factor [-]."""
    not_negative(loss_coefficient=loss_coefficient)
    above_zero(bore_m=bore_m, friction=friction)
    return worked(loss_coefficient * bore_m / friction, "{K}·{d}/{f}", K=loss_coefficient, d=(bore_m, "m"), f=friction)


@calculation("loss of a part", "Pa", "maker's point, loss with the square of the flow", shown_in="kPa")
def part_loss(flow_m3s: float, loss_at_point_pa: float, flow_at_point_m3s: float) -> Figure:
    """Loss [Pa] at a flow [m³/s] of a part that loses `loss_at_point_pa` at `flow_at_point_m3s`."""
    not_negative(flow_m3s=flow_m3s, loss_at_point_pa=loss_at_point_pa)
    above_zero(flow_at_point_m3s=flow_at_point_m3s)
    value = loss_at_point_pa * (flow_m3s / flow_at_point_m3s) ** 2
    return worked(
        value, "{p0}·({q}/{q0})²", p0=(loss_at_point_pa, "Pa"), q=(flow_m3s, "m³/s"), q0=(flow_at_point_m3s, "m³/s")
    )


@calculation("Kv in parallel", "m³/h", KV_SOURCE)
def kv_in_parallel(kvs_m3h: tuple[float, ...]) -> Figure:
    """Kv [m³/h] of valves side by side: their sum."""
    for kv in kvs_m3h:
        above_zero(Kv=kv)
    return worked(sum(kvs_m3h), " + ".join(f"{kv:g}" for kv in kvs_m3h))


@calculation("Kv in series", "m³/h", KV_SOURCE)
def kv_in_series(kvs_m3h: tuple[float, ...]) -> Figure:
    """Kv [m³/h] of valves one after the other: 1/Kv² adds."""
    for kv in kvs_m3h:
        above_zero(Kv=kv)
    value = sum(kv**-2 for kv in kvs_m3h) ** -0.5
    return worked(value, "1/√(" + " + ".join(f"1/{kv:g}²" for kv in kvs_m3h) + ")")
