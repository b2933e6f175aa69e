"""Pages of strips for a person to judge: every alarm, with the copy's text above it."""

from __future__ import annotations

import base64
import csv
import html
from typing import TYPE_CHECKING

import cv2

from proofcheck.base.values import Box

from .looking import contact_sheet, strip_round
from .pages import load_grey

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from proofcheck.base.values import Grey

    from .alarms import Alarm
    from .pages import Page
    from .running import PageResult

__all__ = ["write_strips"]

_PER_SHEET = 24
_HEAD = """<!doctype html><meta charset="utf-8"><title>Alarms on pages as printed</title>
<style>body{font:15px serif;max-width:60em;margin:1em auto}figure{margin:1.2em 0}
img{display:block;max-width:100%;border:1px solid #999}b{background:#fe8}small{color:#444}</style>
"""


def write_strips(
    pages: Sequence[Page], results: Sequence[PageResult], out: Path, scale: float
) -> None:
    """Write alarms.html, alarms-N.png and alarms.csv (lines for the list of true differences).

    `scale` is that of the pictures that were read to the pages.
    """
    by_name = {page.name: page for page in pages}
    shown: list[tuple[Alarm, Grey]] = []
    for result in results:
        if result.alarms:
            image = load_grey(by_name[result.page])
            shown += [(alarm, _strip(image, alarm, scale)) for alarm in result.alarms]
    figures = "".join(_figure(alarm, strip) for alarm, strip in shown)
    (out / "alarms.html").write_text(_HEAD + figures, encoding="utf-8")
    with (out / "alarms.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["page", "context", "printed", "why"])
        writer.writerows(
            [alarm.page, alarm.context, alarm.printed, ""] for alarm, _ in shown if not alarm.listed
        )
    for old in out.glob("alarms-*.png"):
        old.unlink()
    unlisted = [(_caption(alarm), strip) for alarm, strip in shown if not alarm.listed]
    for start in range(0, len(unlisted), _PER_SHEET):
        path = out / f"alarms-{start // _PER_SHEET + 1:03}.png"
        contact_sheet(unlisted[start : start + _PER_SHEET], path)


def _strip(image: Grey, alarm: Alarm, scale: float) -> Grey:
    left, top, right, bottom = (round(side / scale) for side in alarm.box)
    return strip_round(image, Box(left, top, right - left, bottom - top))


def _caption(alarm: Alarm) -> str:
    what = f"{alarm.status} {alarm.certainty:.2f} {alarm.kind} [{alarm.printed}]"
    return f"{alarm.page} {what} {alarm.context}"


def _figure(alarm: Alarm, strip: Grey) -> str:
    done, png = cv2.imencode(".png", strip)
    data = base64.b64encode(png.tobytes()).decode() if done else ""
    text = html.escape(alarm.context).replace("⟦", "<b>").replace("⟧", "</b>")
    told = html.escape(f"{alarm.status} {alarm.certainty:.2f}, {alarm.kind}: {alarm.printed!r}")
    why = f"; listed: {html.escape(alarm.listed)}" if alarm.listed else ""
    return (
        f"<figure><p>{html.escape(alarm.page)}: {text}<br><small>{told}{why}</small></p>"
        f'<img alt="" src="data:image/png;base64,{data}"></figure>\n'
    )
