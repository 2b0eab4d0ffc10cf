"""The changes for a terminal and for another program."""

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import Any

from schemagen.base.finding import Finding
from schemagen.changes.changes import Changes, PartChange, PipeChange
from schemagen.changes.signs import SIGNS
from schemagen.changes.values import Value
from schemagen.changes.words import counts_of, finding_words, said_of, said_of_value, state_words
from schemagen.drawing.words import counted
from schemagen.network.network import Network

WIDTH = 110
"""Most characters on a line."""


def as_text(changes: Changes) -> str:
    """A numbered line for each change, then what the sheet says otherwise, then the findings that came or went."""
    lines = []
    for number, change in enumerate(changes.rows, 1):
        lines += _set(f"{number:3} {SIGNS[change.sort]} ", said_of(changes, change))
    for heading, rows in _chapters(changes):
        lines += ["", heading] if lines else [heading]
        for row in rows:
            lines += _set("    ", row)
    stayed = f"; {counted(len(changes.stayed), 'finding')} stayed" if changes.stayed else ""
    return "\n".join([*lines, *([""] if lines else []), counts_of(changes) + stayed]) + "\n"


def _chapters(changes: Changes) -> Iterator[tuple[str, Sequence[str]]]:
    for heading, rows in (
        ("on the sheet", [said_of_value(value) for value in changes.sheet]),
        ("operating states", [state_words(change) for change in changes.states]),
        ("findings that came", [finding_words(finding) for finding in changes.came]),
        ("findings that went", [finding_words(finding) for finding in changes.went]),
    ):
        if rows:
            yield heading, rows


def _set(head: str, text: str) -> list[str]:
    return wrap(text, WIDTH, initial_indent=head, subsequent_indent=" " * len(head))


def as_json(old: str, new: str, changes: Changes) -> dict[str, Any]:
    """The document that `compare --format json` prints. `old` and `new` are the names of the lists."""
    return {
        "old": old,
        "new": new,
        "sheet": _values(changes.sheet),
        "changes": [_change(changes, number, change) for number, change in enumerate(changes.rows, 1)],
        "states": [
            {"change": change.sort, "name": change.name, "positions": _values(change.values)}
            for change in changes.states
        ],
        "findings": {
            "came": [_finding(finding) for finding in changes.came],
            "went": [_finding(finding) for finding in changes.went],
            "stayed": [_finding(finding) for finding in changes.stayed],
        },
    }


def _change(changes: Changes, number: int, change: PartChange | PipeChange) -> dict[str, Any]:
    of_part = isinstance(change, PartChange)
    pipes = {"old": change.pipes if change.old else (), "new": change.pipes if change.new else ()} if of_part else {}
    return {
        "number": number,
        "what": "part" if of_part else "pipe",
        "change": change.sort,
        "old": change.old or None if of_part else None,
        "new": change.new or None if of_part else None,
        "values": _values(change.values),
        "old pipes": _pairs(changes.old.network, pipes["old"] if of_part else change.old),
        "new pipes": _pairs(changes.new.network, pipes["new"] if of_part else change.new),
        "text": said_of(changes, change),
    }


def _pairs(network: Network, pipes: Sequence[int]) -> list[list[str]]:
    return [list(network.pipes[i].pair) for i in pipes]


def _values(values: Sequence[Value]) -> list[dict[str, str]]:
    return [{"key": value.key, "old": value.old, "new": value.new} for value in values]


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "check": finding.check,
        "severity": finding.severity,
        "message": finding.message,
        "parts": list(finding.parts),
        "pipes": [list(pair) for pair in finding.pipes],
        "accepted": finding.accepted,
    }
