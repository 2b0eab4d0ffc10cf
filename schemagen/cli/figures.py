"""Verbs that print what was worked out for a list: its operating states, and its figures."""

import json
from enum import StrEnum
from typing import Annotated

import typer

from schemagen.cli.options import ListArgument, TextOrJson
from schemagen.cli.terminal import Refused, working


class Table(StrEnum):
    TEXT = "text"
    JSON = "json"
    CSV = "csv"


def states(
    list_: ListArgument,
    form: Annotated[TextOrJson, typer.Option("--format", help="How to print the states.")] = TextOrJson.TEXT,
) -> None:
    """Print each operating state: what calls, where valves stand, what runs, and where water moves."""
    from schemagen.pipeline import read
    from schemagen.sheets import states_text as printed

    with working(f"working out the states of {list_}"):
        operation = read(list_).operation
        if form == TextOrJson.JSON:
            text = json.dumps(printed.as_json(list_, operation), ensure_ascii=False, indent=2) + "\n"
        else:
            text = printed.as_text(operation)
    print(text, end="")


def sizes(
    list_: ListArgument,
    form: Annotated[Table, typer.Option("--format", help="How to print the figures.")] = Table.TEXT,
    why: Annotated[
        str | None,
        typer.Option(metavar="ITEM", help="Print formula, numbers and source of a tag, a run, a topic or a figure."),
    ] = None,
) -> None:
    """Print the figures: flows, temperatures, pipes, pumps, buffers, vessels, hot water; with what was assumed."""
    from schemagen.pipeline import read
    from schemagen.sheets import sizes_text as printed

    with working(f"working out the figures of {list_}"):
        job = read(list_)
        found = job.sizes
    if why is not None:
        chosen = found.about(why)
        if not chosen:
            raise Refused(f"no figure for {why!r}; name a tag, a run such as A.b→C.d, a topic or a figure's name")
        found = printed.only(found, chosen)
    match form:
        case Table.JSON:
            print(json.dumps(printed.as_json(list_, job.network, found), ensure_ascii=False, indent=2))
        case Table.CSV:
            print(printed.as_csv(found), end="")
        case Table.TEXT:
            print(printed.reasons(found) if why is not None else printed.as_text(found), end="")
