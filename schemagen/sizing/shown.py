"""What a drawing of a state says at its pipes: "45 °C" and "12 L/min", where they are known."""

from collections.abc import Mapping

from schemagen.operation.states import State
from schemagen.sizing.design import Design
from schemagen.sizing.of_flows import state_flows

_SILENT = ("filling", "no-calls", "power-off")
"""Sorts of state in which water runs by no design, or not at all."""

_LEAST_M3S = 1e-7

Shown = tuple[str, ...]


def shown_at_pipes(design: Design, state: State) -> Mapping[int, Shown]:
    """By the index of each moving pipe what is known there: its temperature, its flow, or both; absent if neither is.

    Flows to a tenth of a litre per minute below ten, else to a litre; temperatures to a degree.
    """
    if state.sort in _SILENT:
        return {}
    known = state_flows(design.real(state))
    directions = design.plant.operation.flow(state)
    found: dict[int, Shown] = {}
    for pipe in design.network.pipes:
        flow, warmth = known.flow_m3s.get(pipe.index), known.temperature_c.get(pipe.index)
        if flow is not None and flow * directions.direction(pipe) < 0:
            continue
        texts = (_degrees(warmth), _litres(flow) if flow is not None and abs(flow) > _LEAST_M3S else "")
        if any(texts) and directions.moves(pipe):
            found[pipe.index] = tuple(filter(None, texts))
    return found


def _degrees(temperature_c: float | None) -> str:
    return "" if temperature_c is None else f"{round(temperature_c)} °C"


def _litres(flow_m3s: float) -> str:
    per_minute = 6e4 * abs(flow_m3s)
    return f"{per_minute:.1f} L/min" if per_minute < 9.95 else f"{per_minute:.0f} L/min"
