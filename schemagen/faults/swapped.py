"""Pipes exchanged at one part, and parts turned round."""

from collections.abc import Iterator

from schemagen.checks.facts import Facts
from schemagen.faults.change import exchanged, pipe_with
from schemagen.faults.fault_kind import Category, Edit, FaultKind
from schemagen.network.network import PortId

SOURCES = (
    "heat-only-boiler", "system-boiler", "combi-boiler", "electric-flow-boiler", "air-heat-pump", "ground-heat-pump",
    "heat-pump-indoor-unit", "wood-boiler",
)  # fmt: skip
SEPARATORS = ("buffer-four-pipe", "low-loss-header", "cylinder-and-buffer", "close-tees")
STORES = (
    "indirect-unvented-cylinder", "twin-coil-unvented-cylinder", "direct-unvented-cylinder", "vented-cylinder",
    "cylinder-and-buffer", "thermal-store",
)  # fmt: skip


def _swap(
    slug: str, title: str, kinds: tuple[str, ...], *pairs: tuple[str, str], category: Category = "topology", level=1
) -> FaultKind:
    """The pipes at two ports of a part exchanged, for each pair of ports that are both piped."""

    def places(facts: Facts) -> Iterator[Edit]:
        network = facts.network
        for part in facts.parts(*kinds):
            for a, b in ((PortId(part.tag, x), PortId(part.tag, y)) for x, y in pairs):
                ends = [pipe_with(network, port) for port in (a, b)]
                if all(ends) and ends[0] is not ends[1]:
                    beyond = tuple(network.far_end(pipe, port).tag for pipe, port in zip(ends, (a, b), strict=True))
                    told = f"The pipes at {a} and {b} are exchanged."
                    yield Edit((part.tag, *beyond), told, exchanged(network, a, b))

    return FaultKind(slug, title, category, level, places)


def _turn(slug: str, title: str, *kinds: str, a: str = "in", b: str = "out", category: Category = "topology", level=2):
    """A part put into its pipes the wrong way round."""

    def places(facts: Facts) -> Iterator[Edit]:
        network = facts.network
        for part in facts.parts(*kinds):
            ports = PortId(part.tag, a), PortId(part.tag, b)
            if all(pipe_with(network, port) for port in ports):
                beyond = tuple(network.far_end(pipe_with(network, p), p).tag for p in ports)
                yield Edit((part.tag, *beyond), f"{part.tag} stands the wrong way round.", exchanged(network, *ports))

    return FaultKind(slug, title, category, level, places)


FAULTS = (
    _swap("source-swapped", "flow and return exchanged at a heat source", SOURCES, ("flow", "return")),
    _swap("interface-unit-swapped", "flow and return of the network exchanged at an interface unit",
          ("heat-interface-unit",), ("network-flow", "network-return")),
    _swap("interface-unit-load-swapped", "flow and return of the dwelling exchanged at an interface unit",
          ("heat-interface-unit",), ("flow", "return")),
    _swap("coil-swapped", "the two ends of a coil exchanged", STORES, ("coil-in", "coil-out"),
          ("lower-coil-in", "lower-coil-out"), ("upper-coil-in", "upper-coil-out"), level=2),
    _swap("coils-crossed", "the flow pipes of two coils exchanged", ("twin-coil-unvented-cylinder",),
          ("lower-coil-in", "upper-coil-in"), level=2),
    _swap("separator-source-side-swapped", "flow and return exchanged on the source side of a buffer or header",
          SEPARATORS, ("primary-flow", "primary-return"), level=2),
    _swap("separator-load-side-swapped", "flow and return exchanged on the load side of a buffer or header",
          SEPARATORS, ("secondary-flow", "secondary-return"), level=2),
    _swap("separator-flows-exchanged", "source flow and load flow exchanged at a buffer or header",
          SEPARATORS, ("primary-flow", "secondary-flow"), level=3),
    _swap("separator-crossed", "source flow and load return exchanged at a buffer or header",
          SEPARATORS, ("primary-flow", "secondary-return"), level=2),
    _swap("separator-returns-exchanged", "source return and load return exchanged at a buffer or header",
          SEPARATORS, ("primary-return", "secondary-return"), level=3),
    _swap("store-load-side-swapped", "flow and return of the heating exchanged at a thermal store",
          ("thermal-store",), ("load-flow", "load-return"), level=2),
    _swap("store-source-side-swapped", "flow and return of the source exchanged at a thermal store",
          ("thermal-store",), ("source-flow", "source-return"), level=2),
    _swap("manifold-swapped", "flow and return exchanged at a manifold", ("underfloor-manifold",),
          ("flow-in", "return-out")),
    _swap("mixing-set-source-swapped", "flow and return exchanged on the source side of a mixing set",
          ("mixing-set",), ("source-flow", "source-return"), level=2),
    _swap("mixing-set-load-swapped", "flow and return exchanged on the load side of a mixing set",
          ("mixing-set",), ("load-flow", "load-return"), level=2),
    _swap("mixing-set-sides-exchanged", "source flow and load flow exchanged at a mixing set",
          ("mixing-set",), ("source-flow", "load-flow"), level=2),
    _swap("mixing-valve-hot-cold", "hot and cold exchanged at a mixing valve",
          ("thermostatic-mixing-valve", "heating-mixing-valve"), ("hot", "cold"), level=2, category="safety"),
    _swap("mixing-valve-turned", "hot inlet and outlet exchanged at a mixing valve",
          ("thermostatic-mixing-valve", "heating-mixing-valve"), ("hot", "mixed"), level=1),
    _swap("loading-valve-ports", "two inlets exchanged at a loading valve", ("loading-valve",), ("bypass", "cold"),
          level=3),
    _swap("loading-valve-turned", "inlet and outlet exchanged at a loading valve", ("loading-valve",),
          ("cold", "mixed"), level=2),
    _swap("diverter-outlets", "the two outlets of a diverter exchanged", ("diverter-valve",), ("a", "b"), level=3,
          category="control"),
    _swap("diverter-turned", "the inlet and an outlet of a diverter exchanged", ("diverter-valve",),
          ("common", "a"), ("common", "b"), level=2),
    _swap("cylinder-cold-hot", "cold inlet and hot outlet exchanged at a cylinder", STORES, ("cold-in", "hot-out"),
          level=2),
    _swap("inlet-group-ports", "cylinder and balanced outlets exchanged at an inlet group", ("inlet-control-group",),
          ("cylinder-out", "balanced-cold-out"), level=3, category="safety"),
    _swap("inlet-group-turned", "main and cylinder exchanged at an inlet group", ("inlet-control-group",),
          ("main-in", "cylinder-out"), level=1, category="safety"),
    _turn("pump-turned", "a pump the wrong way round", "pump", "wholesome-circulating-pump"),
    _turn("check-valve-turned", "a check valve the wrong way round", "check-valve"),
    _turn("double-check-turned", "a double check valve the wrong way round", "double-check-valve", category="safety"),
    _turn("reducer-turned", "a pressure reducer the wrong way round", "pressure-reducer", category="safety"),
    _turn("bypass-turned", "a bypass valve the wrong way round", "bypass-valve", level=3),
    _turn("flow-regulator-turned", "a flow regulator the wrong way round", "flow-regulator", level=3),
    _turn("filter-turned", "a filter the wrong way round", "magnetic-filter", "strainer", level=3),
    _turn("filling-loop-turned", "a filling loop the wrong way round", "filling-loop", a="supply-end", b="system-end",
          category="safety", level=3),
    _turn("tundish-turned", "a tundish upside down", "tundish", category="safety", level=1),
    _turn("collector-swapped", "a collector piped backwards", "solar-collector", level=3),
)  # fmt: skip
