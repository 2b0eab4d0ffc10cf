"""Verbs for whoever writes a list: the kinds of parts, a list to start from, and a list in another form."""

import json
from pathlib import Path
from typing import Annotated

import typer

from schemagen.cli.options import ListArgument
from schemagen.cli.terminal import Refused


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


def convert(
    list_: ListArgument,
    output: Annotated[Path, typer.Option("-o", "--output", help=".yaml, .json, .xlsx, or a folder for CSV files.")],
) -> None:
    """Write a list in another form. Nothing is lost and nothing is added."""
    from schemagen.joblist.write import write
    from schemagen.pipeline import read

    write(read(list_).list, output)
    print(output)


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
