"""Hot water that a store gives: mixed water from a full one, and from one that mixes while it is drawn."""

import math

from schemagen.base.bad_input import BadInput, above_zero, hotter, not_negative
from schemagen.base.units import quantity
from schemagen.sizing.figure import Figure, calculation, worked


@calculation(
    "usable hot water, ideal", "m³", "heat balance; EU Regulation 814/2013 (wording from memory)", shown_in="L"
)
def mixed_volume(volume_m3: float, store_c: float, cold_c: float, mixed_c: float = 40.0) -> Figure:
    """Mixed water [m³] from a full store [m³] if none of its water mixes with the cold that follows.

    A store not above the mixed temperature gives none, and is flagged. Raises BadInput unless mixed lies above cold.
    """
    above_zero(volume_m3=volume_m3)
    hotter("mixed temperature", mixed_c, "cold temperature", cold_c)
    terms = {"V": (volume_m3, "m³"), "Ts": (store_c, "°C"), "Tc": (cold_c, "°C"), "Tm": (mixed_c, "°C")}
    if store_c <= mixed_c:
        return worked(0.0, "", _too_cool(store_c, mixed_c), **terms)
    return worked(volume_m3 * (store_c - cold_c) / (mixed_c - cold_c), "{V}·({Ts} − {Tc})/({Tm} − {Tc})", **terms)


def _too_cool(store_c: float, mixed_c: float) -> tuple[str, ...]:
    return (f"the store at {quantity(store_c, '°C')} gives no water at {quantity(mixed_c, '°C')}",)


@calculation("needed store", "m³", "heat balance", shown_in="L")
def store_for_mixed(mixed_m3: float, store_c: float, cold_c: float, mixed_c: float = 40.0) -> Figure:
    """Store [m³] whose ideal yield is a volume [m³] of mixed water."""
    not_negative(mixed_m3=mixed_m3)
    hotter("mixed temperature", mixed_c, "cold temperature", cold_c)
    hotter("store temperature", store_c, "mixed temperature", mixed_c)
    return worked(
        mixed_m3 * (mixed_c - cold_c) / (store_c - cold_c), "{V}·({Tm} − {Tc})/({Ts} − {Tc})",
        V=(mixed_m3, "m³"), Tm=(mixed_c, "°C"), Tc=(cold_c, "°C"), Ts=(store_c, "°C"),
    )  # fmt: skip


@calculation("time of drawing", "s", "mixed volume over flow", shown_in="min")
def drawing_time(mixed_m3: float, flow_m3s: float) -> Figure:
    """How long [s] a volume [m³] of mixed water lasts at a flow [m³/s]."""
    not_negative(mixed_m3=mixed_m3)
    above_zero(flow_m3s=flow_m3s)
    return worked(mixed_m3 / flow_m3s, "{V}/{q}", V=(mixed_m3, "m³"), q=(flow_m3s, "m³/s"))


LAYERS = {"tall with diffuser": 20, "plain": 10, "horizontal": 1}
"""Equal mixed layers that stand for a store's stratification: common practice, no source."""


@calculation("temperature drawn from the store", "°C", "equal mixed layers in series")
def drawn_temperature(layers: int, drawn: float, store_c: float, cold_c: float) -> Figure:
    """Outlet temperature [°C] after `drawn` store volumes [-] have been drawn from `layers` mixed layers.

    Raises BadInput for less than one layer.
    """
    _check_layers(layers)
    not_negative(drawn_volumes=drawn)
    share = _tail(layers, layers * drawn)
    return worked(
        cold_c + (store_c - cold_c) * share, "{Tc} + ({Th} − {Tc})·{Q}", Tc=(cold_c, "°C"), Th=(store_c, "°C"), Q=share
    )


@calculation("usable hot water over store volume", "-", "equal mixed layers in series")
def usable_share(layers: int, store_c: float, cold_c: float, mixed_c: float = 40.0) -> Figure:
    """Mixed water [-] per store volume, drawn until the outlet falls to the mixed temperature [°C].

    A store not above the mixed temperature gives none. Raises BadInput for less than one layer.
    """
    _check_layers(layers)
    hotter("mixed temperature", mixed_c, "cold temperature", cold_c)
    if mixed_c >= store_c:
        return worked(0.0, "", _too_cool(store_c, mixed_c))
    wanted = (mixed_c - cold_c) / (store_c - cold_c)
    low, high = 0.0, 10.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _tail(layers, layers * middle) > wanted else (low, middle)
    heat = sum(1 - _tail(k + 1, layers * low) for k in range(layers)) / layers
    return worked(
        heat / wanted, "∫(T − {Tc})/({Tm} − {Tc}) over {θ} store volumes", Tc=(cold_c, "°C"), Tm=(mixed_c, "°C"), θ=low
    )


def _check_layers(layers: int) -> None:
    if layers < 1 or layers != int(layers):
        raise BadInput("layers", f"must be a whole number of 1 or more, not {layers:g}")


def _tail(n: int, x: float) -> float:
    """Regularised upper incomplete gamma function Q(n, x) for a whole n: exp(−x)·Σ x^k/k!."""
    term = total = 1.0
    for k in range(1, int(n)):
        term *= x / k
        total += term
    return math.exp(-x) * total
