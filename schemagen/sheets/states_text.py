"""The operating states for a terminal and for another program: a table of positions, and the account of each state."""

from collections.abc import Sequence
from textwrap import wrap
from typing import Any

from schemagen.operation.account import account_of, stands
from schemagen.operation.operate import Operation
from schemagen.operation.states import State
from schemagen.operation.ways import in_words

WIDTH = 110
"""Most characters on a line."""

COLUMNS = 16
"""Most states side by side in the table."""

SAME = "·"
"""Stands for the same position as when nothing calls."""

READING = "Ways: → in a row; [a | b] side by side. In the table · is the position when nothing calls."


def as_json(source: str, operation: Operation) -> dict[str, Any]:
    """The document that `states --format json` prints."""
    return {"list": source, "states": [_document(operation, state) for state in operation.states]}


def _document(operation: Operation, state: State) -> dict[str, Any]:
    flow, account = operation.flow(state), account_of(operation, state)
    return {
        "name": state.name,
        "sort": state.sort,
        "calling": list(state.calling),
        "alike": list(state.alike),
        "positions": stands(operation, state),
        "pumps": list(state.pumps_on),
        "sources": list(state.sources_on),
        "outlets": list(state.outlets_open),
        "pipes": [
            {
                "from": str(pipe.start),
                "to": str(pipe.end),
                "moves": _MOVES[flow.direction(pipe)],
                "uncertain": flow.uncertain(pipe),
            }
            for pipe in operation.network.pipes
        ],
        "ways": [in_words(way) for way in account.ways],
        "account": list(account.sentences),
    }


_MOVES = {1: "forward", -1: "backward", 0: "still"}


def as_text(operation: Operation) -> str:
    """For reading: the account of each state by its number, then the table of what differs from state to state."""
    lines: list[str] = []
    for number, state in enumerate(operation.states, 1):
        account = account_of(operation, state)
        lines += [f"{number:3}  {account.title}"]
        lines += wrap(" ".join(account.sentences), WIDTH, initial_indent=" " * 5, subsequent_indent=" " * 5)
        lines.append("")
    lines += _table(operation)
    return "\n".join((*lines, READING)) + "\n"


def _table(operation: Operation) -> list[str]:
    """Parts down, states across; only parts that do not stand alike in all states."""
    states = operation.states
    seen = [stands(operation, state) for state in states]
    rest = next(s for s, state in zip(seen, states, strict=True) if state.sort == "no-calls")
    tags = [t for t in operation.network.parts if len({positions.get(t, "") for positions in seen}) > 1]
    lines = []
    for first in range(0, len(states), COLUMNS):
        some = range(first, min(first + COLUMNS, len(states)))
        head = ["part", "at rest", *(str(n + 1) for n in some)]
        rows = [[t, rest.get(t, ""), *(_cell(seen[n].get(t, ""), rest.get(t, "")) for n in some)] for t in tags]
        moving = ["pipes", "", *(str(_moving(operation, states[n])) for n in some)]
        lines += [*_aligned([head, *rows, moving]), ""]
    return lines


def _cell(word: str, rest: str) -> str:
    return SAME if word == rest else word


def _moving(operation: Operation, state: State) -> int:
    """In how many pipes water moves."""
    flow = operation.flow(state)
    return sum(flow.moves(pipe) for pipe in operation.network.pipes)


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[n]) for row in rows) for n in range(len(rows[0]))]
    return ["  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in rows]
