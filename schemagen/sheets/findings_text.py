"""Findings for a terminal, for another program, and as annotations for a code host."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from schemagen.base.finding import SEVERITIES, Finding
from schemagen.checks.check import Report
from schemagen.joblist.joblist import ListError
from schemagen.network.network import Network

_LEVELS = {"error": "error", "warning": "warning", "advice": "notice"}


@dataclass(frozen=True)
class Checked:
    """What came of checking one list: either errors that kept it from being read, or a report on its network."""

    source: str
    errors: tuple[ListError, ...]
    report: Report | None
    network: Network | None


def as_json(checked: Checked) -> dict[str, Any]:
    """The document that `check --format json` prints."""
    findings = checked.report.findings if checked.report else ()
    return {
        "list": checked.source,
        "errors": [{"place": str(e.place), "message": e.message, "cure": e.cure} for e in checked.errors],
        "findings": [
            {
                "check": f.check,
                "severity": f.severity,
                "message": f.message,
                "cure": f.cure,
                "parts": list(f.parts),
                "pipes": [list(pair) for pair in f.pipes],
                "states": list(f.states),
                "source": f.source,
                "accepted": f.accepted,
                "place": str(f.place) if f.place else None,
            }
            for f in findings
        ],
    }


def as_annotations(checked: Checked) -> str:
    """One workflow annotation a line, with file and line where they are known."""
    lines = [_annotation("error", e.place, "list", f"{e.message} Write instead: {e.cure}") for e in checked.errors]
    for f in checked.report.findings if checked.report else ():
        level = _LEVELS[f.severity] if f.accepted is None else "notice"
        lines.append(_annotation(level, f.place, f.check, f"{f.message} {f.cure}"))
    return "".join(lines)


def _annotation(level: str, place, title: str, text: str) -> str:
    where = ""
    if place is not None:
        where = f" file={_property(place.file)}" + (f",line={place.line}" if place.line else "") + ","
    return f"::{level}{where or ' '}title={_property(title)}::{_escaped(text)}\n"


def _escaped(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _escaped(text).replace(":", "%3A").replace(",", "%2C")


def as_text(results: Sequence[Checked], verbose: bool = False) -> str:
    """For reading: each finding with its cure; a summary table if there are several lists."""
    lines: list[str] = []
    for checked in results:
        if len(results) > 1:
            lines += [f"== {checked.source}"]
        lines += _of_one(checked, verbose)
    if len(results) > 1:
        lines += ["", *_summary(results)]
    return "\n".join(lines) + "\n"


def _of_one(checked: Checked, verbose: bool) -> list[str]:
    if checked.report is None or checked.network is None:
        return [line for e in checked.errors for line in (f"{e.place}: {e.message}", f"    cure: {e.cure}")]
    report, lines = checked.report, []
    for number, f in enumerate(report.findings, 1):
        lines += _finding(number, f)
    made = [p for p in checked.network.parts.values() if p.made]
    if verbose and made:
        lines += ["made for the list: " + ", ".join(f"{p.tag} ({p.kind.title})" for p in made)]
    if verbose:
        lines += [
            f"not assessed: {n.check} at {', '.join(n.parts) or 'the list'}: {n.needs}" for n in report.not_assessed
        ]
    return [*lines, closing_line(report)]


def _finding(number: int, f: Finding) -> list[str]:
    head = f"{number:3}  {f.severity:<8} {f.check}" + (f"   {f.place}" if f.place else "")
    lines = [head, f"     {f.message}", f"     cure: {f.cure}"]
    if f.states:
        lines.append(f"     in: {', '.join(f.states)}")
    if f.source:
        lines.append(f"     source: {f.source}")
    if f.caution:
        lines.append(f"     caution: {f.caution}")
    if f.accepted is not None:
        lines.append(f"     accepted: {f.accepted}")
    return lines


def closing_line(report: Report) -> str:
    """One sentence that says what was checked and what came of it."""
    open_ = [f for f in report.findings if f.accepted is None]
    skipped = len({n.check for n in report.not_assessed})
    tail = f"{report.checks_run} checks run, {skipped} not assessed"
    if not report.findings:
        return f"no findings: {tail}"
    counts = {s: len(list(g)) for s, g in groupby(sorted((f.severity for f in open_), key=SEVERITIES.index))}
    said = ", ".join(f"{n} {s}{'s' if n > 1 and s != 'advice' else ''}" for s, n in counts.items()) or "nothing open"
    accepted = len(report.findings) - len(open_)
    return f"{said}{f', {accepted} accepted' if accepted else ''}: {tail}"


def _summary(results: Sequence[Checked]) -> list[str]:
    width = max(len(r.source) for r in results)
    rows = [f"{'list':<{width}}  errors  warnings  advice  accepted"]
    for r in results:
        if r.report is None:
            rows.append(f"{r.source:<{width}}  cannot be read")
            continue
        open_ = [f.severity for f in r.report.findings if f.accepted is None]
        counts = [open_.count(s) for s in SEVERITIES]
        rows.append(
            f"{r.source:<{width}}  {counts[0]:6}  {counts[1]:8}  {counts[2]:6}  {len(r.report.findings) - len(open_):8}"
        )
    return rows
