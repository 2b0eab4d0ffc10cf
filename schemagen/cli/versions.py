"""The verb that compares two versions of a list, printed or drawn."""

import json
from pathlib import Path
from typing import Annotated

import typer

from schemagen.cli.options import LIST_HELP, DotsOption, PageOption, TextOrJson
from schemagen.cli.terminal import readable, say, working


def compare(
    old: Annotated[str, typer.Argument(metavar="OLD", help=LIST_HELP)],
    new: Annotated[str, typer.Argument(metavar="NEW", help="The later version of the list.")],
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", help="Draw both on one sheet, changes marked; the suffix picks the format."),
    ] = None,
    form: Annotated[TextOrJson, typer.Option("--format", help="How to print the changes.")] = TextOrJson.TEXT,
    page: PageOption = None,
    dpi: DotsOption = 200,
) -> None:
    """Print what changed from one list to another: parts, pipes, values, and the findings that came or went.

    With -o both versions are drawn together: added thick, removed thin with crosses, changed values struck through,
    each with its number. Parts with the same tag are the same; others are if kind and neighbours are. Ends with
    status 0 whether or not there are changes, with 2 if a list cannot be read.
    """
    from schemagen.changes import text as printed
    from schemagen.output.write import format_of, write
    from schemagen.pipeline import Comparison, read

    readable((old, new))
    if output is not None:
        format_of(output.suffix)
    with working(f"comparing {old} and {new}"):
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
    say(f"{printed.counts_of(comparison.changes)}: see the drawing, or schemagen compare {old} {new}")
