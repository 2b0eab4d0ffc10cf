"""What a list says of its parts and pipes, as inputs for calculations: with defaults named and gaps named."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property

from schemagen.base.units import show
from schemagen.network.media import in_words
from schemagen.network.network import Network, Part, Pipe, PortId
from schemagen.network.waters import Waters
from schemagen.operation.operate import Operation
from schemagen.parts.kind import Passage
from schemagen.sizing.glycol import Liquid
from schemagen.sizing.known import Known, attempt, first_known, listed, once, usual
from schemagen.sizing.pipes import COPPER, MULTILAYER, PLASTIC, STEEL, find_pipe, pipe_sizes

PRACTICE = "common practice, no source"
ROOM_C, COLD_C = 20.0, 10.0
HEAT_PUMPS = ("air-heat-pump", "ground-heat-pump", "heat-pump-indoor-unit")
FIRES = ("solid-fuel-stove", "wood-boiler")
HEATED = ("heating-water", "antifreeze-mix", "ground-brine")

MIXERS = {
    "mixing-set": ("source-flow", "load-return", "load-flow"),
    "heating-mixing-valve": ("hot", "cold", "mixed"),
    "four-port-mixing-valve": ("source-flow", "load-return", "load-flow"),
    "thermostatic-mixing-valve": ("hot", "cold", "mixed"),
}
"""Parts that mix hot and cooler water to a setting: the openings for hot, cold and mixed."""

_MEAN = Known(40.0, ("liquid at 40 °C on the mean of flow and return",))
_FLUID_KEYS = {
    "antifreeze-mix": ("solar-fluid", "antifreeze-mix", "antifreeze"),
    "ground-brine": ("ground-brine", "brine"),
}
_MATERIALS = {"pex": "pe-x", "pe-xa": "pe-x", "pe-rt": "pe-x", "mlcp": MULTILAYER, "plastics": PLASTIC}


@dataclass(frozen=True, slots=True)
class Run:
    """Pipes in a row, from one opening to another."""

    pipes: tuple[Pipe, ...]
    start: PortId
    end: PortId

    @property
    def name(self) -> str:
        return f"{self.start}→{self.end}"

    @property
    def indices(self) -> tuple[int, ...]:
        return tuple(p.index for p in self.pipes)


class Plant:
    """A network with its waters and states, asked for values."""

    def __init__(self, network: Network, waters: Waters, operation: Operation) -> None:
        self.network, self.waters, self.operation = network, waters, operation
        self.difference = once(self._difference, "tag")
        self.pipe_size = once(self._pipe_size, "index")
        self.fluid = cache(self._fluid)

    # bodies of water

    def body_at(self, tag: str, *ports: str) -> int | None:
        """The body of water at the first of a part's openings that is piped."""
        at = (p for name in ports for p in self.network.pipes_at.get(PortId(tag, name), ()))
        return next((self.waters.body[p.index] for p in at), None)

    @cached_property
    def bodies(self) -> dict[int, list[Pipe]]:
        """The pipes of each body of water, in the order of the list."""
        found: dict[int, list[Pipe]] = {}
        for pipe in self.network.pipes:
            found.setdefault(self.waters.body[pipe.index], []).append(pipe)
        return found

    @cached_property
    def parts_in(self) -> dict[int, list[Part]]:
        """The parts that a pipe of each body reaches, in the order of the list."""
        tags = {b: {end.tag for p in pipes for end in (p.start, p.end)} for b, pipes in self.bodies.items()}
        return {b: [part for part in self.network.parts.values() if part.tag in here] for b, here in tags.items()}

    @cached_property
    def heating_bodies(self) -> tuple[int, ...]:
        """Bodies of heating water, antifreeze or brine with something that gives or takes heat in them."""
        return tuple(
            b for b, pipes in self.bodies.items()
            if any(self.waters.medium[p.index] in HEATED for p in pipes)
            and any(p.kind.giver or p.kind.taker or p.kind.separates for p in self.parts_in[b])
        )  # fmt: skip

    def body_name(self, body: int) -> str:
        """A body of water by what is in it: "heating water at HP1"."""
        medium = next((m for p in self.bodies[body] if (m := self.waters.medium[p.index])), "water")
        own = [
            *self.sources(body),
            *(p for p in self.parts_in[body] if p.kind.separates or p.kind.store or p.kind.taker),
        ]
        return f"{in_words(medium)} at {(own or self.parts_in[body])[0].tag}"

    def liquid(self, body: int) -> Known:
        """The liquid in a body of water; heating water of which nothing is said is water."""
        medium = next((m for p in self.bodies[body] if (m := self.waters.medium[p.index])), "")
        keys = _FLUID_KEYS.get(medium, (medium,))
        share = next(
            (self.network.fluids[k]["antifreeze"] for k in keys if "antifreeze" in self.network.fluids.get(k, {})), None
        )
        if medium in _FLUID_KEYS and not share:
            return Known(needs=(f"share of antifreeze in the {in_words(medium)}",))
        if share:
            return Known(Liquid("propylene", share), ("antifreeze is propylene glycol",))
        said = any(k in self.network.fluids for k in keys) or medium not in HEATED
        return Known(Liquid(), () if said else ("water without antifreeze",))

    def _fluid(self, body: int) -> Known:
        """Density, heat and viscosity of a body's liquid, at the mean of flow and return of its source."""
        source = next(iter(self.sources(body)), None)
        if source is None:
            return attempt(lambda liquid, t: liquid.at(t), self.liquid(body), _MEAN)
        mean = attempt(lambda t, d: t - d / 2, self.flow_c(source), self.difference(source))
        return attempt(lambda liquid, t: liquid.at(t), self.liquid(body), mean if mean else _MEAN)

    # sources

    @cached_property
    def source_tags(self) -> dict[str, None]:
        found = (p for p in self.network.parts.values() if p.kind.giver and p.kind.gives)
        return {part.tag: None for part in found if part.kind.name != "ground-loop"}

    def sources(self, body: int | None) -> Iterator[Part]:
        """The heat sources that give their heat to a body of water."""
        return iter(self._sources_in.get(body, ()))

    @cached_property
    def _sources_in(self) -> dict[int | None, list[Part]]:
        found: dict[int | None, list[Part]] = {}
        for part in (self.network.parts[t] for t in self.source_tags):
            body = self.body_at(part.tag, *part.kind.gives)
            if body is not None:
                found.setdefault(body, []).append(part)
        return found

    def source_of(self, part: Part) -> Part | None:
        """The first source in the water that a part takes heat from."""
        return next(iter(self.sources(self.body_at(part.tag, *(part.kind.takes or part.kind.ports)))), None)

    def source_of_way(self, part: Part, port: str) -> Part | None:
        """The first source in the water at one opening of a part, itself left aside."""
        return next((s for s in self.sources(self.body_at(part.tag, port)) if s.tag != part.tag), None)

    def flow_c(self, source: Part) -> Known:
        """Flow temperature [°C] of a source in heating."""
        return listed(source, "flow-temperature")

    def highest_c(self, source: Part) -> Known:
        """Highest flow temperature [°C] that a source gives."""
        return first_known(listed(source, "max-flow"), listed(source, "flow-temperature", f"max-flow of {source.tag}"))

    def _difference(self, part: Part) -> Known:
        """Design difference between flow and return [K] of a source or a taker."""
        own = listed(part, "temperature-difference")
        if own:
            return own
        kind = part.kind.name
        if kind.startswith("underfloor") or part.value("emitters") == "underfloor":
            return Known(5.0, (f"difference of 5 K for underfloor heating ({PRACTICE})",))
        if kind in HEAT_PUMPS:
            return Known(5.0, (f"difference of 5 K at {part.tag}, a heat pump ({PRACTICE})",))
        if part.kind.giver:
            return own.but_assume(20.0, f"difference of 20 K at {part.tag} ({PRACTICE})")
        source = self.source_of(part)
        if source is None or source.kind.name == "heat-interface-unit":
            return own.but_assume(10.0, f"difference of 10 K at {part.tag} ({PRACTICE})")
        return self.difference(source)

    # pipes

    def _pipe_size(self, pipe: Pipe) -> Known:
        """The real pipe behind a listed size. Without a material: copper where it has the size, else by the size."""
        if not pipe.size_text:
            return Known(needs=(f"size of {pipe.name}",))
        text = str(pipe.values.get("material", "")).strip().casefold()
        size = pipe.size_text.strip().strip('"').removesuffix(" in").removesuffix(" inch").removeprefix("G ")
        if text:
            found = next((m for m in (COPPER, STEEL, MULTILAYER, "pe-x") if m in text), _MATERIALS.get(text, text))
            return attempt(lambda: find_pipe(size, found))
        for material in (COPPER, STEEL, MULTILAYER, "pe-x"):
            found = attempt(lambda m=material: find_pipe(size, m))
            if found:
                source = pipe_sizes(material)[0].source
                bore = show(found.value.bore_m, "mm")
                return Known(found.value, (f"{pipe.size_text} is {material} pipe, bore {bore} ({source})",))
        return Known(needs=(f"material of the pipe {pipe.size_text}",))

    def length(self, pipe: Pipe) -> Known:
        length = pipe.values.get("length")
        return Known(length) if length is not None else Known(needs=(f"length of {pipe.name}",))

    @cached_property
    def runs(self) -> tuple["Run", ...]:
        """Pipes of one size in which water ever moves, in a row through parts that neither branch nor heat nor cool."""
        taken: set[int] = set()
        found = []
        for pipe in self.network.pipes:
            if pipe.index not in taken and self.waters.carries[pipe.index]:
                taken.add(pipe.index)
                before, start = self._onward(pipe, pipe.start, taken)
                after, end = self._onward(pipe, pipe.end, taken)
                found.append(Run((*before[::-1], pipe, *after), start, end))
        return tuple(found)

    def _onward(self, pipe: Pipe, port: PortId, taken: set[int]) -> tuple[list[Pipe], PortId]:
        """The pipes that go on from an end of a pipe, and where the last of them ends."""
        run: list[Pipe] = []
        here = pipe
        while (following := self._next(here, port)) and following.index not in taken:
            taken.add(following.index)
            run.append(following)
            port, here = self.network.far_end(following, self._across(port)), following
        return run, port

    def _across(self, port: PortId) -> PortId | None:
        """The other opening of a part with two that are piped, if water passes straight between them."""
        part = self.network.parts[port.tag]
        if part.kind.giver or part.kind.taker or part.kind.store or part.kind.separates or part.kind.family == "ends":
            return None
        ports = [p for n in part.kind.ports if self._carries(p := PortId(port.tag, n))]
        if port not in ports or len(ports) != 2:
            return None
        ends = {p.port for p in ports}
        if not any(ends == {p.a, p.b} for p in part.kind.passages if p.sort in ("both", "one-way")):
            return None
        return ports[1] if ports[0] == port else ports[0]

    def _carries(self, port: PortId) -> bool:
        return any(self.waters.carries[p.index] for p in self.network.pipes_at.get(port, ()))

    def _next(self, pipe: Pipe, port: PortId) -> Pipe | None:
        across = self._across(port)
        at = self.network.pipes_at.get(across, ()) if across else ()
        return at[0] if len(at) == 1 and _alike(at[0], pipe) else None

    # controls

    def room_c(self, part: Part) -> Known:
        """Room temperature [°C] by the thermostat of the part's room."""
        room = part.value("room", "")
        for other in self.network.parts.values():
            if other.kind.name == "room-thermostat" and room and other.value("room") == room and other.value("setting"):
                return Known(other.value("setting"))
        return Known(ROOM_C, (f"rooms at {ROOM_C:g} °C ({PRACTICE})",))

    @property
    def cold_c(self) -> Known:
        return Known(COLD_C, (f"cold water at {COLD_C:g} °C ({PRACTICE})",))

    def store_c(self, store: Part) -> Known:
        """Temperature [°C] at which a store of hot water is kept: its own setting, or its thermostat's."""
        own = listed(store, "setting")
        if own:
            return own
        for tag in self.network.mounted_on.get(store.tag, ()):
            other = self.network.parts[tag]
            if other.kind.name in ("cylinder-thermostat", "store-thermostat") and other.value("setting") is not None:
                return Known(other.value("setting"))
        return own

    def immersion_w(self, store: Part) -> Known | None:
        """Power [W] of the immersion heaters in a store; None without one."""
        mounted = (self.network.parts[t] for t in self.network.mounted_on.get(store.tag, ()))
        powers = [usual(h, "power", f"{h.tag} has 3 kW") for h in mounted if h.kind.name == "immersion-heater"]
        return Known(sum(k.value for k in powers), tuple(t for k in powers for t in k.assumes)) if powers else None

    @cached_property
    def stores(self) -> tuple[Part, ...]:
        """Stores of drinking water."""
        return tuple(p for p in self.network.parts.values() if p.kind.store == "wholesome")


def taking(part: Part) -> Iterator[Passage]:
    """The ways inside a part on which it takes heat from its water."""
    return (p for p in part.kind.passages if p.a in part.kind.takes and p.b in part.kind.takes and p.sort != "heat")


def giving(part: Part) -> Iterator[Passage]:
    """The ways inside a source on which it gives heat to its water."""
    return (p for p in part.kind.passages if p.a in part.kind.gives and p.b in part.kind.gives and p.sort != "heat")


def _alike(a: Pipe, b: Pipe) -> bool:
    return (a.size_text, a.values.get("material")) == (b.size_text, b.values.get("material"))
