"""Operating states that two versions do not share, and parts that stand otherwise in one that they do share."""

from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass

from schemagen.changes.values import Value
from schemagen.operation.states import State


@dataclass(frozen=True, slots=True)
class StateChange:
    """A state that was added, removed or changed; `values` are the positions of parts that are in both versions."""

    sort: str
    name: str
    values: tuple[Value, ...] = ()


def states_between(old: Iterable[State], new: Iterable[State], tags: Mapping[str, str]) -> tuple[StateChange, ...]:
    """Changed states, then added and removed ones. A state is known by what calls, else by its name."""
    known_new = {tag: tag for tag in tags.values()}
    pairs: list[tuple[State, State]] = []
    before, after = list(old), list(new)
    for key_old, key_new in ((_calls(tags), _calls(known_new)), (_name, _name)):
        found = {key_old(state): state for state in before}
        met = [(found[key_new(state)], state) for state in after if key_new(state) in found]
        pairs += met
        before = [state for state in before if all(state is not a for a, _ in met)]
        after = [state for state in after if all(state is not b for _, b in met)]
    changed = [StateChange("changed", b.name, values) for a, b in pairs if (values := _moved(a, b, tags))]
    added = (StateChange("added", state.name) for state in after)
    removed = (StateChange("removed", state.name) for state in before)
    return (*changed, *added, *removed)


def _calls(tags: Mapping[str, str]) -> Callable[[State], Hashable]:
    """What calls and what runs out in a state, under the tags of the new version."""

    def key(state: State) -> Hashable:
        some = (frozenset(tags.get(tag, f" {tag}") for tag in of) for of in (state.calling, state.outlets_open))
        return state.sort, *some, state.name if state.sort == "named" else ""

    return key


def _name(state: State) -> Hashable:
    return state.sort, state.name


def _moved(old: State, new: State, tags: Mapping[str, str]) -> tuple[Value, ...]:
    both = [
        (tags[tag], position, new.positions.get(tags[tag], ""))
        for tag, position in old.positions.items()
        if tag in tags
    ]
    return tuple(Value(tag, before, after) for tag, before, after in sorted(both) if before != after and after)
