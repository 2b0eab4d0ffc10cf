"""Temperatures that are held in a state: at the outlets of sources, in mixed water, in stores and at the main."""

from collections.abc import Iterator

from schemagen.network.network import Part, PortId
from schemagen.operation.states import State
from schemagen.parts.kind import OUTSIDE
from schemagen.sizing.known import Known, first_known, listed, unique
from schemagen.sizing.plant import HEAT_PUMPS, MIXERS, PRACTICE, Plant
from schemagen.sizing.ways import CISTERN, Way, WayGraph


def held(graph: WayGraph, state: State, ways: tuple[Way, ...]) -> tuple[dict[int, float], tuple[str, ...]]:
    """Points whose temperature is held: outlets of sources, mixed water, stores, the main."""
    plant = graph.plant
    fixed: dict[int, float] = {}
    assumes: list[str] = []

    def hold(tag: str, name: str, known: Known) -> None:
        if known and graph.point[PortId(tag, name)] not in fixed:
            fixed[graph.point[PortId(tag, name)]] = known.value
            assumes.extend(known.assumes)

    for way in ways:
        part = graph.network.parts.get(way.tag)
        if part is None:
            continue
        outlet = way.b if way.sign > 0 else way.a
        if outlet == OUTSIDE:
            continue
        if way.tag in state.giving and way.tag in plant.source_tags and outlet in part.kind.gives:
            hold(way.tag, outlet, _given_off(graph, ways, part))
        elif part.kind.driver in ("main", "cistern"):
            hold(way.tag, outlet, plant.cold_c)
        elif part.kind.name in MIXERS and outlet == MIXERS[part.kind.name][2]:
            hold(way.tag, outlet, listed(part, "setting"))
        elif outlet == "hot-out":
            hold(
                way.tag,
                outlet,
                plant.store_c(part) if part.kind.store == "wholesome" else listed(part, "setting"),
            )
    for part in graph.network.parts.values():
        if part.kind.name == CISTERN:
            hold(part.tag, "outlet", plant.cold_c)
    for part, top in _discharged(graph, ways):
        if top not in fixed and (hot := _setting_of(part, plant.source_of(part), plant)):
            fixed[top] = hot.value
            assumes.extend(hot.assumes)
    return fixed, unique(assumes)


def _discharged(graph: WayGraph, ways: tuple[Way, ...]) -> Iterator[tuple[Part, int]]:
    """Stores of heating water from whose top water leaves while none comes in there, each with that point."""
    arriving = {way.end if way.sign > 0 else way.start for way in ways if way.pipe >= 0}
    leaving = {way.upstream for way in ways if way.pipe >= 0}
    for way in ways:
        part = graph.network.parts.get(way.tag)
        if part and graph.is_heart(way) and part.kind.store and way.start in leaving - arriving:
            yield part, way.start


def _setting_of(store: Part, source: Part | None, plant: Plant) -> Known:
    """Temperature [°C] at the top of a store of heating water: as it is set, or as its source has charged it."""
    if source is None:
        return listed(store, "setting")
    hot = plant.flow_c(source)
    charged = Known(hot.value, (f"{store.tag} is charged at the flow temperature of {source.tag}",)) if hot else hot
    return first_known(listed(store, "setting"), charged)


def _given_off(graph: WayGraph, ways, source: Part) -> Known:
    """Flow temperature [°C] of a running source; a heat pump that heats a hot-water store gives its highest."""
    usual = graph.plant.flow_c(source)
    if source.kind.name not in HEAT_PUMPS or not usual:
        return usual
    coils = [
        graph.network.parts[w.tag]
        for w in ways
        if graph.takes(w) and graph.network.parts[w.tag].kind.store == "wholesome"
    ]
    settings = [s.value for p in coils if (s := graph.plant.store_c(p))]
    if not settings or max(settings) < usual.value:
        return usual
    highest = first_known(listed(source, "max-flow"), usual)
    return Known(highest.value, (f"{source.tag} gives its highest flow temperature for hot water ({PRACTICE})",))
