"""Time stamps of an authority over heads, issued boards, and the brackets of time that follow from both."""

from __future__ import annotations

import urllib.error
import urllib.request
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any

from cryptography import x509
from rfc3161_client import HashAlgorithm, TimestampRequestBuilder, VerifierBuilder, decode_timestamp_response
from rfc3161_client.errors import VerificationError

from verifier.errors import BadInput
from verifier.record.audit.facts import Bracket
from verifier.record.audit.times import Stamp, bracket
from verifier.record.audit.timestamp import read_token
from verifier.record.checkpoint import read_head
from verifier.record.keys import Signer
from verifier.record.ledger import Ledger, Record


def stamp_request(note: str) -> bytes:
    """Write the request for a time stamp over a checkpoint; only its hash leaves the house.

    Args:
        note: Text of the checkpoint.

    Returns:
        DER of a TimeStampReq, with a nonce, asking for the authority's certificate.

    Source:
        RFC 3161, 2.4.1.
    """
    builder = TimestampRequestBuilder().data(note.encode()).hash_algorithm(HashAlgorithm.SHA256)
    return builder.cert_request(cert_request=True).nonce(nonce=True).build().as_bytes()


def fetch_stamp(url: str, request: bytes, *, timeout_s: float = 20.0) -> bytes:
    """Send a request to an authority.

    Args:
        url: Address of the authority, ``http`` or ``https``.
        request: What :func:`stamp_request` wrote.
        timeout_s: How long to wait.

    Returns:
        DER of the response; :func:`record_stamp` checks it.

    Raises:
        BadInput: If the authority can't be reached.

    Source:
        RFC 3161, 3.4.
    """
    if not url.startswith(("http://", "https://")):
        raise BadInput(
            "This is no web address.", where=url, todo="Give the address of the time stamp authority."
        )
    query = urllib.request.Request(url, request, {"Content-Type": "application/timestamp-query"})
    try:
        with urllib.request.urlopen(query, timeout=timeout_s) as answer:
            return bytes(answer.read(1 << 20))
    except (urllib.error.URLError, OSError) as error:
        raise BadInput(
            f"The time stamp authority can't be reached ({error}).",
            where=url,
            todo="Go on without: a later stamp closes the bracket later, and the record says so.",
        ) from error


def record_stamp(
    ledger: Ledger, note: str, response: bytes, chain_pem: bytes, signer: Signer, at: datetime
) -> Record:
    """Check a time stamp over a head of this record, and record it.

    Two programs check it, one of them the audit's own; what neither accepts is not recorded. The library refuses responses
    whose sets are not in DER order, which some authorities send, so its refusal to read is not held against the stamp.

    Args:
        ledger: The record.
        note: Text of the checkpoint that was stamped.
        response: DER of the authority's response, kept as it is.
        chain_pem: Certificates of the authority, root included.
        signer: This device.
        at: Time by this device's clock.

    Returns:
        The record.

    Raises:
        BadInput: If the stamp does not hold for this checkpoint, or the checkpoint is not one of this record.
    """
    _of_this_record(ledger, note)
    try:
        instant, authority = read_token(response, note.encode(), [chain_pem])
        _second_opinion(response, note.encode(), chain_pem)
    except ValueError as error:
        raise BadInput(
            f"The time stamp does not hold: {error}.",
            where="time stamp",
            todo="Ask the authority again; nothing was recorded.",
        ) from error
    body = {
        "checkpoint": note,
        "response_sha256": ledger.store.objects.put(response),
        "chain_sha256": ledger.store.objects.put(chain_pem),
        "instant": instant,
        "authority": authority,
    }
    return ledger.append("token", body, signer, at)


def issue_board(
    ledger: Ledger,
    number: int,
    derive: Callable[[str, str, int], Sequence[int]],
    signer: Signer,
    at: datetime,
    *,
    paper: str | None = None,
    check_length: Any = None,
) -> Record:
    """Issue a scale board for this pour: its marker ids follow from the present head, so no photo of it can be older.

    Args:
        ledger: The record.
        number: Board number.
        derive: Root in base64, pour id, board number -> marker ids in order.
        signer: Who issues it.
        at: Time by the signer's clock.
        paper: Sheet size of the board.
        check_length: Measured check length, if it was measured at once.

    Returns:
        The record; its body holds ``number``, ``head`` and ``ids``.

    Raises:
        NotAllowed: If the device is not enrolled, or its clock is behind the record.
        BadInput: If the ledger can't be written.
    """
    ledger.records()
    head = ledger.head()
    body = {
        "number": number,
        "head": {"size": head.size, "root": head.root_text},
        "ids": list(derive(head.root_text, ledger.pour, number)),
    }
    if paper is not None:
        body["paper"] = paper
    if check_length is not None:
        body["check_length"] = check_length
    return ledger.append("board", body, signer, at)


def time_brackets(ledger: Ledger) -> list[Bracket]:
    """Work out the bracket of time of every photo in a record that is still in use.

    Args:
        ledger: The record.

    Returns:
        One bracket a photo, in order. Stamps count as they were checked when they were recorded.
    """
    return brackets_in(ledger.records(), checked=True)


def brackets_in(records: Sequence[Record], *, checked: bool = False) -> list[Bracket]:
    """Work out the bracket of time of every photo among records, of a ledger or of a bundle.

    Args:
        records: The records, in order.
        checked: Whether their stamps were checked with certificates that this house trusts, as in its own ledger.

    Returns:
        One bracket a photo, in order. Stamps count as they were checked when they were recorded; the audit checks them anew.
    """
    plain = [{"seq": r.seq, "type": r.type, "pour": r.pour, "at": r.at, "body": r.body} for r in records]
    stamps = [stamp for r in records if r.type == "token" and (stamp := _told(r, checked)) is not None]
    return [bracket(record, plain, stamps) for record in plain if record["type"] == "photo"]


def _told(record: Record, checked: bool) -> Stamp | None:
    """A stamp as its record tells it; one that lacks a part bounds nothing, and is for the audit to complain about."""
    size = str(record.body.get("checkpoint")).split("\n")[1:2]
    instant, authority = (record.body.get(name) for name in ("instant", "authority"))
    if not (size and size[0].isdecimal() and isinstance(instant, str) and isinstance(authority, str)):
        return None
    return Stamp(record.seq, int(size[0]), instant, authority, checked)


def _of_this_record(ledger: Ledger, note: str) -> None:
    """A stamp over a head of another record, or of one that was rewritten since, proves nothing about this one."""
    head, size = read_head(note), len(ledger.records())
    if not 0 < head.size <= size or (head.origin, head.root) != (
        ledger.head().origin,
        ledger.head(head.size).root,
    ):
        raise BadInput(
            "The head that was stamped is not one of this record.",
            where="time stamp",
            todo="Give the .head file that was written with the request. If it is the right one, the record was changed since.",
        )


def _second_opinion(response: bytes, data: bytes, chain_pem: bytes) -> None:
    try:
        decoded = decode_timestamp_response(response)
    except ValueError:
        return
    builder = VerifierBuilder()
    for certificate in x509.load_pem_x509_certificates(chain_pem):
        own_issuer = certificate.subject == certificate.issuer
        add = builder.add_root_certificate if own_issuer else builder.add_intermediate_certificate
        builder = add(certificate)
    try:
        builder.build().verify_message(decoded, data)
    except VerificationError as error:
        raise ValueError(str(error)) from error
