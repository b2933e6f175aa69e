"""A job's history as one self-contained page (HTML) that carries no script."""

from __future__ import annotations

import base64
import hashlib
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

import jinja2
from markupsafe import Markup

from proofcheck.base.visible import visible
from proofcheck.base.writing import write_whole
from proofcheck.docket.billing import bill_of, charge_words, slugs_words
from proofcheck.docket.clear import reasons_against
from proofcheck.docket.record_words import (
    clock_time,
    counted,
    decision_words,
    details_of,
    entry_words,
    how_read,
    moment,
    reason_words,
    refs_words,
    to_do,
    waits_for,
)
from proofcheck.docket.signoff import WORDS
from proofcheck.results.line_names import PLAIN

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from proofcheck.docket.chain import Entry
    from proofcheck.docket.job import Job
    from proofcheck.docket.shop import Shop
    from proofcheck.results.line_names import LineNames

__all__ = ["job_html", "write_job_page"]


def write_job_page(
    job: Job,
    shop: Shop,
    path: Path | str,
    taken_in: Sequence[Entry] = (),
    *,
    anchor: str = "",
    names: Mapping[int, LineNames] | None = None,
    overwrite: bool = False,
) -> Path:
    """Write the page. Raises OutputError as for `writing.whole_file`."""
    page = job_html(job, shop, taken_in, anchor=anchor, names=names)
    return write_whole(path, page, overwrite=overwrite)


def job_html(
    job: Job,
    shop: Shop,
    taken_in: Sequence[Entry] = (),
    *,
    anchor: str = "",
    names: Mapping[int, LineNames] | None = None,
) -> str:
    """The page as text; `taken_in`, `anchor` and `names` as for `show.job_text`."""
    css = _text("job.css")
    digest = base64.b64encode(hashlib.sha256(css.encode("utf-8")).digest()).decode("ascii")
    return _template().render(
        job=job,
        shop=shop,
        css=Markup(css),  # noqa: S704 - the package's own file
        css_hash=f"sha256-{digest}",
        taken_in=taken_in,
        anchor=anchor,
        reasons=reason_words(reasons_against(job)),
        details=details_of(job),
        waits=waits_for(job),
        bill=bill_of(job, shop),
        slugs_words=slugs_words,
        charge_words=charge_words,
        words=WORDS,
        moment=moment,
        clock_time=clock_time,
        counted=counted,
        refs_words=refs_words,
        to_do=to_do,
        names={proof.number: (names or {}).get(proof.number, PLAIN) for proof in job.proofs},
        decision=decision_words,
        entry_words=entry_words,
        how_read=how_read,
    )


@lru_cache(maxsize=1)
def _template() -> jinja2.Template:
    house = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    house.filters["v"] = lambda text: visible(str(text))
    return house.from_string(_text("job.html"))


def _text(name: str) -> str:
    return resources.files("proofcheck.docket").joinpath("templates", name).read_text("utf-8")
