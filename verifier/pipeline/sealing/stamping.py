"""Time stamps of an authority over the head of a record: asked for here or carried by hand, and put into the record.

A head with a stamp over it proves that every record under it existed by then, whatever any clock on site said. The authority
sees the hash of the head and nothing of the pour.

FOLDER/authority.toml   optional: ``url`` of an authority and ``certificates``, a PEM file beside it with the authority's
                        certificates up to its root
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pydantic import BaseModel, ValidationError

from verifier.errors import BadInput
from verifier.pipeline.people.acting import existing
from verifier.pipeline.sealing.recording import head_of
from verifier.record.keys import DeviceSigner, device_signer
from verifier.record.ledger import Record
from verifier.record.people import join_device
from verifier.record.stamps import fetch_stamp, record_stamp, stamp_request

AUTHORITY_FILE = "authority.toml"


class _Configured(BaseModel, frozen=True, extra="forbid"):
    url: str
    certificates: str


@dataclass(frozen=True, slots=True)
class Authority:
    """A time stamp authority that a pour uses.

    Attributes:
        url: Its address, ``http`` or ``https``.
        certificates: File with its certificates in PEM form, up to its root.
    """

    url: str
    certificates: Path


@dataclass(frozen=True, slots=True)
class Asked:
    """A request on its way: the file for the authority, and the head that it is over."""

    request: Path
    head: Path


def authority_of(folder: Path) -> Authority | None:
    """Read which authority a pour uses.

    Args:
        folder: The pour folder.

    Returns:
        The authority, None if none is configured.

    Raises:
        BadInput: If the file can't be used.
    """
    path = folder / AUTHORITY_FILE
    if not path.is_file():
        return None
    try:
        told = _Configured.model_validate(tomllib.loads(path.read_text(encoding="utf-8")))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, ValidationError) as error:
        raise BadInput(
            "The time stamp authority of this pour can't be read.",
            where=str(path),
            todo='Write url = "https://..." and certificates = "authority.pem", a file beside it.',
        ) from error
    return Authority(told.url, folder / told.certificates)


def ask_stamp(folder: Path, out: Path, at: datetime, device: DeviceSigner | None = None) -> Asked:
    """Write a request for a time stamp over the present head, to be carried to an authority by hand.

    Args:
        folder: The pour folder.
        out: File for the request; the head is written beside it with the ending ``.head``.
        at: Moment of the act.
        device: This device's key; that of this installation if not given.

    Returns:
        Both files. The head must be kept until the response is back.

    Raises:
        BadInput: If there is no record, or a file of either name is there already.
    """
    _, note = head_of(folder, at, device)
    asked = Asked(out, out.with_suffix(".head"))
    _written_new(asked.head, note.encode())
    _written_new(asked.request, stamp_request(note))
    return asked


def take_stamp(
    folder: Path,
    response: Path,
    certificates: Path,
    at: datetime,
    *,
    head: Path | None = None,
    device: DeviceSigner | None = None,
) -> Record:
    """Check the response of an authority and put it into the record.

    Args:
        folder: The pour folder.
        response: The authority's response (DER).
        certificates: The authority's certificates (PEM), root included.
        at: Moment of the act.
        head: The head that was stamped; beside the response with the ending ``.head`` if not given.
        device: This device's key; that of this installation if not given.

    Returns:
        The record.

    Raises:
        BadInput: If a file can't be read, or the stamp does not hold over a head of this record; nothing is recorded then.
    """
    note = _read(head or response.with_suffix(".head")).decode(errors="replace")
    return _recorded(folder, note, _read(response), _read(certificates), at, device)


def fetch_and_record(
    folder: Path, authority: Authority, at: datetime, device: DeviceSigner | None = None
) -> Record:
    """Ask an authority over the network for a time stamp over the present head, and put it into the record.

    Args:
        folder: The pour folder.
        authority: Whom to ask.
        at: Moment of the act.
        device: This device's key; that of this installation if not given.

    Returns:
        The record.

    Raises:
        BadInput: If the authority can't be reached or its stamp does not hold; nothing is recorded then.
    """
    certificates = _read(authority.certificates)
    _, note = head_of(folder, at, device)
    response = fetch_stamp(authority.url, stamp_request(note))
    return _recorded(folder, note, response, certificates, at, device)


def _recorded(
    folder: Path,
    note: str,
    response: bytes,
    certificates: bytes,
    at: datetime,
    device: DeviceSigner | None,
) -> Record:
    signer = device or device_signer()
    ledger = existing(folder)
    try:
        join_device(ledger, signer, at)
        return record_stamp(ledger, note, response, certificates, signer, at)
    finally:
        ledger.close()


def _read(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise BadInput(
            f"This file can't be read ({error.strerror}).", where=str(file), todo="Correct its name."
        ) from error


def _written_new(file: Path, content: bytes) -> None:
    try:
        with file.open("xb") as stream:
            stream.write(content)
    except OSError as error:
        raise BadInput(
            f"The request can't be written ({error.strerror}).",
            where=str(file),
            todo="Choose another name; an earlier request and its head are not written over.",
        ) from error
