"""A system that is too large for one sheet, cut into several: each laid out by itself, joined by flags."""

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from schemagen.checks.check import Report
from schemagen.checks.facts import Facts
from schemagen.drawing.compose import compose
from schemagen.drawing.drawing import Drawing
from schemagen.layout.alike import Likeness, likeness, plan_of_twin
from schemagen.layout.divide import divide
from schemagen.layout.lay_out import lay_out
from schemagen.layout.on_sheets import Share, shared_out
from schemagen.layout.placement import Plan
from schemagen.parts.kind import PartKind
from schemagen.routing.route import route
from schemagen.sheets.publish import area_of, may_fit
from schemagen.sheets.several import fits_a_sheet, publish_several
from schemagen.sheets.sheet import Sheet

if TYPE_CHECKING:
    from schemagen.operation.state_view import StateView

TABLES = (6, 18, 60)
"""Rows that the table of sheets on the first is thought to need, one after the other, until all fit."""


def cut_sheets(
    facts: Facts, report: Report, connector: PartKind, views: Sequence["StateView | None"], page: str
) -> tuple[Sheet, ...]:
    """The plain drawing (view None) or its states on several sheets of a page; none if no cut lets them fit.

    Each view is cut alike. `connector` is the kind of the flags at the ends of a pipe that is cut.
    """
    network, waters = facts.network, facts.waters
    drawn: dict[tuple, tuple[Likeness, Plan]] = {}

    def drawings(shares: Sequence[Share]) -> list[list[Drawing]]:
        plans = [_plan_of(share, drawn) for share in shares]
        return [[_drawing(s, plan, report, view) for s, plan in zip(shares, plans, strict=True)] for view in views]

    def fits(table: int, tags: tuple[str, ...], first: bool) -> bool:
        shares = shared_out(network, waters, [tags], connector)
        if not may_fit(_plan_of(shares[0], drawn).box, page):
            return False
        own = [drawing for (drawing,) in drawings(shares)]
        return fits_a_sheet(own, shares[0], network, report, page, table if first else 0)

    for table in TABLES:
        tags = divide(network, waters, area_of(page), partial(fits, table))
        shares = shared_out(network, waters, tags, connector)
        if shares and (done := publish_several(drawings(shares), shares, network, report, page)):
            return done
    return ()


def _drawing(share: Share, plan: Plan, report: Report, view: "StateView | None") -> Drawing:
    return compose(share.network, share.waters, plan, report, view=view and view.of_pipes(share.pipes))


def _plan_of(share: Share, drawn: dict[tuple, tuple[Likeness, Plan]]) -> Plan:
    """The plan of a share: that of its twin, if one that differs in names only is among those `drawn`."""
    like = likeness(share.network, share.waters)
    if like.key not in drawn:
        drawn[like.key] = like, route(lay_out(share.network, share.waters), share.network, share.waters)
    first, plan = drawn[like.key]
    return plan_of_twin(plan, share.network, first, like)
