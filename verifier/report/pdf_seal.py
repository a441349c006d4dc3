"""Seal a PDF so that any later change shows in a common PDF reader."""

from __future__ import annotations

import io
import os
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import NameOID
from pyhanko.pdf_utils.extensions import DeveloperExtension
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign import signers
from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
from pyhanko.sign.signers.constants import ISO32002

from verifier.errors import BadInput

_YEARS = 30
"""Life of a device's own certificate; nobody vouches for it but the record, which names it."""


def pdf_seal_key(path: Path, device: str) -> tuple[Path, Path]:
    """Return this device's key and certificate for sealing PDF files; the first call makes them.

    P-256 and not Ed25519: common PDF readers don't know the latter yet. The certificate is self-signed and stands in the
    record beside the device's own key (:func:`verifier.record.people.join_device`).

    Args:
        path: File of the private key, readable by its owner only; ``.pem`` is added for the certificate.
        device: Name of the device.

    Returns:
        Paths of key and certificate.

    Raises:
        BadInput: If only one of the two is there.

    Source:
        FIPS 186-5 (P-256); RFC 5280 (certificate).
    """
    certificate_path = path.with_name(path.name + ".pem")
    if path.exists() != certificate_path.exists():
        raise BadInput(
            "Of the key and its certificate one is missing.",
            where=str(path),
            todo="Restore it from a copy, or move the other away so that both are made anew.",
        )
    if path.exists():
        return path, certificate_path
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, device)])
    now = datetime.now(UTC)
    usage = x509.KeyUsage(
        digital_signature=True,
        content_commitment=True,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )
    builder = x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
    builder = builder.not_valid_before(now - timedelta(days=1)).not_valid_after(
        now + timedelta(days=365 * _YEARS)
    )
    builder = builder.add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
    certificate = builder.add_extension(usage, critical=True).sign(key, hashes.SHA256())
    path.parent.mkdir(parents=True, exist_ok=True)
    private = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as stream:
        stream.write(private)
    certificate_path.write_bytes(certificate.public_bytes(Encoding.PEM))
    return path, certificate_path


class _Archived(IncrementalPdfFileWriter):
    """Adds to a document and leaves it what PDF/A-3 allows: a PDF 1.7 (ISO 19005-3, 5.1 and 6.1.2).

    For keys on P-256 the library would declare PDF 2.0 and an extension of it; the signature itself is the same in both.
    """

    def ensure_output_version(self, version: tuple[int, int]) -> None:
        super().ensure_output_version(min(version, (1, 7)))  # type: ignore[no-untyped-call] # the library's gap

    def register_extension(self, ext: DeveloperExtension) -> None:
        if ext is not ISO32002:
            super().register_extension(ext)


def seal_pdf(pdf: bytes, key: Path, certificate: Path, *, name: str, reason: str) -> bytes:
    """Seal a PDF against every later change.

    Args:
        pdf: The document.
        key: Private key (P-256).
        certificate: Its certificate.
        name: Who seals, as readers show it.
        reason: What for, as readers show it.

    Returns:
        The sealed document; a reader that checks signatures reports any change, even an appended one.

    Raises:
        BadInput: If key and certificate can't be read.

    Source:
        ETSI EN 319 142-1 (PAdES baseline B-B); ISO 32000-1:2008, 12.8.2.2 (no changes permitted).
    """
    signer = signers.SimpleSigner.load(str(key), str(certificate))  # type: ignore[no-untyped-call] # the library's gap
    if signer is None:
        raise BadInput("Key or certificate can't be read.", where=str(key), todo="Restore both from a copy.")
    how = signers.PdfSignatureMetadata(
        field_name="Seal",
        name=name,
        reason=reason,
        md_algorithm="sha256",
        subfilter=SigSeedSubFilter.PADES,
        certify=True,
        docmdp_permissions=MDPPerm.NO_CHANGES,
    )
    out = signers.sign_pdf(_Archived(io.BytesIO(pdf)), how, signer=signer)
    return bytes(out.getvalue())


def write_pdf(pdf: bytes, path: Path) -> None:
    """Write a document so that readers see the old file or the whole new one.

    Args:
        pdf: The document.
        path: Where to.
    """
    with tempfile.NamedTemporaryFile(dir=path.parent, prefix=path.name, delete=False) as stream:
        stream.write(pdf)
        stream.flush()
        os.fsync(stream.fileno())
    Path(stream.name).chmod(0o644)
    Path(stream.name).replace(path)
