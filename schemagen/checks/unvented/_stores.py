"""What the checks of unvented stores ask: which stores they are, what swells with them, what holds their supply."""

from collections.abc import Callable, Iterable, Iterator

from schemagen.checks.facts import Facts
from schemagen.network.network import Part, PortId

INLET_GROUP = "inlet-control-group"
TAPS = ("cold-outlet", "hot-outlet", "mixer-outlet", "bath-outlet", "shower-outlet", "blended-outlet")
BLENDERS = ("thermostatic-mixing-valve",)
TEMPERATURE_RELIEF = "temperature-and-pressure-relief-valve"
EXPANSION_RELIEF = "expansion-relief-valve"
VESSELS = ("wholesome-expansion-vessel", "expansion-vessel")
ELSEWHERE = "off-sheet-connector"

_CHECKS = ("check-valve", "double-check-valve", "disconnecting-preventer", INLET_GROUP)
_REDUCERS = ("pressure-reducer", INLET_GROUP)
_OF_OTHER_WATER = ("filling-loop", "automatic-fill-unit")

Numbers = dict[PortId, int]


def joined(facts: Facts, passes: Callable[[Part], bool]) -> Numbers:
    """The number of each opening's group: openings share water through pipes and the parts that are passed."""
    vessels = [
        (PortId(part.tag, "vessel"), PortId(part.tag, "cylinder-out"))
        for part in facts.parts(INLET_GROUP)
        if "vessel" in part.kind.ports and not passes(part)
    ]
    return facts.reach.grouped(lambda part, _: passes(part), vessels)


def is_check(part: Part) -> bool:
    return part.kind.name in _CHECKS or part.value("has-check") is True or part.kind.name in _OF_OTHER_WATER


def is_reducer(part: Part) -> bool:
    return part.kind.name in _REDUCERS or "reducer" in part.built_in


def mixes(part: Part) -> bool:
    """True for taps and blending valves, in which hot and cold water meet."""
    return part.kind.name in (*TAPS, *BLENDERS)


def behind_check(facts: Facts, stores: bool = False) -> Numbers:
    """Water between the check valve and the cylinder; with `stores`, on into the hot water as well."""
    return facts.once(_behind_check_and_on if stores else _behind_check)


def _behind_check(facts: Facts) -> Numbers:
    return joined(facts, lambda part: _passes_freely(part) and part.kind.store != "wholesome")


def _behind_check_and_on(facts: Facts) -> Numbers:
    return joined(facts, _passes_freely)


def _passes_freely(part: Part) -> bool:
    return not (is_check(part) or is_reducer(part) or mixes(part))


def up_to_check(facts: Facts) -> Numbers:
    """Water on the way to a cylinder that no check valve holds back, reducers passed."""
    return joined(facts, lambda p: not (is_check(p) or mixes(p)) and p.kind.store != "wholesome")


def unvented_stores(facts: Facts) -> tuple[Part, ...]:
    """Stores of drinking water made to stand the main, and others that it feeds without an open vent."""
    return facts.once(_unvented_stores)


def _unvented_stores(facts: Facts) -> tuple[Part, ...]:
    stores = (part for part in facts.network.parts.values() if part.kind.store == "wholesome")
    return tuple(s for s in stores if "relief-tapping" in s.kind.ports or _is_on_the_main(facts, cold_in(s)))


def _is_on_the_main(facts: Facts, cold_in: PortId) -> bool:
    if facts.section(cold_in).open:
        return False
    return any(facts.network.parts[port.tag].kind.driver == "main" for port in facts.reach.wet(cold_in))


def cold_in(store: Part) -> PortId:
    return PortId(store.tag, "cold-in")


def at(numbers: Numbers, ports: Iterable[PortId]) -> dict[int, list[PortId]]:
    """The openings by the number of their group."""
    found: dict[int, list[PortId]] = {}
    for port in ports:
        found.setdefault(numbers[port], []).append(port)
    return found


def elsewhere(facts: Facts, numbers: Numbers) -> set[int]:
    """Numbers of the groups that go on beyond this sheet."""
    return {numbers[PortId(part.tag, name)] for part in facts.parts(ELSEWHERE) for name in part.kind.ports}


def supply_reach(facts: Facts, mains: Iterable[Part], without: Callable[[Part], bool]) -> frozenset[PortId]:
    """Openings to which water of these mains gets without passing such a part, a store or a tap."""
    parts = facts.network.parts.values()
    shut = {p.tag for p in parts if without(p) or mixes(p) or p.kind.store or p.kind.name in _OF_OTHER_WATER}
    return facts.reach.downstream_of_all([PortId(main.tag, "out") for main in mains], without=shut)


def relief_outlets(facts: Facts) -> Iterator[PortId]:
    """Outlets of the relief valves of hot-water stores, those in an inlet group included."""
    for part in facts.network.parts.values():
        if part.kind.name in (TEMPERATURE_RELIEF, EXPANSION_RELIEF):
            yield PortId(part.tag, "outlet")
        elif part.kind.name == INLET_GROUP and "expansion-relief" in part.built_in:
            yield PortId(part.tag, "relief-outlet")


def expansion_reliefs(facts: Facts) -> Iterator[PortId]:
    """Where the expansion relief valves feel the water."""
    yield from (PortId(part.tag, "inlet") for part in facts.parts(EXPANSION_RELIEF))
    for group in facts.parts(INLET_GROUP):
        if "expansion-relief" in group.built_in:
            yield PortId(group.tag, "cylinder-out")


def vessels(facts: Facts) -> Iterator[PortId]:
    """Openings of expansion vessels, those built into an inlet group or a store included."""
    yield from (PortId(part.tag, "port") for part in facts.parts(*VESSELS))
    for part in facts.network.parts.values():
        if "vessel" in part.built_in and (part.kind.name == INLET_GROUP or part.kind.store == "wholesome"):
            yield PortId(part.tag, "cylinder-out" if part.kind.name == INLET_GROUP else "cold-in")
