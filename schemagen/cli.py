"""The command: turns arguments into one call and an exit status.

Exit status: 0 fine; 1 findings of severity error; 2 the list could not be read or the call was wrong;
3 a fault of ours.
Everything heavy is imported inside the verb that needs it, so that `--help` stays quick.
"""

import errno
import gc
import json
import os
import re
import sys
from collections.abc import Iterable
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(
    help="Turns a parts list and a connections list into a checked, labelled piping schematic.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

YOUNG = 100_000
"""New objects after which garbage is looked for: a command is short, and most of what it makes it keeps to its end.

At the end what is left is frozen, since looking for garbage in it would take as long as checking a small list.
"""

LIST_HELP = "A list: .yaml, .json, .xlsx, .ods, a folder of CSV files, or - for standard input (YAML)."
ListArgument = Annotated[str, typer.Argument(metavar="LIST", help=LIST_HELP)]


class Page(StrEnum):
    A4 = "A4"
    A3 = "A3"
    A2 = "A2"
    A1 = "A1"
    FIT = "fit"


PageOption = Annotated[
    Page | None, typer.Option(help="Sheet size. Without it: the smallest on which all can be read.")
]


class Form(StrEnum):
    TEXT = "text"
    JSON = "json"
    GITHUB = "github"


class Table(StrEnum):
    TEXT = "text"
    JSON = "json"
    CSV = "csv"


class TextOrJson(StrEnum):
    TEXT = "text"
    JSON = "json"


class Level(StrEnum):
    ERROR = "error"
    WARNING = "warning"
    ADVICE = "advice"

    @property
    def at_least(self) -> tuple[str, ...]:
        """This severity and the graver ones."""
        levels = tuple(level.value for level in Level)
        return levels[: levels.index(self.value) + 1]


class Refused(Exception):
    """The call cannot be carried out; the text says why and what to do. Ends with status 2."""


def main() -> None:
    """Entry point of the `schemagen` command."""
    gc.set_threshold(YOUNG)
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    try:
        sys.exit(app(standalone_mode=False) or 0)
    except SystemExit:
        raise
    except KeyboardInterrupt:
        sys.exit(130)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except Exception as e:
        sys.exit(_status_of(e))
    finally:
        gc.freeze()


def _status_of(e: Exception) -> int:
    from schemagen.joblist.joblist import ListUnreadable
    from schemagen.joblist.write import NoSuchForm
    from schemagen.parts.library import SymbolError
    from schemagen.sheets.sheet import CannotDraw

    match e:
        case typer.Exit():
            return e.exit_code
        case typer.Abort():
            return 130
        case _ if hasattr(e, "show") and hasattr(e, "exit_code"):
            e.show()
            return e.exit_code
        case ListUnreadable():
            for error in e.errors:
                _say(f"{error.place}: {error.message}")
                _say(f"    cure: {error.cure}")
            return 2
        case Refused() | SymbolError() | CannotDraw() | NoSuchForm():
            _say(f"schemagen: {e}")
            return 2
        case OSError():
            _say(f"schemagen: {e.filename or 'output'}: {_PLAIN.get(e.errno) or e.strerror or e}")
            return 2
    if os.environ.get("SCHEMAGEN_TRACE"):
        raise e
    _say(
        f"schemagen: internal fault ({type(e).__name__}: {e}). "
        "Set SCHEMAGEN_TRACE=1 and run again, then report it with the list."
    )
    return 3


_PLAIN = {
    errno.ENOENT: "there is no such folder to write to; make it first, or name another",
    errno.ENOTDIR: "what should be a folder is a file; name another",
    errno.EACCES: "you may not write there; name another folder, or ask for the right to write to this one",
    errno.EPERM: "you may not write there; name another folder, or ask for the right to write to this one",
    errno.EROFS: "nothing can be written there; name another folder",
    errno.EBUSY: "the folder is in use and cannot be replaced; name another",
    errno.ENOSPC: "the disk is full; make room, or name a folder on another disk",
    errno.ENAMETOOLONG: "the name is too long; give a shorter one",
}
"""Refusals of the system in plain words, with the cure."""


def _say(text: str) -> None:
    print(text, file=sys.stderr)


@contextmanager
def _working(what: str):
    """A spinner on a terminal's error stream while something takes long; silent elsewhere.

    Gives a function that changes what it says.
    """
    if not sys.stderr.isatty():
        yield lambda text: None
        return
    from rich.console import Console

    with Console(stderr=True).status(what) as spinner:
        yield spinner.update


def _lists(sources: Iterable[str]) -> list[str]:
    sources = list(sources)
    if sources.count("-") > 1:
        raise Refused("standard input can be read once only; name - once")
    return sources


@app.command(epilog="Example: schemagen draw examples/01_one_radiator_circuit.yaml -o circuit.svg")
def draw(
    list_: ListArgument,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="File to write; its suffix picks the format.")
    ] = None,
    page: PageOption = None,
    strict: Annotated[
        bool, typer.Option("--strict", help="End with status 1 if there are findings of severity error.")
    ] = False,
    dpi: Annotated[int, typer.Option(min=30, max=1200, help="Dots per inch of a PNG.")] = 200,
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
    with _working(f"drawing {list_}"):
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
        found = f"{_count(len(job.findings), 'finding')}, {_count(len(errors), 'error')}"
        _say(f"{found}: see the drawing, or schemagen check {list_}")
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


def _count(n: int, word: str) -> str:
    return f"{n} {word}{'' if n == 1 else 's'}"


@app.command(epilog="Example: schemagen lesson examples/01_one_radiator_circuit.yaml -o lesson --papers 2")
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
    with _working(f"making a lesson of {list_}"):
        made = make(list_, seed, papers, difficulty, title)
        written = write_folder(output, lesson_files(made))
    for path in written:
        print(path)


@app.command(epilog="Example: schemagen pack examples/03_heat_pump_buffer_cylinder.yaml -o handover")
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
    with _working(f"reading {list_}") as now:
        job = read(list_)
        set_ = handover(job, lambda step: now(f"{list_}: {step}"))
        now(f"{list_}: writing files")
        written = write_folder(output, pack_files(set_), replace)
    for path in written:
        print(path)
    if open_ := [f for f in job.findings if f.accepted is None]:
        errors = [f for f in open_ if f.severity == "error"]
        _say(f"{_count(len(open_), 'open finding')}, {_count(len(errors), 'error')}: they stand in the papers")


@app.command(epilog="Example: schemagen check examples/09_heat_pump_with_mistakes.yaml --format text")
def check(
    lists: Annotated[list[str], typer.Argument(metavar="LIST…", help=LIST_HELP)],
    form: Annotated[Form, typer.Option("--format", help="How to print the findings.")] = Form.TEXT,
    fail_on: Annotated[Level, typer.Option(help="Mildest severity that ends with status 1.")] = Level.ERROR,
    verbose: Annotated[
        bool, typer.Option("-v", "--verbose", help="Also print what was made and not assessed.")
    ] = False,
) -> None:
    """Check lists and print every finding: what is wrong, where, and what to write instead."""
    from schemagen.joblist.joblist import ListUnreadable
    from schemagen.pipeline import read
    from schemagen.sheets import findings_text as printed

    results, status = [], 0
    for source in _lists(lists):
        try:
            with _working(f"checking {source}"):
                job = read(source)
                report = job.report
        except ListUnreadable as e:
            results.append(printed.Checked(source, e.errors, None, None))
            status = 2
            continue
        results.append(printed.Checked(source, (), report, job.network))
        if status == 0 and any(f.severity in fail_on.at_least and f.accepted is None for f in report.findings):
            status = 1
    match form:
        case Form.JSON:
            documents = [printed.as_json(r) for r in results]
            print(json.dumps(documents[0] if len(documents) == 1 else documents, ensure_ascii=False, indent=2))
        case Form.GITHUB:
            for r in results:
                print(printed.as_annotations(r), end="")
        case Form.TEXT:
            print(printed.as_text(results, verbose), end="")
    raise typer.Exit(status)


@app.command(epilog="Example: schemagen why coil-one-side")
def why(
    check: Annotated[str | None, typer.Argument(metavar="CHECK", help="Print this check's page.")] = None,
) -> None:
    """List the checks, or print one check's page: what, why, cure, source, a wrong and a right list."""
    import difflib

    from schemagen.checks.pages import all_checks
    from schemagen.sheets.checks_text import check_page, checks_table

    checks = {one.slug: one for one in all_checks()}
    if check is None:
        print(checks_table(tuple(checks.values())), end="")
    elif check in checks:
        print(check_page(checks[check]), end="")
    else:
        near = difflib.get_close_matches(check, checks, n=3)
        hint = f"did you mean {' or '.join(near)}?" if near else "schemagen why lists them all"
        raise Refused(f"no check {check!r}; {hint}")


@app.command(epilog="Example: schemagen states examples/03_heat_pump_buffer_cylinder.yaml")
def states(
    list_: ListArgument,
    form: Annotated[TextOrJson, typer.Option("--format", help="How to print the states.")] = TextOrJson.TEXT,
) -> None:
    """Print each operating state: what calls, where valves stand, what runs, and where water moves."""
    from schemagen.pipeline import read
    from schemagen.sheets import states_text as printed

    with _working(f"working out the states of {list_}"):
        operation = read(list_).operation
        if form == TextOrJson.JSON:
            text = json.dumps(printed.as_json(list_, operation), ensure_ascii=False, indent=2) + "\n"
        else:
            text = printed.as_text(operation)
    print(text, end="")


@app.command(epilog="Example: schemagen sizes examples/03_heat_pump_buffer_cylinder.yaml --why EV1")
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

    with _working(f"working out the figures of {list_}"):
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


@app.command(epilog="Example: schemagen graph examples/01_one_radiator_circuit.yaml -o network.svg")
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
    with _working(f"reading {list_}"):
        job = read(list_)
        data = graph_bytes(job.network, job.waters, form)
    write_whole(output, data)
    print(output)


@app.command(epilog="Example: schemagen kinds diverter-valve")
def kinds(
    kind: Annotated[str | None, typer.Argument(metavar="KIND", help="Print this kind's page.")] = None,
    sheet: Annotated[
        Path | None, typer.Option("--sheet", metavar="FILE.svg", help="Draw the whole set on one sheet.")
    ] = None,
) -> None:
    """List the part kinds; print one kind's page; or draw the whole set on a sheet."""
    from schemagen.parts.library import shipped_library
    from schemagen.parts.page import kind_page, kinds_table

    library = shipped_library()
    if sheet is not None:
        if sheet.suffix.lower() != ".svg":
            raise Refused(f"the set is drawn to .svg only; write {sheet.with_suffix('.svg').name or 'kinds.svg'}")
        from schemagen.output.write import write_whole
        from schemagen.sheets.kinds_sheet import kinds_sheet

        write_whole(sheet, kinds_sheet(library).encode())
        print(sheet)
    elif kind is None:
        print(kinds_table(library), end="")
    elif kind in library:
        print(kind_page(library.kind(kind)), end="")
    else:
        near = library.near(kind)
        hint = f"did you mean {' or '.join(near)}?" if near else "schemagen kinds lists them all"
        raise Refused(f"no kind {kind!r}; {hint}")


@app.command(
    epilog="Example: schemagen compare examples/03_heat_pump_buffer_cylinder.yaml "
    "examples/04_heat_pump_combined_casing.xlsx"
)
def compare(
    old: Annotated[str, typer.Argument(metavar="OLD", help=LIST_HELP)],
    new: Annotated[str, typer.Argument(metavar="NEW", help="The later version of the list.")],
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", help="Draw both on one sheet, changes marked; the suffix picks the format."),
    ] = None,
    form: Annotated[TextOrJson, typer.Option("--format", help="How to print the changes.")] = TextOrJson.TEXT,
    page: PageOption = None,
    dpi: Annotated[int, typer.Option(min=30, max=1200, help="Dots per inch of a PNG.")] = 200,
) -> None:
    """Print what changed from one list to another: parts, pipes, values, and the findings that came or went.

    With -o both versions are drawn together: added thick, removed thin with crosses, changed values struck through,
    each with its number. Parts with the same tag are the same; others are if kind and neighbours are. Ends with
    status 0 whether or not there are changes, with 2 if a list cannot be read.
    """
    from schemagen.changes import text as printed
    from schemagen.output.write import format_of, write
    from schemagen.pipeline import Comparison, read

    _lists((old, new))
    if output is not None:
        format_of(output.suffix)
    with _working(f"comparing {old} and {new}"):
        comparison = Comparison(read(old), read(new))
        if output is not None:
            written = write(comparison.sheets(page.value if page else None), output, dpi=dpi)
        elif form == TextOrJson.JSON:
            text = json.dumps(printed.as_json(old, new, comparison.changes), ensure_ascii=False, indent=2) + "\n"
        else:
            text = printed.as_text(comparison.changes)
    if output is None:
        print(text, end="")
        return
    for name in written:
        print(name)
    _say(f"{printed.counts_of(comparison.changes)}: see the drawing, or schemagen compare {old} {new}")


@app.command(epilog="Example: schemagen convert examples/01_one_radiator_circuit.yaml -o circuit.xlsx")
def convert(
    list_: ListArgument,
    output: Annotated[Path, typer.Option("-o", "--output", help=".yaml, .json, .xlsx, or a folder for CSV files.")],
) -> None:
    """Write a list in another form. Nothing is lost and nothing is added."""
    from schemagen.joblist.write import write
    from schemagen.pipeline import read

    write(read(list_).list, output)
    print(output)


@app.command(epilog="Example: schemagen new house.yaml")
def new(
    file: Annotated[Path | None, typer.Argument(metavar="FILE", help="Where to write the starter list.")] = None,
    schema: Annotated[
        bool, typer.Option("--schema", help="Print the JSON Schema of a list instead, for an editor.")
    ] = False,
) -> None:
    """Write a small starter list with comments."""
    from schemagen.joblist.starter import STARTER

    if schema:
        from schemagen.joblist.door import schema as list_schema

        print(json.dumps(list_schema(), ensure_ascii=False, indent=2))
        return
    if file is None:
        raise Refused("name the file to write, for example: schemagen new house.yaml")
    if file.exists():
        raise Refused(f"{file} exists; choose another name")
    from schemagen.output.write import write_whole

    write_whole(file, STARTER.encode())
    print(file)


if __name__ == "__main__":
    main()
