"""What is known of an input to a calculation: its value, what was assumed for it, or what it needs."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

from schemagen.base.bad_input import BadInput
from schemagen.sizing.figure import Figure


@dataclass(frozen=True, slots=True)
class Known:
    """An input for `work`: a `value` in SI with what it `assumes`, or None with what it `needs`."""

    value: Any = None
    assumes: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return self.value is not None

    def but_assume(self, value: Any, text: str) -> "Known":
        """This, or where it is not known a value that is assumed, with the words that say so."""
        return self if self else Known(value, (text,))


def listed(part, key: str, what: str = "") -> Known:
    """The value of a part's attribute; where the list gives none, the key it needs."""
    value = part.value(key)
    return Known(value) if value is not None else Known(needs=(what or f"{key} of {part.tag}",))


def usual(part, key: str, text: str) -> Known:
    """The value of a part's attribute that has a usual value; `text` says so where the list does not give one."""
    return Known(part.value(key), () if key in part.texts else (text,))


def known_of(given: Any) -> Known:
    """Any input as Known: a figure passes on its assumptions and needs."""
    if isinstance(given, Known):
        return given
    if isinstance(given, Figure):
        return Known(given.value, given.assumptions, given.needs)
    return Known(given)


def first_known(*choices: Known) -> Known:
    """The first that has a value; else what the first one needs."""
    return next((c for c in choices if c), choices[0])


def work(calculation: Callable[..., Figure], *args: Any, **more: Any) -> Figure:
    """The figure of a calculation whose inputs may be Known or figures themselves.

    Assumptions of the inputs are those of the figure. Where an input is missing or of no use the figure is not
    available and names what it needs.
    """
    given, named = [known_of(a) for a in args], {name: known_of(a) for name, a in more.items()}
    inputs = [*given, *named.values()]
    assumed = unique(text for k in inputs for text in k.assumes)
    needs = unique(text for k in inputs for text in k.needs)
    if needs:
        return replace(calculation.about, needs=needs, assumptions=assumed)
    try:
        figure = calculation(*(k.value for k in given), **{name: k.value for name, k in named.items()})
    except BadInput as bad:
        return replace(calculation.about, needs=(f"another {bad.field}",), flags=(str(bad),), assumptions=assumed)
    return replace(figure, assumptions=unique((*figure.assumptions, *assumed)))


def attempt(make: Callable[..., Any], *args: Any) -> Known:
    """What `make` gives for inputs that may be Known; input that it refuses is a need, in its own words."""
    inputs = [known_of(a) for a in args]
    needs = unique(text for k in inputs for text in k.needs)
    if needs:
        return Known(needs=needs)
    try:
        return Known(make(*(k.value for k in inputs)), unique(text for k in inputs for text in k.assumes))
    except BadInput as bad:
        return Known(needs=(str(bad),))


def unique(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))


def once(make: Callable[[Any], Any], key: str) -> Callable[[Any], Any]:
    """`make` worked out once for each thing, told apart by its attribute `key`."""
    made: dict[Any, Any] = {}

    def remembered(thing: Any) -> Any:
        name = getattr(thing, key)
        if name not in made:
            made[name] = make(thing)
        return made[name]

    return remembered
