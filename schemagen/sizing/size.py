"""size(network, waters, operation) -> Sizes: every figure that the data of a list allow, and what the others need."""

from schemagen.network.network import Network
from schemagen.network.waters import Waters
from schemagen.operation.operate import Operation
from schemagen.sizing.design import Design
from schemagen.sizing.of_emitters import emitter_sizes
from schemagen.sizing.of_flows import flow_sizes, state_flows, states, temperature_sizes
from schemagen.sizing.of_heat import buffer_sizes, source_sizes
from schemagen.sizing.of_hot_water import hot_water_sizes, hygiene_sizes
from schemagen.sizing.of_pipes import pipe_sizes, pump_sizes
from schemagen.sizing.of_water import water_sizes
from schemagen.sizing.plant import Plant
from schemagen.sizing.sizes import TOPICS, Size, Sizes

_MAKERS = (
    flow_sizes,
    temperature_sizes,
    pipe_sizes,
    pump_sizes,
    source_sizes,
    buffer_sizes,
    emitter_sizes,
    water_sizes,
    hot_water_sizes,
    hygiene_sizes,
)


def size(network: Network, waters: Waters, operation: Operation) -> Sizes:
    """All figures of any network, faulty ones included, in the order of TOPICS and then of the list."""
    return sizes_of(Design(Plant(network, waters, operation)))


def sizes_of(design: Design) -> Sizes:
    """The same of a design that is made already."""
    found: list[Size] = [s for make in _MAKERS for s in make(design)]
    order = {topic: n for n, topic in enumerate(TOPICS)}
    ordered = sorted(found, key=lambda s: order[s.topic])
    return Sizes(tuple(ordered), {s.state.name: state_flows(s) for s in states(design)})
