"""Verbs that write what a list becomes: drawings, the graph, lessons and the handover set.

Each prints the names of the files that it wrote.
"""

import os
import re
from pathlib import Path
from typing import Annotated

import typer

from schemagen.cli.options import DotsOption, ListArgument, PageOption
from schemagen.cli.terminal import Refused, counted, say, working


def draw(
    list_: ListArgument,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="File to write; its suffix picks the format.")
    ] = None,
    page: PageOption = None,
    strict: Annotated[
        bool, typer.Option("--strict", help="End with status 1 if there are findings of severity error.")
    ] = False,
    dpi: DotsOption = 200,
    state: Annotated[str | None, typer.Option(metavar="NAME", help="Draw this operating state.")] = None,
    states: Annotated[bool, typer.Option("--states", help="Draw every operating state, one sheet each.")] = False,
) -> None:
    """Draw the schematic of a list, with every finding marked at its place.

    On the drawing of a state, water moves in the pipes with arrows and stands still in the thin grey ones; black valves
    are shut, filled pumps run. The names of the states are printed by: schemagen states LIST

    With -o NAME.html the drawing becomes one page for a browser that works without a network: it has every state to
    switch to (or the one of --state), the findings, and the drawing in words.
    """
    from schemagen.output.write import shows_states, write
    from schemagen.pipeline import read

    if state is not None and states:
        raise Refused("--state draws one state and --states all of them; give one of the two")
    size = page.value if page else None
    with working(f"drawing {list_}"):
        job = read(list_)
        path = output or _beside(list_, ".svg", state or "")
        if shows_states(path.suffix):
            sheets = job.bare_sheets(_states_of(job, state))
        elif states or state is not None:
            sheets = job.state_sheets(_states_of(job, state), size)
        else:
            sheets = job.sheets(size)
        written = write(sheets, path, dpi=dpi)
    errors = [f for f in job.findings if f.severity == "error" and f.accepted is None]
    for name in written:
        print(name)
    if job.findings:
        found = f"{counted(len(job.findings), 'finding')}, {counted(len(errors), 'error')}"
        say(f"{found}: see the drawing, or schemagen check {list_}")
    raise typer.Exit(1 if strict and errors else 0)


def _states_of(job, name: str | None):
    """The state of that name, or all of them."""
    return job.states if name is None else (_state_named(job.operation, name),)


def _state_named(operation, name: str):
    try:
        return operation.state(name)
    except KeyError:
        names = "\n".join(f"    {s.name}" for s in operation.states)
        raise Refused(f"this list has no state {name!r}; its states are:\n{names}") from None


def _beside(list_: str, suffix: str, about: str = "") -> Path:
    """The list's name with another suffix, and with what the file is about, if it is about a part of the list."""
    if list_ == "-":
        raise Refused("a list from standard input has no name; say where to write with -o FILE")
    path = Path(list_)
    stem = path.name if path.is_dir() else path.stem
    words = "-".join(re.findall(r"\w+", about.casefold()))
    return path.with_name(f"{stem}-{words}{suffix}" if words else f"{stem}{suffix}")


def graph(
    list_: ListArgument,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE", help="Text of the graph (.gv), or drawn (.svg, .png).")
    ],
) -> None:
    """Show how a list was understood: a plain graph of its parts, their openings and the pipes between them.

    The .gv text, in the DOT language, is the same on every machine; Graphviz lays out the pictures.
    """
    from schemagen.output.graph_view import FORMS, graph_bytes
    from schemagen.output.write import write_whole
    from schemagen.pipeline import read

    form = output.suffix.lower()
    if form not in FORMS:
        raise Refused(f"cannot write {output.suffix or 'a file without suffix'}; use {', '.join(FORMS)}")
    with working(f"reading {list_}"):
        job = read(list_)
        data = graph_bytes(job.network, job.waters, form)
    write_whole(output, data)
    print(output)


def lesson(
    list_: ListArgument,
    output: Annotated[Path, typer.Option("-o", "--output", metavar="FOLDER", help="New folder for the lesson.")],
    seed: Annotated[int, typer.Option(min=0, help="Another number gives other blanks and other mistakes.")] = 1,
    papers: Annotated[int, typer.Option(min=0, max=40, help="How many fault-finding papers, each with its key.")] = 4,
    difficulty: Annotated[int, typer.Option(min=1, max=3, help="1 easy, 2 usual, 3 hard.")] = 2,
    title: Annotated[str | None, typer.Option(help="Title of the lesson, if not the list's own.")] = None,
) -> None:
    """Write a lesson: build-up sheets, worksheets, questions on states, fault-finding papers, slides;
    each with its key.

    The same list, seed and difficulty give the same papers again. Fault-finding papers need a list without findings.
    """
    from schemagen.output.lesson_files import lesson_files
    from schemagen.output.write_folder import refuse_existing, refuse_without_parent, write_folder
    from schemagen.pipeline import lesson as make

    refuse_existing(output)
    refuse_without_parent(output)
    with working(f"making a lesson of {list_}"):
        made = make(list_, seed, papers, difficulty, title)
        written = write_folder(output, lesson_files(made))
    for path in written:
        print(path)


def pack(
    list_: ListArgument,
    output: Annotated[Path, typer.Option("-o", "--output", metavar="FOLDER", help="Folder for the set.")],
    replace: Annotated[bool, typer.Option("--replace", help="Put the set in the place of an earlier one.")] = False,
) -> None:
    """Write the handover set: all papers as one PDF, the schematic, schedules as a workbook and as CSV, the findings.

    A manifest names every file with its SHA-256. The folder appears whole or not at all; the same list gives the same
    bytes. Open findings do not stop it: they stand in the papers.
    """
    from schemagen.output.pack_files import MANIFEST, pack_files
    from schemagen.output.typesetting import refuse_without_typesetter
    from schemagen.output.write_folder import refuse_foreign, refuse_without_parent, write_folder
    from schemagen.pipeline import handover, read

    if not replace and os.path.lexists(output):
        raise Refused(f"{output} exists; name a new folder, or put the set in its place with --replace")
    if replace:
        refuse_foreign(output, MANIFEST)
    refuse_without_parent(output)
    refuse_without_typesetter()
    with working(f"reading {list_}") as now:
        job = read(list_)
        set_ = handover(job, lambda step: now(f"{list_}: {step}"))
        now(f"{list_}: writing files")
        written = write_folder(output, pack_files(set_), replace)
    for path in written:
        print(path)
    if open_ := [f for f in job.findings if f.accepted is None]:
        errors = [f for f in open_ if f.severity == "error"]
        say(f"{counted(len(open_), 'open finding')}, {counted(len(errors), 'error')}: they stand in the papers")
