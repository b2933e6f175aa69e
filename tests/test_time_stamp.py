"""The docket's last link time-stamped (RFC 3161) by an authority made here, with no network.

The response is made by pyHanko's own little authority and looked at by another library,
rfc3161-client.
"""

from __future__ import annotations

import datetime as dt

import pytest
from asn1crypto import tsp
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import rsa
from docket_cases import JOB, begun, quick_folder, script
from pyhanko.keys import load_certs_from_pemder_data, load_private_key_from_pemder_data
from pyhanko.sign.timestamps import DummyTimeStamper
from typer.testing import CliRunner

from proofcheck.cli.program import app
from proofcheck.docket import amend_job, verify
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.time_stamp import request_for, stamped_at

NOW = dt.datetime.now(dt.UTC).replace(microsecond=0)
PEM = serialization.Encoding.PEM


def made(name, issuer=None, *, stamps=False):
    """A certificate of a name and its key; issued by another, or by itself."""
    key = rsa.generate_private_key(65537, 2048)
    who = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, name)])
    by, by_key = (issuer[0].subject, issuer[1]) if issuer else (who, key)
    builder = (
        x509.CertificateBuilder()
        .subject_name(who)
        .issuer_name(by)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(NOW - dt.timedelta(days=1))
        .not_valid_after(NOW + dt.timedelta(days=30))
        .add_extension(x509.BasicConstraints(ca=not stamps, path_length=None), critical=True)
    )
    if stamps:
        # RFC 3161, 2.3: the key stamps and does nothing else, and says so in a critical extension.
        usage = x509.ExtendedKeyUsage([x509.ExtendedKeyUsageOID.TIME_STAMPING])
        builder = builder.add_extension(usage, critical=True)
    return builder.sign(by_key, hashes.SHA256()), key


@pytest.fixture(scope="module")
def authority():
    root = made("An authority")
    cert, key = made("Its time-stamps", root, stamps=True)
    plain = serialization.NoEncryption()
    held = key.private_bytes(PEM, serialization.PrivateFormat.PKCS8, plain)
    stamper = DummyTimeStamper(
        next(iter(load_certs_from_pemder_data(cert.public_bytes(PEM)))),
        load_private_key_from_pemder_data(held, passphrase=None),
        fixed_dt=NOW,
    )
    return root[0].public_bytes(PEM), stamper


def answered(authority, request):
    asked = tsp.TimeStampReq.load(request)
    return authority[1].request_tsa_response(asked).dump()


ANCHOR = "docket-5f1d0c2a9be84e77\n12\nAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=\n"


def test_the_request_asks_for_the_sha_256_of_the_link_and_nothing_else() -> None:
    import hashlib

    asked = tsp.TimeStampReq.load(request_for(ANCHOR)).native
    assert asked["message_imprint"]["hash_algorithm"]["algorithm"] == "sha256"
    assert asked["message_imprint"]["hashed_message"] == hashlib.sha256(ANCHOR.encode()).digest()


def test_a_stamp_says_when_and_only_of_that_link_and_that_authority(authority) -> None:
    response = answered(authority, request_for(ANCHOR))
    assert stamped_at(ANCHOR, response, authority[0], "head.tsr") == NOW
    with pytest.raises(DocketError, match="no time-stamp of this link"):
        stamped_at(ANCHOR.replace("12", "13"), response, authority[0], "head.tsr")
    other = made("An authority")[0].public_bytes(PEM)
    with pytest.raises(DocketError, match="no time-stamp of this link"):
        stamped_at(ANCHOR, response, other, "head.tsr")
    for spoilt in (b"", b"none", response[:-40], authority[0]):
        with pytest.raises(DocketError, match="no time-stamp"):
            stamped_at(ANCHOR, spoilt, authority[0], "head.tsr")
    with pytest.raises(DocketError, match="can be read"):
        stamped_at(ANCHOR, response, b"no certificate", "head.tsr")


def test_no_byte_of_a_stamp_can_be_changed_to_another_time(authority) -> None:
    response = answered(authority, request_for(ANCHOR))
    for at in range(5, len(response), 61):
        spoilt = response[:at] + bytes([response[at] ^ 1]) + response[at + 1 :]
        try:
            assert stamped_at(ANCHOR, spoilt, authority[0], "head.tsr") == NOW
        except DocketError:
            continue


def test_from_the_command_line(authority, tmp_path) -> None:
    with quick_folder() as folder:
        docket = begun(folder)
        place = ["--docket", str(folder / "docket.db")]
        asked, answer, root = (tmp_path / name for name in ("head.tsq", "head.tsr", "root.pem"))

        def run(*words):
            return CliRunner().invoke(app, ["docket", *map(str, words), *place])

        assert run("stamp", asked).exit_code == 0
        answer.write_bytes(answered(authority, asked.read_bytes()))
        root.write_bytes(authority[0])
        amend_job(docket, JOB, {"ink": "red"}, by="P.C.")
        noted = ["--noted", f"{asked}.txt"]
        held = run("verify", *noted, "--stamp", answer, "--authority", root)
        assert held.exit_code == 0, held.output
        assert f"was time-stamped {NOW:%d %b %Y %H:%M:%S} UTC" in held.output
        assert "give the file with the link" in str(run("verify", "--stamp", answer).exception)
        assert verify(docket).troubles == ()
        script(folder / "docket.db", "UPDATE docket_entries SET book = 'x' WHERE number = 1")
        assert run("verify", *noted, "--stamp", answer, "--authority", root).exit_code == 1
