"""Parts that somebody forgot: taken out, and the gap closed."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from schemagen.checks.facts import Facts
from schemagen.faults.change import bridged, cut_off, left_out, tidied, without_part
from schemagen.faults.fault_kind import Category, Edit, FaultKind
from schemagen.network.network import Network, Part, PortId

Keep = Callable[[Facts, Part], bool]


def _always(facts: Facts, part: Part) -> bool:
    return True


def _out(
    slug: str, title: str, *kinds: str, category: Category = "safety", level: int = 2, keep: Keep = _always
) -> FaultKind:
    """Parts of these kinds left out one at a time; what they stood for is where the mistake sits."""

    def places(facts: Facts) -> Iterator[Edit]:
        for part in facts.parts(*kinds):
            if keep(facts, part):
                yield Edit(_served(facts, part), f"{part.tag} ({part.kind.title}) is left out.", _gone(facts, part))

    return FaultKind(slug, title, category, level, places)


def _gone(facts: Facts, part: Part) -> Network:
    ends = _through(part)
    return bridged(facts.network, part.tag, *ends) if ends else left_out(facts.network, part.tag)


def _through(part: Part) -> tuple[str, str] | None:
    """Where a run goes through the part: its plain inlet and outlet, or a mixing valve's hot side.

    A bypass and a heat leak join two pipes and vanish with their own.
    """
    if part.kind.name in ("bypass-valve", "heat-leak-radiator"):
        return None
    if part.kind.inlet and part.kind.outlet:
        return part.kind.inlet, part.kind.outlet
    for pair in (("hot", "mixed"), ("cold", "mixed"), ("supply-end", "system-end")):
        if all(name in part.kind.ports for name in pair):
            return pair
    return None


def _served(facts: Facts, part: Part) -> tuple[str, ...]:
    """The neighbours, the host, what it switched, and the sources and stores whose water it stood in."""
    network = facts.network
    near = [end.tag for port in facts.wet_ports(part) for end in _beyond(facts, port)]
    host = network.host_of(part.tag)
    wet = [port for port in facts.wet_ports(part) if facts.is_piped(port)]
    heated = [
        tag
        for port in wet
        for tag in facts.section(port).tags
        if (kind := network.parts[tag].kind).giver or kind.store or kind.taker
    ]
    named = [*near, *([host.tag] if host else []), *part.value("switches", ()), *heated]
    return tuple(tag for tag in dict.fromkeys(named) if tag != part.tag)


def _beyond(facts: Facts, port: PortId) -> list[PortId]:
    """The opening at the other end of a pipe, and beyond it if it is a tee, which vanishes with the part."""
    far = facts.piped_across(port)
    if far is None or facts.network.parts[far.tag].kind.name != "tee":
        return [far] if far else []
    others = [PortId(far.tag, name) for name in ("a", "b", "branch") if name != far.port]
    return [far, *(end for other in others if (end := facts.piped_across(other)))]


def _on_filling(facts: Facts, part: Part) -> bool:
    """It stands between drinking water and a filling part."""
    return any(p.kind.name in ("filling-loop", "automatic-fill-unit") for p in _along(facts, part, "out"))


def _before_store(facts: Facts, part: Part) -> bool:
    pipe = facts.pipe_at(PortId(part.tag, "out"))
    return pipe is not None and facts.waters.medium[pipe.index] == "cold" and not _on_filling(facts, part)


def _on_heating(facts: Facts, part: Part) -> bool:
    return any(facts.waters.medium[p.index] not in ("cold", "hot", "tempered") for p in _pipes(facts, part))


def _in_circulation(facts: Facts, part: Part) -> bool:
    return any(facts.waters.section[p.index] == "circulation" for p in _pipes(facts, part))


def _serves_source(facts: Facts, part: Part) -> bool:
    """A source pushes water to it with no buffer or header between."""
    apart = [p.tag for p in facts.network.parts.values() if p.kind.separates]
    starts = [port for giver in facts.givers for port in facts.outlet_ports(giver)]
    return PortId(part.tag, "in") in facts.reach.downstream_of_all(starts, without=apart)


def _stop_valve(facts: Facts, part: Part) -> bool:
    return any(p.kind.name == "cold-main" for p in _along(facts, part, "a"))


def _alone(facts: Facts, part: Part) -> bool:
    """Nothing else in the same water does its duty."""
    duties = {part.kind.name, *part.kind.counts_as}
    duties |= {"strainer"} if "filter" in duties else set()
    ports = [p for p in facts.wet_ports(part) if facts.is_piped(p)]
    others = {p.tag for port in ports for p in facts.reach.wet(port)} - {part.tag}
    kinds = [facts.network.parts[tag] for tag in others]
    return bool(ports) and not any(duties & {k.kind.name, *k.kind.counts_as, *k.built_in} for k in kinds)


def _wanted_stub(facts: Facts, part: Part) -> bool:
    """A vent or drain in an opening made for it, or the only one of its water."""
    far = facts.piped_across(PortId(part.tag, "port"))
    return far is not None and (far.port in ("vent", "drain") or _alone(facts, part))


def _needed_drain(facts: Facts, part: Part) -> bool:
    """The drain behind the stop valve of a supply counts too."""
    near = [facts.network.parts[end.tag] for end in _beyond(facts, PortId(part.tag, "port"))]
    return _wanted_stub(facts, part) or any(_stop_valve(facts, p) for p in near if p.kind.name == "isolating-valve")


def _needed_vent(facts: Facts, part: Part) -> bool:
    far = facts.piped_across(PortId(part.tag, "port"))
    return far is not None and far.port == "vent"


def _only_thermostat(facts: Facts, part: Part) -> bool:
    """No other thermostat has a say in what it switches, and nothing there has a control of its own."""
    others = [
        other for tag in part.value("switches", ()) for other in facts.signals.behind(tag)
        if other != part.tag and facts.signals.feels_warmth(other)
    ]  # fmt: skip
    own = any("control" in facts.network.parts[tag].built_in for tag in part.value("switches", ()))
    return not others and not own


def _of_heat_pump(facts: Facts, part: Part) -> bool:
    ports = [p for p in facts.wet_ports(part) if facts.is_piped(p)]
    tags = {tag for port in ports for tag in facts.section(port).tags}
    return any("heat-pump" in facts.network.parts[tag].kind.name for tag in tags)


def _last_reading(facts: Facts, part: Part) -> bool:
    """The only reading on a leg of a source or of a header with four pipes.

    A sensor or thermostat in a pocket of the leg reads it too; without the thermometer nothing is amiss there then.
    """
    kinds = ("low-loss-header", "buffer-four-pipe", "close-tees")
    header = facts.reach.header(PortId(part.tag, "port"))
    legs = [facts.network.parts[p.tag].kind for p in header if facts.spec(p).role in ("in", "out")]
    others = [p for p in header if p.tag != part.tag and "test-point" in facts.network.parts[p.tag].kind.counts_as]
    felt = [d for d, p in facts.network.parts.items() if p.kind.is_control and facts.signals.place(d) in header]
    return not others and not felt and any(kind.giver or kind.name in kinds for kind in legs)


def _pipes(facts: Facts, part: Part):
    return [pipe for port in facts.wet_ports(part) if (pipe := facts.pipe_at(port))]


def _along(facts: Facts, part: Part, name: str) -> Iterator[Part]:
    """The parts met along the run from an opening."""
    yield from (facts.network.parts[port.tag] for port in facts.run_from(PortId(part.tag, name)))


def _unpiped(facts: Facts) -> Iterator[Edit]:
    """An emitter that is on the parts list and in no connection; the branch that led to it is missing too."""
    network = facts.network
    for part in facts.takers:
        ends = [PortId(part.tag, name) for name in (part.kind.inlet, part.kind.outlet) if name]
        runs = [facts.run_from(port) for port in ends]
        if len(ends) != 2 or not all(runs):
            continue
        valves = dict.fromkeys(port.tag for run in runs for port in run[:-1])
        tees = [run[-1].tag for run in runs]
        if part.tag in valves or any(network.parts[tag].kind.name != "tee" for tag in tees):
            continue
        less = network
        for tag in (part.tag, *valves):
            less = without_part(less, tag)
        less = replace(less, parts={**less.parts, part.tag: part})
        yield Edit((part.tag,), f"{part.tag} is listed and not connected.", tidied(less, tees))


def _discharge_off(facts: Facts) -> Iterator[Edit]:
    """The pipe from a relief valve's outlet, with all behind it that served no other."""
    kinds = ("relief-valve", "temperature-and-pressure-relief-valve", "expansion-relief-valve")
    for part in facts.parts(*kinds):
        if pipe := facts.pipe_at(PortId(part.tag, "outlet")):
            told = f"The outlet of {part.tag} is not piped."
            yield Edit((part.tag,), told, cut_off(facts.network, pipe))


def _both_antifreeze(facts: Facts) -> Iterator[Edit]:
    tags = [part.tag for part in facts.parts("inline-antifreeze-valve", "antifreeze-valve")]
    if tags and facts.network.fluids.get("heating-water", {}).get("antifreeze", 0) == 0:
        network = facts.network
        for tag in tags:
            part = network.parts[tag]
            ends = _through(part)
            network = bridged(network, tag, *ends) if ends else left_out(network, tag)
        at = dict.fromkeys(t for tag in tags for t in _served(facts, facts.network.parts[tag]) if t not in tags)
        yield Edit(tuple(at), f"{' and '.join(tags)} are left out.", network)


def _return_protection_out(facts: Facts) -> Iterator[Edit]:
    """The loading valve gone, and the thermostat that holds its pump back."""
    for valve in facts.parts("loading-valve"):
        network = bridged(facts.network, valve.tag, "cold", "mixed")
        gates = [p.tag for p in facts.parts("pipe-thermostat")]
        for tag in gates:
            network = without_part(network, tag)
        yield Edit(_served(facts, valve), f"{', '.join((valve.tag, *gates))} are left out.", network)


def _store_thermostat_out(facts: Facts) -> Iterator[Edit]:
    for part in facts.parts("cylinder-thermostat", "store-thermostat"):
        yield Edit(_served(facts, part), f"{part.tag} is left out.", without_part(facts.network, part.tag))


FAULTS = (
    FaultKind("emitter-not-piped", "an emitter that no pipe reaches", "topology", 1, _unpiped),
    FaultKind("discharge-not-piped", "a relief valve without its discharge pipe", "safety", 1, _discharge_off),
    FaultKind("frost-protection-out", "no protection from frost out of doors", "safety", 3, _both_antifreeze),
    FaultKind("store-thermostat-out", "a store without its thermostat", "control", 2, _store_thermostat_out),
    _out("relief-valve-out", "a heating circuit without its relief valve", "relief-valve"),
    _out("temperature-relief-out", "a cylinder without its temperature relief",
         "temperature-and-pressure-relief-valve"),
    _out("expansion-relief-out", "a cold feed without its expansion relief", "expansion-relief-valve"),
    _out("vessel-out", "a sealed circuit without its vessel", "expansion-vessel", "solar-expansion-vessel"),
    _out("drinking-vessel-out", "an unvented store without its vessel", "wholesome-expansion-vessel"),
    _out("tundish-out", "a discharge pipe without its tundish", "tundish"),
    _out("reducer-out", "an unvented store without its reducer", "pressure-reducer"),
    _out("inlet-check-out", "a cold feed without its check valve", "check-valve", keep=_before_store),
    _out("backflow-out", "a filling branch without its backflow preventer", "double-check-valve", keep=_on_filling),
    _out("filter-out", "a heating circuit without its filter", "magnetic-filter", "strainer", category="topology",
         keep=lambda f, p: _on_heating(f, p) and _alone(f, p)),
    _out("vent-out", "a vessel without its vent", "air-vent", category="topology", level=3, keep=_needed_vent),
    _out("drain-out", "a circuit or supply without its drain", "drain-cock", category="topology", level=3,
         keep=_needed_drain),
    _out("cut-out-out", "an unvented store without its cut-out", "cut-out-thermostat"),
    _out("bypass-out", "a source without its bypass", "bypass-valve", category="topology", keep=_serves_source),
    _out("gauge-out", "a sealed circuit without its gauge", "pressure-gauge"),
    _out("filling-out", "a fixed pipe in the place of a filling loop", "filling-loop"),
    _out("pump-out", "a circuit without its pump", "pump", category="topology", level=1),
    _out("circulation-pump-out", "a hot-water circulation without its pump", "wholesome-circulating-pump",
         category="topology", level=1),
    _out("mixing-valve-out", "hot taps without their mixing valve", "thermostatic-mixing-valve", level=1),
    _out("flexible-hose-out", "a heat pump on stiff pipe", "flexible-hose", category="topology", level=3),
    _out("circulation-check-out", "a hot-water circulation without its check valve", "check-valve",
         category="topology", keep=_in_circulation),
    _out("heating-check-out", "a heating circuit without its check valve", "check-valve", category="topology",
         keep=_on_heating),
    _out("stop-valve-out", "a cold main without its stop valve", "isolating-valve", category="topology", level=2,
         keep=_stop_valve),
    _out("thermometer-out", "a leg whose temperature cannot be read", "thermometer", category="topology", level=3,
         keep=_last_reading),
    _out("heat-leak-out", "a stove without its heat leak", "heat-leak-radiator", level=3),
    _out("open-vent-out", "an open system without its vent", "open-vent-end", level=1),
    FaultKind("return-protection-out", "a stove whose return may be cold", "topology", 3, _return_protection_out),
    _out("flow-reading-out", "a heat pump whose flow cannot be read", "flow-regulator", "flow-meter",
         category="topology", level=3, keep=lambda facts, part: _of_heat_pump(facts, part) and _alone(facts, part)),
    _out("room-thermostat-out", "a zone without its room thermostat", "room-thermostat", category="control",
         keep=_only_thermostat),
)  # fmt: skip
