"""The customer's side of an electronic signature: boxes ticked, a file signed, with keys made here.

The certificates are made by the test and say nothing of anybody. The file is signed by pyHanko,
which lays a CMS signature over all bytes but its own place (ISO 32000-1, 12.8, PDF signatures).
"""

from __future__ import annotations

import datetime as dt
import io
from functools import lru_cache

import pikepdf
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from pyhanko.keys import load_certs_from_pemder_data, load_private_key_from_pemder_data
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign import signers
from pyhanko_certvalidator.registry import SimpleCertificateStore

__all__ = ["certificate", "signed", "ticked"]


@lru_cache(maxsize=4)
def certificate(name="The secretary", *, days=10):
    """A certificate that names itself, and its key: both PEM. Negative days: it has run out."""
    key = ec.generate_private_key(ec.SECP256R1())
    who = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, name)])
    now = dt.datetime.now(dt.UTC)
    usage = x509.KeyUsage(
        digital_signature=True, content_commitment=True, key_encipherment=False,
        data_encipherment=False, key_agreement=False, key_cert_sign=False, crl_sign=False,
        encipher_only=False, decipher_only=False,
    )  # fmt: skip
    made = (
        x509.CertificateBuilder()
        .subject_name(who)
        .issuer_name(who)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - dt.timedelta(days=20))
        .not_valid_after(now + dt.timedelta(days=days))
        .add_extension(usage, critical=True)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    plain = serialization.NoEncryption()
    kind = serialization.PrivateFormat.PKCS8
    pem = serialization.Encoding.PEM
    return made.public_bytes(pem), key.private_bytes(pem, kind, plain)


def ticked(sheet, *boxes, looks=True):
    """The sheet with boxes ticked, each as (group, value), as a viewer saves it."""
    with pikepdf.open(io.BytesIO(sheet)) as pdf:
        fields = {str(field.T): field for field in pdf.Root.AcroForm.Fields}
        for group, value in boxes:
            name = pikepdf.Name(f"/{value}")
            fields[group].V = name
            for kid in fields[group].Kids:
                on = looks and name in kid.AP.N
                kid.AS = name if on else pikepdf.Name.Off
        out = io.BytesIO()
        pdf.save(out)
        return out.getvalue()


def signed(sheet, pair=None, field="signature"):
    """The file with an electronic signature over all of it."""
    cert, key = pair or certificate()
    signer = signers.SimpleSigner(
        signing_cert=next(iter(load_certs_from_pemder_data(cert))),
        signing_key=load_private_key_from_pemder_data(key, passphrase=None),
        cert_registry=SimpleCertificateStore(),
    )
    how = signers.PdfSignatureMetadata(field_name=field)
    return signers.sign_pdf(IncrementalPdfFileWriter(io.BytesIO(sheet)), how, signer).getvalue()
