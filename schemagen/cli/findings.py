"""Verbs that tell what is wrong with lists, and what the checks are."""

import json
from enum import StrEnum
from typing import Annotated

import typer

from schemagen.cli.options import LIST_HELP
from schemagen.cli.terminal import Refused, readable, working


class Form(StrEnum):
    TEXT = "text"
    JSON = "json"
    GITHUB = "github"


class Level(StrEnum):
    ERROR = "error"
    WARNING = "warning"
    ADVICE = "advice"

    @property
    def at_least(self) -> tuple[str, ...]:
        """This severity and the graver ones."""
        levels = tuple(level.value for level in Level)
        return levels[: levels.index(self.value) + 1]


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
    for source in readable(lists):
        try:
            with working(f"checking {source}"):
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
