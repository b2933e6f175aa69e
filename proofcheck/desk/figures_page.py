"""The shop's figures as a page: plain bars drawn here, each in a table that says the same."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.responses import Response

from proofcheck.base.visible import visible
from proofcheck.desk.views import page
from proofcheck.docket.shop_figures import GROUPS, shop_csv, shop_figures
from proofcheck.docket.show_figures import judged_words, rate_words

if TYPE_CHECKING:
    from starlette.requests import Request

    from proofcheck.desk.shared import Desk
    from proofcheck.docket.shop_figures import ShopRow

__all__ = ["figures", "figures_csv"]

_SHOWN = 15
_WEEKS = 26
_LONG = 200.0
"""Length of the longest bar, in units of its drawing."""


def figures(request: Request) -> Response:
    """The figures, each group with its bars."""
    desk: Desk = request.app.state.desk
    found = shop_figures(desk.docket.jobs(), desk.docket.shop)
    groups = []
    for name, title in GROUPS.items():
        rows = found.of(name)
        shown = rows[-_WEEKS:] if name == "week" else rows[:_SHOWN]
        if shown:
            groups.append(
                {"name": name, "title": title, "rows": _bars(shown), "more": len(rows) - len(shown)}
            )
    whole = found.whole
    return page(
        "figures.html",
        desk,
        whole=whole,
        rate=rate_words(whole.a_thousand),
        judged=judged_words(found),
        groups=groups,
    )


def _bars(rows: tuple[ShopRow, ...]) -> list[dict[str, Any]]:
    """Rows with the lengths of their bars: faults, and beyond them what was wrongly alleged."""
    most = max(1, *(row.faults + row.wrongly for row in rows))
    return [
        {
            "name": visible(row.name),
            "faults": row.faults,
            "rate": rate_words(row.a_thousand),
            "missed": row.missed,
            "wrongly": row.wrongly,
            "length": round(_LONG * row.faults / most, 1),
            "beyond": round(_LONG * row.wrongly / most, 1),
        }
        for row in rows
    ]


def figures_csv(request: Request) -> Response:
    """The same for a spreadsheet."""
    desk: Desk = request.app.state.desk
    text = shop_csv(shop_figures(desk.docket.jobs(), desk.docket.shop))
    shown = {"content-disposition": 'attachment; filename="figures.csv"'}
    return Response(text.encode("utf-8-sig"), media_type="text/csv; charset=utf-8", headers=shown)
