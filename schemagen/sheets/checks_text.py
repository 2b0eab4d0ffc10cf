"""The pages of the checks, and the list of them all, as text."""

import textwrap

from schemagen.base.finding import SEVERITIES
from schemagen.checks.pages import GROUPS, CheckModule

WIDTH = 100


def checks_table(checks: tuple[CheckModule, ...]) -> str:
    """All checks by group, and within a group by severity."""
    width = max(len(check.slug) for check in checks)
    lines: list[str] = []
    for group, title in GROUPS.items():
        mine = [check for check in checks if check.group == group]
        mine.sort(key=lambda c: (SEVERITIES.index(c.page.severity), c.slug))
        lines += [title, *(f"  {c.slug:<{width}}  {c.page.severity}" for c in mine), ""]
    return "\n".join([*lines, f"{len(checks)} checks; schemagen why CHECK prints a page"]) + "\n"


def check_page(check: CheckModule) -> str:
    """One check's page: what, why, cure, source, and a wrong and a right list."""
    page = check.page
    said = {"What": page.what, "Why": page.why, "Cure": page.cure, "Source": page.source}
    said |= {"Caution": page.caution, "Regions": page.regions}
    lines = [f"{page.slug} ({page.severity})", f"{GROUPS[check.group]}", ""]
    for head, text in said.items():
        if text:
            lines += textwrap.wrap(text, WIDTH, initial_indent=f"{head:<9}", subsequent_indent=" " * 9)
    for head, text in (("Wrong", page.wrong), ("Right", page.right)):
        lines += ["", head, textwrap.indent(text.rstrip(), "    ")]
    return "\n".join(lines) + "\n"
