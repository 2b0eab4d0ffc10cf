"""The frame of the checks: pages, folding of consequences, acceptance, and the same words on every run."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from schemagen.base.finding import Finding
from schemagen.checks.folding import fold, tags_of
from schemagen.checks.pages import PageError, read_page

ROOT = Path(__file__).parent.parent


def finding(check: str, *parts: str, states: tuple[str, ...] = (), ports: tuple[str, ...] = ()) -> Finding:
    return Finding(check, "error", "message", "cure", parts=parts, ports=ports, states=states)


def test_a_cause_explains_its_consequence_at_the_same_part_only():
    cause, here, there = finding("a", "P1"), finding("b", "P1"), finding("b", "P2")
    stand, folded = fold([here, cause, there], {"a": ("b",)})
    assert stand == (cause, there)
    assert [(f.finding, f.cause) for f in folded] == [(here, cause)]


def test_an_opening_is_at_its_part():
    assert tags_of(finding("a", ports=("V1.2.in",))) == {"V1.2"}
    stand, _ = fold([finding("a", ports=("P1.in",)), finding("b", "P1")], {"a": ("b",)})
    assert [f.check for f in stand] == ["a"]


def test_what_follows_from_a_consequence_goes_to_the_first_cause():
    a, b, c = finding("a", "P1"), finding("b", "P1", "P2"), finding("c", "P2")
    stand, folded = fold([c, b, a], {"a": ("b",), "b": ("c",)})
    assert stand == (a,)
    assert {f.cause for f in folded} == {a}


def test_two_findings_that_explain_each_other_do_not_both_vanish():
    stand, folded = fold([finding("a", "P1"), finding("b", "P1")], {"a": ("b",), "b": ("a",)})
    assert [f.check for f in stand] == ["a"]
    assert len(folded) == 1


def test_a_cause_in_one_state_does_not_explain_a_finding_in_another():
    day, night = finding("a", "P1", states=("day",)), finding("b", "P1", states=("night",))
    assert len(fold([day, night], {"a": ("b",)})[0]) == 2
    assert len(fold([day, finding("b", "P1", states=("day", "night"))], {"a": ("b",)})[0]) == 1


PAGE = """some-slug (warning)

What: a thing
    over two lines.
Why: w
Cure: c
Source: common practice

Wrong:
    parts: {}

Right:
    parts: {}
"""


def test_a_page_is_read_in_full():
    page = read_page(PAGE, "checks.graph.some_slug")
    assert (page.slug, page.severity, page.what) == ("some-slug", "warning", "a thing over two lines.")
    assert page.wrong == "parts: {}\n"


@pytest.mark.parametrize(
    ("doc", "where", "said"),
    [
        (PAGE, "checks.graph.other", "some_slug.py"),
        (PAGE.replace("Cure: c\n", ""), "checks.graph.some_slug", "Cure"),
        (PAGE.replace("(warning)", "(grave)"), "checks.graph.some_slug", "severity"),
        ("", "checks.graph.some_slug", "first line"),
    ],
)
def test_a_page_that_lacks_something_says_what(doc, where, said):
    with pytest.raises(PageError, match=said):
        read_page(doc, where)


SHOW = """
import sys
from pathlib import Path
from schemagen.pipeline import read
for path in sorted(Path(sys.argv[1]).glob("[0-9]*")):
    if not path.name.startswith("."):
        report = read(path).report
        print(report.findings, report.not_assessed, report.folded)
"""


def test_the_findings_are_the_same_whatever_the_order_of_sets():
    said = [
        subprocess.run(
            [sys.executable, "-c", SHOW, str(ROOT / "examples")],
            env=os.environ | {"PYTHONHASHSEED": seed},
            cwd=ROOT,
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert said[0] == said[1]
    assert b"Finding" in said[0]
