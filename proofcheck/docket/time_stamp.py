"""When the docket stood so, by the word of a time-stamping authority (RFC 3161).

What is stamped are the three lines of the docket's anchor, which say how far its chain had come.
Nothing goes over a network from here: the request is a file, to be sent to whatever authority the
shop has chosen, and its response a file too. Needs the extra `sign` (rfc3161-client).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from proofcheck.base.visible import visible
from proofcheck.docket.docket_errors import DocketError

if TYPE_CHECKING:
    from datetime import datetime

__all__ = ["request_for", "stamped_at"]

_LARGEST_BYTES: Final = 1 << 20


def request_for(anchor: str) -> bytes:
    """A request to stamp an anchor, in DER: its SHA-256 goes out, and the certificate is asked for.

    Raises:
        DocketError: the extra is not installed.
    """
    _needed()
    from rfc3161_client import HashAlgorithm, TimestampRequestBuilder

    asked = TimestampRequestBuilder().data(anchor.encode("ascii"))
    asked = asked.hash_algorithm(HashAlgorithm.SHA256).cert_request(cert_request=True)
    return bytes(asked.nonce(nonce=True).build().as_bytes())


def stamped_at(anchor: str, response: bytes, authority: bytes, name: str) -> datetime:
    """When an authority stamped an anchor.

    Args:
        anchor: its three lines, exactly as they were stamped.
        response: of the authority, DER.
        authority: the certificates it is trusted by (its root, and any between), PEM.
        name: of the response, for messages.

    Raises:
        DocketError: it is of another anchor, not of this authority, or can't be read.
    """
    _needed()
    from cryptography.x509 import load_pem_x509_certificates
    from rfc3161_client import VerificationError, VerifierBuilder, decode_timestamp_response

    shown = visible(name)
    if len(response) > _LARGEST_BYTES:
        msg = f"{shown} is too large for a time-stamp"
        raise DocketError(msg)
    try:
        roots = load_pem_x509_certificates(authority)
        held = decode_timestamp_response(response)
        builder = VerifierBuilder()
        for root in roots:
            if root.issuer == root.subject:
                builder = builder.add_root_certificate(root)
            else:
                builder = builder.add_intermediate_certificate(root)
        builder.build().verify_message(held, anchor.encode("ascii"))
        return _moment(held)
    except VerificationError as error:
        said = visible(str(error))[:100]
        msg = f"{shown} is no time-stamp of this link by that authority ({said})"
        raise DocketError(msg) from error
    except (ValueError, TypeError, ArithmeticError, LookupError, RuntimeError) as error:
        msg = f"{shown} is no time-stamp that can be read ({visible(str(error))[:80]})"
        raise DocketError(msg) from error


def _moment(held: Any) -> datetime:  # noqa: ANN401 - of a library without types
    moment: datetime = held.tst_info.gen_time
    return moment


def _needed() -> None:
    try:
        import rfc3161_client  # noqa: F401
    except ImportError as error:
        msg = "time-stamps need an extra: pip install 'proofcheck[sign]'"
        raise DocketError(msg) from error
