"""Every check says what its page promises: its wrong list has the fault, its right list has not."""

import re

import pytest

from schemagen.checks.check import Report
from schemagen.checks.pages import GROUPS, all_checks
from schemagen.joblist.read import read_text
from schemagen.pipeline import job_of

CHECKS = all_checks()


def by_slug(check):
    return check.slug


def report(text: str) -> Report:
    return job_of(read_text(text, "yaml")).report


def said(text: str) -> list[str]:
    """Slugs of all findings, those that another one explains included."""
    found = report(text)
    return [f.check for f in found.findings] + [f.finding.check for f in found.folded]


@pytest.mark.parametrize("check", CHECKS, ids=by_slug)
def test_the_wrong_list_of_a_page_has_the_fault(check):
    assert check.slug in said(check.page.wrong)


@pytest.mark.parametrize("check", CHECKS, ids=by_slug)
def test_the_right_list_of_a_page_has_not(check):
    assert check.slug not in said(check.page.right)


@pytest.mark.parametrize("check", CHECKS, ids=by_slug)
def test_a_page_names_a_source_or_says_that_there_is_none(check):
    source = check.page.source
    named = r"\d|from memory|common practice|trade article|manual|standard|handbook|Regulation"
    assert re.search(named, source), source


@pytest.mark.parametrize("check", CHECKS, ids=by_slug)
def test_what_a_check_explains_is_itself_a_check_and_not_the_same(check):
    known = {c.slug for c in CHECKS}
    assert check.slug not in check.folds
    assert not [slug for slug in check.folds if not re.fullmatch(r"[a-z0-9-]+", slug)]
    assert set(check.folds) <= known, sorted(set(check.folds) - known)


def test_every_slug_is_used_once():
    slugs = [check.slug for check in CHECKS]
    assert len(slugs) == len(set(slugs))


def test_every_group_has_checks():
    assert {check.group for check in CHECKS} == set(GROUPS)


def test_a_finding_that_is_accepted_with_a_reason_stays_and_says_so():
    wrong = next(c for c in CHECKS if c.slug == "part-not-connected").page.wrong
    found = report(wrong + "accept:\n  - {check: part-not-connected, parts: [R2], reason: fitted next spring}\n")
    assert [f.accepted for f in found.findings if f.check == "part-not-connected"] == ["fitted next spring"]
