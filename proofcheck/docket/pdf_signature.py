"""Who signed a PDF electronically, and whether the signature holds for the whole of it.

Needs the extra `sign` (pyHanko). Nothing is fetched: a certificate is known where the shop has put
it, or the one that issued it, in the folder beside its docket; whether it was called back since is
not asked.
"""

from __future__ import annotations

import io
import logging
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, Final

from proofcheck.base.visible import visible
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.pdf_values import Lasting

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

__all__ = ["Signature", "certificates_in", "signature_of"]

_SPOILT: Final = (AttributeError, AssertionError, *Lasting)
"""What a spoilt signature can raise as it is looked through."""
_ENDINGS: Final = {".pem", ".crt", ".cer", ".der"}
_LARGEST_BYTES: Final = 1 << 20


@dataclass(frozen=True, slots=True)
class Signature:
    """A signature that holds for every byte of its file."""

    who: str
    """Common name of the certificate's subject, or all of the subject where it has none."""
    certificate: str
    """SHA-256 of the certificate, hexadecimal."""
    known: bool
    """It is the shop's to know, or was issued by one that is, and holds today."""
    at: str
    """When it was signed by the signer's own clock, ISO 8601; "" where it does not say."""

    @property
    def words(self) -> str:
        """Who signed, and never more than is known."""
        known = "known" if self.known else "not known"
        return f"signed by {self.who}, certificate {known} to the shop"


def certificates_in(folder: Path) -> list[Any]:
    """The certificates the shop has put in a folder; none where there is no such folder.

    Raises:
        DocketError: a file in it is no certificate, or the extra is not installed.
    """
    if not folder.is_dir():
        return []
    _needed()
    from pyhanko.keys import load_certs_from_pemder_data

    held: list[Any] = []
    for path in sorted(folder.iterdir()):
        if path.suffix.lower() not in _ENDINGS:
            continue
        try:
            if path.stat().st_size > _LARGEST_BYTES:
                msg = "too large"
                raise ValueError(msg)
            held += load_certs_from_pemder_data(path.read_bytes())
        except (OSError, *_SPOILT) as error:
            msg = f"{visible(str(path))} is no certificate that can be read; mend or remove it"
            raise DocketError(msg) from error
    return held


def signature_of(data: bytes, name: str, known: Sequence[Any]) -> Signature:
    """The one signature of a PDF, where it holds for the whole file.

    Args:
        data: the file.
        name: what to call it in messages.
        known: certificates the shop knows (`certificates_in`).

    Raises:
        DocketError: there is none or more than one; it is broken; the file was written to after
            it; it can't be read; or the extra is not installed.
    """
    _needed()
    from pyhanko.pdf_utils.misc import PdfError
    from pyhanko.sign.general import ValueErrorWithMessage
    from pyhanko.sign.validation.errors import SignatureValidationError

    shown = visible(name)
    try:
        return _looked_at(data, shown, known)
    except (PdfError, ValueErrorWithMessage, SignatureValidationError, *_SPOILT) as error:
        msg = f"the signature of {shown} is broken and says nothing ({visible(str(error))[:80]})"
        raise DocketError(msg) from error


def _looked_at(data: bytes, shown: str, known: Sequence[Any]) -> Signature:
    from pyhanko.pdf_utils.reader import PdfFileReader
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko.sign.validation.settings import KeyUsageConstraints
    from pyhanko.sign.validation.status import SignatureCoverageLevel
    from pyhanko_certvalidator import ValidationContext

    reader = PdfFileReader(io.BytesIO(data))
    signed = reader.embedded_regular_signatures
    if len(signed) != 1:
        many = f"{len(signed)} signatures; let one person sign one sheet" if signed else "none"
        msg = f"{shown} must bear one electronic signature, and bears {many}"
        raise DocketError(msg)
    status = validate_pdf_signature(
        signed[0],
        ValidationContext(trust_roots=list(known), allow_fetching=False),
        key_usage_settings=KeyUsageConstraints(
            key_usage={"digital_signature", "non_repudiation"}, match_all_key_usages=False
        ),
        skip_diff=True,
    )
    if not (status.intact and status.valid):
        msg = (
            f"the signature of {shown} is broken: the file is not what was signed; ask for it anew"
        )
        raise DocketError(msg)
    if status.coverage != SignatureCoverageLevel.ENTIRE_FILE:
        msg = (
            f"{shown} was written to after it was signed, so that the signature does not cover "
            "the whole file; ask for it as it was signed"
        )
        raise DocketError(msg)
    certificate = status.signing_cert
    at = status.signer_reported_dt
    subject = certificate.subject.native
    who = subject.get("common_name") or certificate.subject.human_friendly
    return Signature(
        " ".join(visible(str(who)).split())[:100] or "nobody named",
        certificate.sha256.hex(),
        bool(status.trusted) and _holds_today(certificate),
        at.isoformat() if at is not None else "",
    )


def _holds_today(certificate: Any) -> bool:  # noqa: ANN401 - of a library without types
    """Whether it has begun and not run out: of one that is trusted itself nobody else asks."""
    now = datetime.now(UTC)
    return bool(certificate.not_valid_before <= now <= certificate.not_valid_after)


def _needed() -> None:
    """Refuse where the extra is not installed; what it says to nobody's log is left unsaid."""
    try:
        import pyhanko  # noqa: F401

        for name in ("pyhanko", "pyhanko_certvalidator"):
            log = logging.getLogger(name)
            if not log.handlers:
                log.addHandler(logging.NullHandler())
    except ImportError as error:
        msg = "electronic signatures need an extra: pip install 'proofcheck[sign]'"
        raise DocketError(msg) from error
