"""Classic mistakes and things that look wrong but are right: small fragments, each judged by the checks of its group.

`fires` names checks that must be among the findings. A fragment with `clear` is right: no error or warning of its
group, and the named checks not even as advice.
"""

from pathlib import Path

import pytest

from schemagen.base.finding import Finding
from schemagen.checks.pages import all_checks
from schemagen.parts.library import shipped_library
from schemagen.pipeline import Job
from tests.fragments import fields_of, job

FOLDER = Path(__file__).parent / "fragments"
GROUP_OF = {check.slug: check.group for check in all_checks()}
WITH_LIST = ("graph", "drawing")
"""Files whose fragments are judged by the checks of the list as well."""


def blocks() -> list[tuple[str, str]]:
    """(group, text) of each fragment of every file; fragments are parted by an empty line."""
    return [
        (f.stem, text) for f in sorted(FOLDER.glob("*.txt")) for text in f.read_text(encoding="utf-8").split("\n\n")
    ]


def cases(word: str):
    found = [(group, text) for group, text in blocks() if word in fields_of(text)]
    return pytest.mark.parametrize(("group", "text"), found, ids=[fields_of(text)["id"] for _, text in found])


def named(text: str, word: str) -> set[str]:
    return {slug.strip() for slug in fields_of(text)[word].split(",")}


def report(text: str):
    return Job(job(text), shipped_library()).report


@cases("fires")
def test_a_classic_mistake_is_found(group, text):
    found = report(text)
    said = {f.check for f in found.findings} | {f.finding.check for f in found.folded}
    assert named(text, "fires") <= said


@cases("clear")
def test_what_looks_wrong_but_is_right_raises_nothing(group, text):
    found = report(text)
    every: list[Finding] = [*found.findings, *(f.finding for f in found.folded)]
    groups = {group, "listing"} if group in WITH_LIST else {group}
    assert [f.message for f in every if GROUP_OF[f.check] in groups and f.severity != "advice"] == []
    assert named(text, "clear").isdisjoint(f.check for f in every)
