"""The figures for a terminal, for a table program and for another program."""

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import groupby
from textwrap import wrap
from typing import Any

from schemagen.network.network import Network
from schemagen.sizing.figure import Figure, with_unit
from schemagen.sizing.sizes import TOPICS, Size, Sizes

WIDTH = 110
"""Most characters on a line of running text."""

CSV_COLUMNS = (
    "topic", "place", "state", "figure", "value", "unit", "shown", "shown unit",
    "formula", "with numbers", "assumptions", "flags", "notes", "needs", "source",
)  # fmt: skip

CAUTION = (
    "Figures help to plan and to check; they replace neither the makers' instructions and local codes nor the "
    "judgement of those licensed for work on pressure, hot water, gas, refrigerant and electricity."
)


def only(sizes: Sizes, chosen: tuple[Size, ...]) -> Sizes:
    """The same with some of the figures only."""
    return replace(sizes, sizes=chosen)


# text


def as_text(sizes: Sizes) -> str:
    """A table for each topic, flags below their figure, then what was assumed."""
    lines: list[str] = []
    for topic, group in groupby(sizes.sizes, key=lambda s: s.topic):
        lines += [TOPICS[topic], "=" * len(TOPICS[topic]), *_table(list(group)), ""]
    if not lines:
        lines = ["no figures: the list has neither water that moves nor parts with figures", ""]
    if sizes.assumptions:
        lines += ["Assumed", "=======", *(line for text in sizes.assumptions for line in _bullet("-", text)), ""]
    return "\n".join([*lines, *wrap(CAUTION, WIDTH)]) + "\n"


def _table(group: list[Size]) -> Iterator[str]:
    """Rows of place, figure and value, state by state; what is not available is gathered below."""
    order = {state: n for n, state in enumerate(dict.fromkeys(("", *(s.state for s in group))))}
    known = sorted((s for s in group if s.figure.value is not None), key=lambda s: order[s.state])
    places = [max((len(s.subject) for s in known), default=0), max((len(s.figure.name) for s in known), default=0)]
    for state, rows in groupby(known, key=lambda s: s.state):
        if state:
            yield f"  in: {state}"
        for s in rows:
            yield f"  {s.subject:<{places[0]}}  {s.figure.name:<{places[1]}}  {s.figure.text}"
            for flag in s.figure.flags:
                yield from _bullet("    !", flag)
            for note in s.figure.notes:
                yield from _bullet("    ·", note)
    yield from _missing([s for s in group if s.figure.value is None])


def _missing(group: list[Size]) -> Iterator[str]:
    """What is not available, alike needs told once, with the flags of input that is of no use."""
    by_needs: dict[tuple[tuple[str, ...], tuple[str, ...]], dict[str, None]] = {}
    for s in group:
        by_needs.setdefault((s.figure.needs, s.figure.flags), {})[f"{s.figure.name} at {s.subject}"] = None
    for (needs, flags), things in by_needs.items():
        named = [*things]
        shown = ", ".join(named[:4]) + (f" and {len(named) - 4} more" if len(named) > 4 else "")
        yield from _bullet("  not available:", f"{shown}; needs {', '.join(needs)}")
        for flag in flags:
            yield from _bullet("    !", flag)


def _bullet(mark: str, text: str) -> list[str]:
    lines = wrap(text, WIDTH - len(mark) - 1, break_long_words=False, break_on_hyphens=False) or [""]
    pad = " " * (len(mark) - len(mark.lstrip()) + 2)
    return [f"{mark} {lines[0]}", *(f"{pad}{line}" for line in lines[1:])]


def reasons(sizes: Sizes) -> str:
    """For each figure its formula, the same with the numbers put in, inputs, assumptions and source."""
    return "\n".join(line for s in sizes.sizes for line in (*_reason(s), ""))


def _reason(s: Size) -> Iterator[str]:
    figure = s.figure
    yield f"{s.subject}: {figure.name}{f', {s.state}' if s.state else ''}: {figure.text}"
    if figure.value is not None:
        yield f"  {figure.why}"
    for given in figure.inputs:
        yield f"    {given.symbol} = {with_unit(given.value, given.unit)}"
    for word, texts in (("assumed", figure.assumptions), ("look", figure.flags), ("note", figure.notes)):
        for text in texts:
            yield from _bullet(f"  {word}:", text)
    if figure.source:
        yield f"  source: {figure.source}"


# other programs


def as_json(source: str, network: Network, sizes: Sizes) -> dict[str, Any]:
    """The document that `sizes --format json` prints; values in SI, flows and temperatures of pipes by state."""
    return {
        "list": source,
        "sizes": [_document(s, network) for s in sizes.sizes],
        "states": [
            {
                "name": name,
                "pipes": [
                    {
                        "pipe": list(pipe.pair),
                        "flow_m3s": flows.flow_m3s.get(pipe.index),
                        "temperature_c": flows.temperature_c.get(pipe.index),
                        "open": flows.undetermined.get(pipe.index),
                    }
                    for pipe in network.pipes
                    if pipe.index in flows.flow_m3s or pipe.index in flows.undetermined
                ],
            }
            for name, flows in sizes.states.items()
        ],
        "assumptions": list(sizes.assumptions),
    }


def _document(s: Size, network: Network) -> dict[str, Any]:
    figure = s.figure
    return {
        "topic": s.topic,
        "place": s.subject,
        "pipes": [list(network.pipes[i].pair) for i in s.pipes],
        "state": s.state,
        "figure": figure.name,
        "value": figure.value,
        "unit": figure.unit,
        "text": figure.text,
        "formula": figure.formula,
        "working": figure.working,
        "inputs": [{"symbol": g.symbol, "value": g.value, "unit": g.unit} for g in figure.inputs],
        "assumptions": list(figure.assumptions),
        "flags": list(figure.flags),
        "notes": list(figure.notes),
        "needs": list(figure.needs),
        "source": figure.source,
    }


def as_csv(sizes: Sizes) -> str:
    """One row a figure, with the columns CSV_COLUMNS; several texts in one field are joined by "; "."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(CSV_COLUMNS)
    writer.writerows(_row(s) for s in sizes.sizes)
    return out.getvalue()


def _row(s: Size) -> Iterable[str]:
    f: Figure = s.figure
    missing = f.value is None
    yield from (s.topic, s.subject, s.state, f.name)
    yield from ("" if missing else repr(f.value), f.unit)
    yield from ("" if missing else repr(f.shown()), f.shown_in or f.unit)
    yield from (f.formula, f.working)
    yield from ("; ".join(texts) for texts in (f.assumptions, f.flags, f.notes, f.needs))
    yield f.source
