"""Values of parts, pipes and the sheet in two networks, compared by what they mean and shown as they were written."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from schemagen.base.units import figures, show
from schemagen.network.network import Network, Part, Pipe, PortId
from schemagen.network.pipe_fields import PIPE_ATTRIBUTES

HANGING = "at"
"""Where a part hangs on a pipe: its pipes tell this."""

NOT_SYSTEM = ("revisions",)
"""Keys of the sheet that are about the paper only."""

_FLUID_UNITS = {"content": "L", "antifreeze": "%"}

_NEARLY = 1e-9


@dataclass(frozen=True, slots=True)
class Value:
    """One value before and after, as text; "" where there is none."""

    key: str
    old: str
    new: str


def part_values(old: Part, new: Part, tags: Mapping[str, str]) -> tuple[Value, ...]:
    """The values that differ, its kind first. References to parts that were renamed are the same."""
    out = [] if old.kind.name == new.kind.name else [Value("kind", old.kind.title, new.kind.title)]
    for key in sorted({*old.texts, *new.texts} - {HANGING}):
        before, after = old.texts.get(key, ""), new.texts.get(key, "")
        if not _alike(_renamed(old.values.get(key), tags), new.values.get(key)) and before != after:
            out.append(Value(key, before or _as_text(old.values.get(key)), after or _as_text(new.values.get(key))))
    return tuple(out)


def _renamed(value: Any, tags: Mapping[str, str]) -> Any:
    """A reference to parts under their new tags; other values as they are."""
    if isinstance(value, PortId):
        return PortId(tags.get(value.tag, value.tag), value.port)
    if isinstance(value, tuple):
        return tuple(_renamed(item, tags) for item in value)
    return tags.get(value, value) if isinstance(value, str) else value


def _alike(a: Any, b: Any) -> bool:
    if isinstance(a, float) and isinstance(b, float):
        return abs(a - b) <= _NEARLY * max(abs(a), abs(b))
    return a == b


def _as_text(value: Any) -> str:
    """A value that the list leaves to its kind."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(_as_text(item) for item in value)
    return "" if value is None or isinstance(value, (float, Mapping)) else str(value)


def pipe_values(old: Network, new: Network, ways: tuple[Sequence[int], Sequence[int]]) -> tuple[Value, ...]:
    """What differs between pipes of the old and pipes of the new network that are the same way.

    A run's length is that of the whole line of the list: putting a valve in does not change it.
    """
    out = []
    for key in PIPE_ATTRIBUTES:
        a, b = (_of_pipes(network, way, key) for network, way in zip((old, new), ways, strict=True))
        if a.keys() != b.keys():
            out.append(Value(key, " and ".join(a.values()), " and ".join(b.values())))
    return tuple(out)


def _of_pipes(network: Network, way: Iterable[int], key: str) -> dict[Any, str]:
    """What pipes say under a key: meaning and text of each value once, in the order of the texts."""
    pipes = (network.pipes[i] for i in way)
    texts = {text: (pipe.size if key == "size" else text) for pipe in pipes if (text := _of_pipe(network, pipe, key))}
    return {texts[text]: text for text in sorted(texts)}


def _of_pipe(network: Network, pipe: Pipe, key: str) -> str:
    if key == "length":
        whole = sum(p.values.get(key, 0.0) for p in network.pipes if p.line == pipe.line)
        return _shown(key, whole) if whole else ""
    if key not in pipe.values:
        return ""
    if key == "size":
        return pipe.size_text
    if key == "medium":
        return pipe.medium.replace("-", " ")
    return _shown(key, pipe.values[key])


def _shown(key: str, value: Any) -> str:
    unit = PIPE_ATTRIBUTES[key].unit
    match value:
        case bool():
            return "yes" if value else "no"
        case float() if PIPE_ATTRIBUTES[key].dimension == "ratio":
            return f"1:{figures(1 / value)}" if value else "0"
        case float() if unit:
            return show(value, unit)
        case float() | int():
            return figures(value)
        case tuple():
            return ", ".join(_shown(key, item) for item in value)
    return str(value)


def sheet_values(old: Network, new: Network) -> tuple[Value, ...]:
    """Data of the sheet, then of the fluids, that differ; what the list says under each key."""
    texts = [_said(network) for network in (old, new)]
    pairs = [(key, *(text.get(key, "") for text in texts)) for key in sorted({*texts[0], *texts[1]})]
    return tuple(Value(key, before, after) for key, before, after in pairs if before != after)


def _said(network: Network) -> dict[str, str]:
    said = {key: text for key, text in network.sheet.items() if key not in NOT_SYSTEM}
    for name, values in network.fluids.items():
        for key, value in values.items():
            unit = _FLUID_UNITS.get(key, "")
            said[f"{name}, {key}"] = show(value, unit) if unit else _as_text(value)
    return said
