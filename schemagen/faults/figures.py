"""Settings and sizes that do not fit."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from schemagen.base.units import parse
from schemagen.checks.facts import Facts
from schemagen.faults.change import with_pipe, with_values, without_part
from schemagen.faults.fault_kind import Category, Edit, FaultKind
from schemagen.network.network import Part, Pipe, PortId

Keep = Callable[[Facts, Part], bool]


def _set(
    slug: str,
    title: str,
    kinds: tuple[str, ...],
    key: str,
    text: str,
    category: Category = "data",
    keep: Keep = lambda facts, part: True,
) -> FaultKind:
    """One figure of parts of these kinds written otherwise, where it is given."""

    def places(facts: Facts) -> Iterator[Edit]:
        for part in facts.parts(*kinds):
            if key in part.values and keep(facts, part):
                attribute = part.kind.attributes[key]
                word = attribute.dimension == "word"
                value = text if word else parse(text, attribute.dimension, attribute.unit)
                network = with_values(facts.network, part.tag, {key: value}, {key: text})
                yield Edit((part.tag,), f"{part.tag} has {key}: {text}.", network)

    return FaultKind(slug, title, category, 3, places)


def _sized(slug: str, title: str, text: str, pipes: Callable[[Facts], Iterator[tuple[str, Pipe]]]) -> FaultKind:
    """These pipes of another size, where a size is given."""

    def places(facts: Facts) -> Iterator[Edit]:
        for tag, pipe in pipes(facts):
            if pipe.size is None:
                continue
            ends = (tag, pipe.start.tag, pipe.end.tag)
            told = f"The pipe {pipe.name} has size {text}."
            new = with_pipe(facts.network, pipe, size=parse(text, "length", "mm"), size_text=text)
            yield Edit(tuple(dict.fromkeys(ends)), told, new)

    return FaultKind(slug, title, "data", 3, places)


def _d1(facts: Facts) -> Iterator[tuple[str, Pipe]]:
    for part in facts.parts("temperature-and-pressure-relief-valve", "expansion-relief-valve"):
        if pipe := facts.pipe_at(PortId(part.tag, "outlet")):
            yield part.tag, pipe


def _d2(facts: Facts) -> Iterator[tuple[str, Pipe]]:
    for part in facts.parts("tundish"):
        pipe = facts.pipe_at(PortId(part.tag, "out"))
        if pipe and pipe.values.get("length"):
            yield part.tag, pipe


def _source_legs(facts: Facts) -> Iterator[tuple[str, Pipe]]:
    """The flow pipe of each source whose output is known and calls for more than 15 mm."""
    for giver in facts.givers:
        if giver.value("output", 0) >= 6000:
            for port in facts.outlet_ports(giver)[:1]:
                if (pipe := facts.pipe_at(port)) and pipe.size:
                    yield giver.tag, pipe


def _gravity_legs(facts: Facts) -> Iterator[tuple[str, Pipe]]:
    for giver in facts.parts("solid-fuel-stove", "wood-boiler"):
        if pipe := facts.pipe_at(PortId(giver.tag, "flow")):
            yield giver.tag, pipe


def _rising_discharge(facts: Facts) -> Iterator[Edit]:
    for tag, pipe in _d2(facts):
        values = {**{k: v for k, v in pipe.values.items() if k != "fall"}, "heights": (1.0, 0.5, 1.5)}
        told = f"The discharge pipe {pipe.name} rises on its way."
        yield Edit((tag, pipe.end.tag), told, with_pipe(facts.network, pipe, values=values))


def _long_discharge(facts: Facts) -> Iterator[Edit]:
    for tag, pipe in _d2(facts):
        values = {**pipe.values, "length": 14.0, "bends": 6}
        told = f"The discharge pipe {pipe.name} is 14 m long with 6 bends."
        yield Edit((tag, pipe.end.tag), told, with_pipe(facts.network, pipe, values=values))


def _no_drop(facts: Facts) -> Iterator[Edit]:
    for tag, pipe in _d2(facts):
        values = {**pipe.values, "drop": 0.1}
        told = f"The discharge pipe {pipe.name} bends 100 mm below the tundish."
        yield Edit((tag, pipe.end.tag), told, with_pipe(facts.network, pipe, values=values))


def _far_tundish(facts: Facts) -> Iterator[Edit]:
    for tag, pipe in _d1(facts):
        values = {**pipe.values, "length": 1.5}
        told = f"The pipe {pipe.name} from the relief valve to the tundish is 1.5 m long."
        yield Edit((tag, pipe.end.tag), told, with_pipe(facts.network, pipe, values=values))


def _feeds_bath(facts: Facts, part: Part) -> bool:
    pipe = facts.pipe_at(PortId(part.tag, "mixed"))
    return pipe is not None and facts.network.parts[pipe.end.tag].kind.name == "bath-outlet"


def _no_antifreeze(facts: Facts) -> Iterator[Edit]:
    network = facts.network
    tags = tuple(part.tag for part in facts.parts("solar-collector"))
    if tags and network.fluids.get("solar-fluid"):
        fluids = {**network.fluids, "solar-fluid": {**network.fluids["solar-fluid"], "antifreeze": 0.0}}
        yield Edit(tags, "The solar fluid holds no antifreeze.", replace(network, fluids=fluids))


def _floor_unlimited(facts: Facts) -> Iterator[Edit]:
    for part in facts.parts("mixing-set"):
        network = with_values(facts.network, part.tag, {"setting": 65.0}, {"setting": "65 °C"})
        for device in facts.parts("pipe-thermostat"):
            if part.tag in device.value("switches", ()):
                network = without_part(network, device.tag)
        yield Edit((part.tag,), f"{part.tag} is set to 65 °C, and nothing limits it.", network)


def _hot_store(facts: Facts, part: Part) -> bool:
    return part.kind.store == "wholesome"


def _by_heat_pump(facts: Facts, part: Part) -> bool:
    return any("heat-pump" in giver.kind.name for giver in facts.givers)


def _with_pressure(facts: Facts, part: Part) -> bool:
    return any("working-pressure" in p.values for p in facts.network.parts.values())


UNVENTED = ("indirect-unvented-cylinder", "twin-coil-unvented-cylinder", "direct-unvented-cylinder",
            "cylinder-and-buffer", "vented-cylinder")  # fmt: skip

FAULTS = (
    _set("relief-set-high", "a relief valve set too high", ("relief-valve",), "setting", "10 bar"),
    _set("temperature-relief-set-high", "a temperature relief valve over the store's limit",
         ("temperature-and-pressure-relief-valve",), "setting", "10 bar"),
    _set("expansion-relief-set-high", "an expansion relief valve over the store's limit",
         ("expansion-relief-valve",), "setting", "9 bar"),
    _set("group-relief-set-high", "the relief valve of an inlet group over the store's limit",
         ("inlet-control-group",), "relief-setting", "9 bar"),
    _set("reducer-set-high", "a reducer over the relief setting", ("pressure-reducer", "inlet-control-group"),
         "setting", "8 bar", keep=_with_pressure),
    _set("vessel-charge-wrong", "a vessel charged over the relief setting", ("expansion-vessel",), "pre-charge",
         "4 bar"),
    _set("drinking-vessel-charge-wrong", "a drinking-water vessel whose charge does not fit the reducer",
         ("wholesome-expansion-vessel",), "pre-charge", "1 bar"),
    _set("drinking-vessel-small", "a drinking-water vessel too small for its store",
         ("wholesome-expansion-vessel",), "volume", "2 L"),
    _set("mixed-too-hot", "a mixing valve too hot for a bath", ("thermostatic-mixing-valve",), "setting", "56 °C",
         "safety", _feeds_bath),
    _set("store-too-cool", "a store kept under 60 °C", UNVENTED, "setting", "50 °C", "safety", _hot_store),
    _set("thermostat-too-cool", "a store thermostat under 60 °C", ("cylinder-thermostat",), "setting",
         "48 °C", "safety"),
    _set("cut-out-too-hot", "a cut-out set over 90 °C", ("cut-out-thermostat",), "setting", "98 °C", "safety"),
    FaultKind("floor-unlimited", "a mixing set too hot for a floor, without a limit", "data", 3, _floor_unlimited),
    _set("coil-too-small", "a coil too small for its heat pump",
         ("indirect-unvented-cylinder", "cylinder-and-buffer"), "coil-area", "0.8 m²", keep=_by_heat_pump),
    _set("filling-loop-connected", "a filling loop left connected", ("filling-loop",), "normal", "connected",
         "safety"),
    _set("stove-return-too-cool", "a loading valve that lets cold water back", ("loading-valve",), "setting", "35 °C"),
    _sized("d1-too-small", "a discharge pipe smaller than the relief valve", "10 mm", _d1),
    _sized("d2-too-small", "a discharge pipe not larger behind the tundish", "15 mm", _d2),
    _sized("source-pipe-too-small", "a pipe too small for its source", "10 mm", _source_legs),
    _sized("gravity-pipe-too-small", "a gravity pipe too small", "15 mm", _gravity_legs),
    FaultKind("discharge-rises", "a discharge pipe that rises", "data", 2, _rising_discharge),
    FaultKind("discharge-too-long", "a discharge pipe too long for its size", "data", 3, _long_discharge),
    FaultKind("discharge-bends-early", "a bend right below the tundish", "data", 3, _no_drop),
    FaultKind("tundish-too-far", "a tundish far from its valve", "data", 3, _far_tundish),
    FaultKind("solar-without-antifreeze", "a collector circuit filled with water", "data", 3, _no_antifreeze),
)  # fmt: skip
