"""Time stamps of an authority, checked without its help."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, padding, rsa
from cryptography.x509.oid import ExtendedKeyUsageOID

_DIGESTS = {
    "608648016503040201": ("sha256", hashes.SHA256()),
    "608648016503040202": ("sha384", hashes.SHA384()),
    "608648016503040203": ("sha512", hashes.SHA512()),
}
_MESSAGE_DIGEST, _TST_INFO = "2a864886f70d010904", "2a864886f70d0109100104"


def read_token(response: bytes, data: bytes, roots: Sequence[bytes]) -> tuple[str, str]:
    """Check a time stamp response and read its instant.

    Args:
        response: DER of an RFC 3161 TimeStampResp.
        data: What was stamped.
        roots: PEM files; certificates in them that sign themselves are trusted.

    Returns:
        Instant (UTC text, whole seconds) and the name of the authority.

    Raises:
        Unsound: If imprint, signature, purpose or chain don't hold.

    Source:
        RFC 3161, 2.4.2; RFC 5652, 5.4 and 5.6.
    """
    try:
        return _read(response, data, roots)
    except Unsound:
        raise
    except Exception as error:  # a stranger's bytes may break any parser in any way; each means the same here
        raise Unsound("the time stamp can't be read") from error


class Unsound(ValueError):  # noqa: N818 - it reads as what it is
    """A time stamp that does not hold, and why."""


def _read(response: bytes, data: bytes, roots: Sequence[bytes]) -> tuple[str, str]:
    parts = _der(response)[0].parts()
    if parts[0].parts()[0].content != b"\0":
        raise Unsound("the authority did not grant the time stamp")
    signed = parts[1].parts()[1].parts()[0].parts()
    kind, wrapped = signed[2].parts()
    tst = wrapped.parts()[0].content
    info = _der(tst)[0].parts()
    imprint = info[2].parts()
    name, _ = _DIGESTS[imprint[0].parts()[0].content.hex()]
    if kind.content.hex() != _TST_INFO or imprint[1].content != hashlib.new(name, data).digest():
        raise Unsound("the time stamp is over other bytes")
    embedded = [part for part in signed if part.tag == 0xA0]
    certificates = [x509.load_der_x509_certificate(c.full) for part in embedded for c in part.parts()]
    certificates += [c for pem in roots for c in x509.load_pem_x509_certificates(pem)]
    instant = datetime.strptime(info[4].content.decode()[:14], "%Y%m%d%H%M%S").replace(tzinfo=UTC)
    signer = _token_signer(signed[-1].parts()[0].parts(), tst, certificates)
    _check_chain(signer, certificates, roots, instant)
    return instant.strftime("%Y-%m-%dT%H:%M:%SZ"), signer.subject.rfc4514_string()


@dataclass(frozen=True, slots=True)
class _Part:
    """One element of DER: tag, content, and the whole with its header."""

    tag: int
    content: bytes
    full: bytes

    def parts(self) -> list[_Part]:
        return _der(self.content)


def _der(data: bytes) -> list[_Part]:
    """Split DER into its elements (ITU-T X.690, 8.1; tags below 31, definite lengths)."""
    found = []
    while data:
        length, start = data[1], 2
        if length >= 0x80:
            start = 2 + length - 0x80
            length = int.from_bytes(data[2:start], "big")
        if (start == 2 and data[1] == 0x80) or len(data) < start + length:
            raise IndexError("ends early")
        found.append(_Part(data[0], data[start : start + length], data[: start + length]))
        data = data[start + length :]
    return found


def _token_signer(
    info: list[_Part], content: bytes, certificates: Sequence[x509.Certificate]
) -> x509.Certificate:
    """Return the certificate whose key signed the time stamp, after checking the signature (RFC 5652, 5.4)."""
    issuer, serial = info[1].parts()
    number = int.from_bytes(serial.content, "big")
    signer = next(
        (c for c in certificates if c.serial_number == number and c.issuer.public_bytes() == issuer.full),
        None,
    )
    if signer is None or info[3].tag != 0xA0:
        raise Unsound("the certificate of the time stamp is missing")
    name, digest = _DIGESTS[info[2].parts()[0].content.hex()]
    attributes = {a.parts()[0].content.hex(): a.parts()[1].parts() for a in info[3].parts()}
    if attributes[_MESSAGE_DIGEST][0].content != hashlib.new(name, content).digest():
        raise Unsound("the time stamp was changed")
    signed = b"\x31" + info[3].full[1:]
    key, signature = signer.public_key(), info[5].content
    try:
        if isinstance(key, rsa.RSAPublicKey):
            key.verify(signature, signed, padding.PKCS1v15(), digest)
        elif isinstance(key, ec.EllipticCurvePublicKey):
            key.verify(signature, signed, ec.ECDSA(digest))
        else:
            raise Unsound("the authority's key is of a kind that this check does not know; use openssl ts")
    except InvalidSignature:
        raise Unsound("the signature of the time stamp is not sound") from None
    return signer


def _check_chain(
    signer: x509.Certificate,
    certificates: Sequence[x509.Certificate],
    roots: Sequence[bytes],
    instant: datetime,
) -> None:
    """Follow the certificates from the signer to a trusted root, all valid at the instant (RFC 3161, 2.3)."""
    try:
        purpose = signer.extensions.get_extension_for_class(x509.ExtendedKeyUsage)
    except x509.ExtensionNotFound:
        raise Unsound("the certificate is not one for time stamps") from None
    if not purpose.critical or list(purpose.value) != [ExtendedKeyUsageOID.TIME_STAMPING]:
        raise Unsound("the certificate is not one for time stamps only")
    trusted = [c for pem in roots for c in x509.load_pem_x509_certificates(pem) if c.subject == c.issuer]
    current = signer
    for _ in range(6):
        if not current.not_valid_before_utc <= instant <= current.not_valid_after_utc:
            raise Unsound("a certificate of the authority was not valid at that time")
        if any(current == root for root in trusted):
            return
        current = _issuer(current, certificates)
    raise Unsound("the chain of the authority's certificates is too long")


def _issuer(certificate: x509.Certificate, among: Sequence[x509.Certificate]) -> x509.Certificate:
    for candidate in among:
        if candidate.subject != certificate.issuer or candidate == certificate:
            continue
        try:
            constraints = candidate.extensions.get_extension_for_class(x509.BasicConstraints)
            certificate.verify_directly_issued_by(candidate)
        except (x509.ExtensionNotFound, InvalidSignature, ValueError, TypeError):
            continue
        if constraints.value.ca:
            return candidate
    raise Unsound("the authority is not one of those trusted")
