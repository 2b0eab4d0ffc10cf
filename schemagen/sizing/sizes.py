"""Sizes: all figures of one network, each with its topic, its place and the state in which it holds."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from schemagen.sizing.figure import Figure

TOPICS = {
    "flow": "Design flows",
    "temperature": "Temperatures",
    "pipe": "Pipes",
    "pump": "Pumps",
    "source": "Heat sources",
    "buffer": "Buffers and cycling",
    "emitter": "Emitters",
    "balancing": "Balancing",
    "content": "Water content",
    "expansion": "Expansion and pressure",
    "relief": "Relief and discharge",
    "hot-water": "Hot water",
    "hygiene": "Hygiene temperatures",
}
"""Topics in the order in which they are printed, with their headings."""


@dataclass(frozen=True, slots=True)
class Size:
    """One figure at one place. `subject` is a tag, a run of pipe "A.b→C.d", or a body of water by one of its parts.

    `state` is the operating state it belongs to, "" if it holds in all. `pipes` are the indices of the pipes of a run.
    """

    topic: str
    subject: str
    figure: Figure
    state: str = ""
    pipes: tuple[int, ...] = ()


@dataclass(frozen=True)
class StateFlows:
    """Where flow and temperature of the pipes are known in one state, by the index of the pipe.

    Flows [m³/s] are positive as listed; temperatures [°C]. `undetermined` are moving pipes whose flow the data leave
    open, each with the reason.
    """

    flow_m3s: Mapping[int, float] = field(default_factory=dict)
    temperature_c: Mapping[int, float] = field(default_factory=dict)
    undetermined: Mapping[int, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Sizes:
    """All figures, topic by topic, and the flows of each state by its name."""

    sizes: tuple[Size, ...]
    states: Mapping[str, StateFlows] = field(default_factory=dict)

    def of(self, topic: str = "", subject: str = "", name: str = "", state: str | None = None) -> Iterator[Size]:
        """The sizes of a topic, at a place, with a figure of that name, in a state; "" and None stand for any."""
        return (
            s
            for s in self.sizes
            if topic in ("", s.topic)
            and subject in ("", s.subject)
            and name in ("", s.figure.name)
            and state in (None, s.state)
        )

    def about(self, item: str) -> tuple[Size, ...]:
        """The sizes that a reader means by `item`: a tag, a run, a topic or a figure's name, in any letter case."""
        wanted = item.strip().casefold()
        exact = tuple(s for s in self.sizes if wanted in (s.subject.casefold(), s.topic, s.figure.name.casefold()))
        return exact or tuple(s for s in self.sizes if wanted and wanted in f"{s.subject} {s.figure.name}".casefold())

    @property
    def assumptions(self) -> tuple[str, ...]:
        """Every default that some figure uses, once."""
        return tuple(dict.fromkeys(text for s in self.sizes for text in s.figure.assumptions))
