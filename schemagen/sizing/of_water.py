"""Bodies of water of a design: content, expansion, vessels and their pressures, relief valves and discharge pipes."""

from collections.abc import Iterator
from dataclasses import replace

from schemagen.network.network import Part, Pipe, PortId
from schemagen.sizing.design import Design
from schemagen.sizing.figure import Figure
from schemagen.sizing.glycol import Liquid, concentrate_to_add
from schemagen.sizing.known import Known, attempt, first_known, known_of, listed, unique, work
from schemagen.sizing.of_flows import as_figure
from schemagen.sizing.pipes import pipe_content
from schemagen.sizing.plant import FIRES, HEAT_PUMPS, HEATED, PRACTICE, Plant
from schemagen.sizing.safety import ATMOSPHERE_PA, discharge_pipe, relief_area, relief_size, relief_steam
from schemagen.sizing.sizes import Size
from schemagen.sizing.vessels import (
    LITRES_PER_KW,
    cold_water_in_vessel,
    dose,
    end_pressure,
    expansion,
    expansion_volume,
    fill_pressure,
    heating_vessel,
    hot_pressure,
    potable_vessel,
    precharge,
    system_content,
    system_content_by_load,
    vessel_flags,
    water_reserve,
)
from schemagen.sizing.ways import is_emitter

_VESSELS = ("expansion-vessel", "wholesome-expansion-vessel")
_OPEN = ("feed-and-expansion-cistern", "open-vent-end", "cold-water-cistern", "drain-back-vessel")
_RELIEF = ("relief-valve", "temperature-and-pressure-relief-valve", "expansion-relief-valve")
_SORTS = {"underfloor": "underfloor", "fan-coil": "fan coils", "air-heater": "fan coils"}
_HIGHEST_C = {"boiler": 90.0, "heat pump": 65.0, "fire": 100.0}
_OUTLETS = ((0.013, "1/2"), (0.020, "3/4"), (0.026, "1"))


def water_sizes(design: Design) -> Iterator[Size]:
    """Content, dose, expansion and vessel of every body of heated water, and its relief valve."""
    for body in design.plant.heating_bodies:
        name = design.plant.body_name(body)
        exact, rough = content(design, body)
        yield Size("content", name, exact)
        if exact.value is None and rough is not None:
            yield Size("content", name, rough)
        amount = exact if exact.value is not None or rough is None else _as_estimate(rough)
        yield Size("content", name, work(dose, amount))
        liquid = design.plant.liquid(body)
        if liquid and liquid.value.share:
            yield Size("content", name, work(concentrate_to_add, amount, liquid.value.share))
        yield from _expansion(design, body, name, amount, liquid)
    for store in design.plant.stores:
        yield from _drinking_water(design, store)
    for part in design.network.parts.values():
        if part.kind.name == "tundish":
            yield from _discharge(design, part)


def _as_estimate(figure: Figure) -> Figure:
    return replace(figure, assumptions=(*figure.assumptions, "system content estimated from the load"))


# content


def content(design: Design, body: int) -> tuple[Figure, Figure | None]:
    """The content of a body of water from its pipes and parts, and an estimate or the list's own figure."""
    plant = design.plant
    stated = _stated(plant, body)
    if stated is not None:
        return as_figure(Known(stated), "system content", "m³", "L"), None
    pieces: list[tuple[str, Known]] = [
        (p.name, _in_pipe(plant, p)) for p in plant.bodies[body] if plant.waters.carries[p.index]
    ]
    pieces += [
        (part.tag, volume) for part in plant.parts_in[body] if (volume := _in_part(plant, part, body)) is not None
    ]
    needs = unique(t for _, k in pieces for t in k.needs)
    short = needs if len(needs) <= 4 else (*needs[:4], f"{len(needs) - 4} more of the kind")
    assumes = unique(t for _, k in pieces for t in k.assumes)
    named = tuple((name, k.value) for name, k in pieces if k)
    exact = work(system_content, Known(needs=short) if needs else Known(named, assumes))
    return exact, _estimate(design, body, pieces)


def _stated(plant: Plant, body: int) -> float | None:
    media = {m for p in plant.bodies[body] if (m := plant.waters.medium[p.index]) in HEATED}
    keys = {"solar-fluid"} if "antifreeze-mix" in media else media
    found = [row["content"] for name, row in plant.network.fluids.items() if name in keys and "content" in row]
    alike = [b for b in plant.heating_bodies if media & {plant.waters.medium[p.index] for p in plant.bodies[b]}]
    return found[0] if found and len(alike) == 1 else None


def _in_pipe(plant: Plant, pipe: Pipe) -> Known:
    return known_of(work(pipe_content, plant.length(pipe), attempt(lambda s: s.bore_m, plant.pipe_size(pipe))))


def _in_part(plant: Plant, part: Part, body: int) -> Known | None:
    """Water of this body in a part; None for parts whose content does not count."""
    kind = part.kind
    if kind.store == "wholesome":
        if kind.name == "cylinder-and-buffer":
            return listed(part, "buffer-volume")
        coil = next((n for n in kind.takes if plant.body_at(part.tag, n) == body), None)
        key = f"{coil.removesuffix('-in').removesuffix('-out')}-volume" if coil else ""
        return listed(part, key) if key in kind.attributes else None
    if kind.family == "vessels" or kind.name == "plate-heat-exchanger":
        return None
    if kind.giver or kind.taker or kind.store == "heating":
        return listed(part, "volume") if "volume" in kind.attributes else None
    return Known(part.value("volume")) if part.value("volume") is not None else None


def _estimate(design: Design, body: int, pieces: list[tuple[str, Known]]) -> Figure | None:
    loads: dict[str, float] = {}
    for part in design.plant.parts_in[body]:
        if is_emitter(part):
            heat = known_of(design.demand.heat(part))
            if not heat:
                return None
            sort = _SORTS.get(
                part.value("emitters") or part.kind.name.removesuffix("-loop").removesuffix("-manifold"), ""
            )
            sort = sort or (part.value("emitters") if part.value("emitters") in LITRES_PER_KW else "panel radiators")
            loads[sort] = loads.get(sort, 0.0) + heat.value
    if not loads:
        return None
    by_load = work(system_content_by_load, tuple(loads.items()))
    stores = [
        (n, k.value) for n, k in pieces if k and design.network.parts.get(n) and design.network.parts[n].kind.store
    ]
    if not stores or by_load.value is None:
        return by_load
    whole = work(system_content, (("by load", by_load.value), *stores))
    return replace(whole, name=by_load.name, flags=by_load.flags)


# expansion


def highest_c(plant: Plant, body: int) -> Known:
    """Highest temperature [°C] that any source of a body of water can bring it to."""
    found = [_limit_c(source) for source in plant.sources(body)]
    if not found:
        return Known(needs=(f"a heat source in the {plant.body_name(body)}",))
    return max(found, key=lambda k: k.value)


def _limit_c(source: Part) -> Known:
    if source.kind.name in HEAT_PUMPS:
        return listed(source, "max-flow").but_assume(
            _HIGHEST_C["heat pump"], f"{source.tag} gives {_HIGHEST_C['heat pump']:g} °C at most ({PRACTICE})"
        )
    sort = "fire" if source.kind.name in FIRES else "boiler"
    own = first_known(listed(source, "max-flow"), Known())
    return own.but_assume(
        _HIGHEST_C[sort], f"the limiter of {source.tag} stops it at {_HIGHEST_C[sort]:g} °C ({PRACTICE})"
    )


def _expansion(design: Design, body: int, name: str, amount: Figure, liquid: Known) -> Iterator[Size]:
    plant = design.plant
    parts = plant.parts_in[body]
    relief = relief_pa(plant, body)
    yield from _relief(plant, body, name, relief)
    if any(p.kind.name in _OPEN for p in parts):
        return
    if any(p.kind.name in ("solar-collector", "solar-expansion-vessel") for p in parts):
        needs = Known(needs=("the maker's rule for the solar vessel: the collector boils dry when it stands still",))
        yield Size("expansion", name, work(heating_vessel, needs, amount, 0.0, 0.0))
        return
    highest = highest_c(plant, body)
    yield Size("expansion", name, work(expansion, liquid, highest))
    grown = work(expansion_volume, amount, liquid, highest)
    yield Size("expansion", name, grown)
    end = work(end_pressure, relief)
    yield Size("expansion", name, end)
    vessels = [p for p in parts if p.kind.name == "expansion-vessel"]
    inside = [s for s in plant.sources(body) if "vessel" in s.built_in]
    vessel = next(iter((*vessels, *inside)), None)
    yield from _vessel(plant, body, name if vessel is None else vessel.tag, vessel, grown, amount, end)


def _vessel(plant: Plant, body: int, place: str, vessel: Part | None, grown: Figure, amount: Figure, end: Figure):
    height = _height(plant, body, vessel)
    least_charge = work(precharge, height)
    chosen_charge = listed(vessel, "pre-charge") if vessel else Known()
    yield Size("expansion", place, least_charge)
    charge = chosen_charge if chosen_charge else known_of(least_charge)
    reserve = work(water_reserve, amount)
    needed = work(heating_vessel, grown, amount, charge, end)
    key = "vessel-volume" if vessel is not None and vessel.kind.giver else "volume"
    chosen = listed(vessel, key) if vessel else Known()
    volume = chosen if chosen else known_of(needed)
    fill = work(fill_pressure, volume, reserve, charge)
    cold = work(cold_water_in_vessel, volume, charge, fill)
    hot = work(hot_pressure, volume, charge, fill, grown, end)
    if chosen and needed.value is not None:
        needed = replace(needed, flags=(*needed.flags, *vessel_flags(chosen.value, needed.value, hot)))
    for figure in (needed, fill, cold, hot):
        yield Size("expansion", place, figure)


def _height(plant: Plant, body: int, vessel: Part | None) -> Known:
    """Height [m] of the highest point over the vessel."""
    heights = [h for p in plant.bodies[body] for h in p.values.get("heights", ())]
    heights += [p.value("height") for p in plant.parts_in[body] if p.value("height") is not None]
    if not heights or vessel is None or vessel.value("height") is None:
        place = vessel.tag if vessel else "the vessel"
        return Known(needs=(f"height of {place} and of the highest point",))
    return Known(max(0.0, max(heights) - vessel.value("height")))


def relief_pa(plant: Plant, body: int) -> Known:
    """The lowest setting [Pa] of the relief valves on a body of water, in its sources too."""
    found = [p.value("setting") for p in plant.parts_in[body] if p.kind.name == "relief-valve" and p.value("setting")]
    sources = list(plant.sources(body))
    found += [s.value("relief-setting") for s in sources if s.value("relief-setting")]
    if found:
        return Known(min(found))
    inside = next((s for s in sources if "relief" in s.built_in), None)
    if inside is not None:
        return Known(3e5, (f"relief valve in {inside.tag} set to 3 bar ({PRACTICE})",))
    return Known(needs=("setting of a relief valve",))


def _relief(plant: Plant, body: int, name: str, relief: Known) -> Iterator[Size]:
    valves = [p for p in plant.parts_in[body] if p.kind.name == "relief-valve"]
    heats = [listed(s, "output") for s in plant.sources(body) if s.kind.name != "solar-collector"]
    if not heats or not (valves or relief):
        return
    needs = unique(t for k in heats for t in k.needs)
    heat = Known(needs=needs) if needs else Known(sum(k.value for k in heats))
    place = valves[0].tag if valves else name
    for figure in _relief_figures(heat, relief):
        yield Size("relief", place, _against(figure, valves, heat))


def _relief_figures(heat: Known, relief: Known) -> Iterator[Figure]:
    yield work(relief_steam, heat, relief)
    yield work(relief_area, heat, attempt(lambda p: p + ATMOSPHERE_PA, relief))
    yield work(relief_size, heat)


def _against(figure: Figure, valves: list[Part], heat: Known) -> Figure:
    listed_w = [v.value("capacity") for v in valves if v.value("capacity") is not None]
    if figure.name == "steam to be relieved" and heat and listed_w and max(listed_w) < heat.value:
        return replace(figure, flags=(*figure.flags, "more heat than the relief valve is listed for"))
    return figure


# drinking water


def _drinking_water(design: Design, store: Part) -> Iterator[Size]:
    """The expansion vessel of an unvented store, and what its relief valve must carry off."""
    plant = design.plant
    body = plant.body_at(store.tag, "cold-in")
    if body is None or "unvented" not in store.kind.name and store.kind.name != "cylinder-and-buffer":
        return
    parts = plant.parts_in[body]
    settings = [p for p in parts if p.kind.name in ("pressure-reducer", "inlet-control-group") and p.value("setting")]
    inlet = Known(settings[0].value("setting")) if settings else Known(needs=("setting of a pressure reducer",))
    reliefs = [
        p.value("relief-setting") or (p.value("setting") if p.kind.name == "expansion-relief-valve" else None)
        for p in parts
    ]
    relief = (
        Known(min(s for s in reliefs if s)) if any(reliefs) else Known(needs=("setting of the expansion relief valve",))
    )
    hot = plant.store_c(store)
    grown = work(expansion_volume, listed(store, "volume"), Liquid(), hot)
    vessel = next((p for p in parts if p.kind.name == "wholesome-expansion-vessel"), None)
    place = vessel.tag if vessel else store.tag
    needed = work(potable_vessel, grown, inlet, relief)
    if vessel is not None and vessel.value("volume") is not None and needed.value is not None:
        flags = vessel_flags(vessel.value("volume"), needed.value, Figure("", None, ""))
        needed = replace(needed, flags=(*needed.flags, *flags))
    yield Size("expansion", place, grown)
    yield Size("expansion", place, needed)
    charge = attempt(lambda p: p - 0.2e5, inlet)
    yield Size("expansion", place, as_figure(charge, "pre-charge below the inlet pressure", "Pa", "bar"))


# discharge


def _discharge(design: Design, tundish: Part) -> Iterator[Size]:
    valves = _valves_before(design, tundish)
    sizes = [v.value("size") for v in valves]
    if not valves or any(s is None for s in sizes):
        names = ", ".join(v.tag for v in valves if v.value("size") is None) or "the relief valve"
        outlet = Known(needs=(f"size of {names}",))
    else:
        outlet = Known(next((name for most, name in _OUTLETS if max(sizes) <= most), f"{1e3 * max(sizes):g} mm"))
    pipes = _pipes_after(design, PortId(tundish.tag, "out"))
    lengths = [design.plant.length(p) for p in pipes]
    needs = unique(t for k in lengths for t in k.needs) or (() if pipes else (f"a pipe from {tundish.tag}",))
    length = Known(needs=needs) if needs else Known(sum(k.value for k in lengths))
    bends = Known(sum(int(p.values["bends"]) for p in pipes if "bends" in p.values))
    if not any("bends" in p.values for p in pipes):
        bends = Known(0, ("no bends in the discharge pipe",))
    found = attempt(discharge_pipe, outlet, length, bends)
    if not found:
        yield Size("relief", tundish.tag, Figure("discharge pipe D2", None, "m", "mm", needs=found.needs))
        return
    d1 = design.network.pipes_at.get(PortId(tundish.tag, "in"), ())
    for figure, listed_pipes in ((found.value.d1, d1), (found.value.d2, pipes), (found.value.allowed, ())):
        thin = [
            p for p in listed_pipes if p.size is not None and figure.value is not None and p.size < figure.value - 1e-4
        ]
        flags = (f"{thin[0].name} is listed as {thin[0].size_text}, too small",) if thin else ()
        yield Size("relief", tundish.tag, replace(figure, flags=(*figure.flags, *flags), assumptions=found.assumes))


def _valves_before(design: Design, tundish: Part) -> list[Part]:
    """The relief valves whose outlets run to a tundish."""
    network = design.network
    seen, queue, found = {tundish.tag}, [PortId(tundish.tag, "in")], []
    while queue:
        for pipe in network.pipes_at.get(queue.pop(), ()):
            for end in (pipe.start, pipe.end):
                part = network.parts[end.tag]
                if end.tag not in seen:
                    seen.add(end.tag)
                    if part.kind.name in _RELIEF or part.kind.name == "inlet-control-group":
                        found.append(part)
                    elif part.kind.plain:
                        queue += [PortId(end.tag, n) for n in part.kind.ports]
    return [v for v in found if v.kind.name != "inlet-control-group" or len(found) == 1]


def _pipes_after(design: Design, port: PortId) -> list[Pipe]:
    network, found = design.network, []
    while pipe := next((p for p in network.pipes_at.get(port, ()) if p not in found), None):
        found.append(pipe)
        far = network.far_end(pipe, port)
        others = [PortId(far.tag, n) for n in network.parts[far.tag].kind.ports if n != far.port]
        onward = [p for p in others if network.pipes_at.get(p)]
        if len(onward) != 1 or not network.parts[far.tag].kind.plain:
            break
        port = onward[0]
    return found
