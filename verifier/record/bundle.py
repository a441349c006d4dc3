"""Seal a record into one file that anybody can check with common tools, whole or for one element or photo."""

from __future__ import annotations

import hashlib
import os
import struct
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import BinaryIO
from urllib.parse import quote

import verifier
from verifier.errors import BadInput
from verifier.record.audit.container import TAG_FILES, Bag, central_header, end_records, local_header
from verifier.record.bundle_files import payload, program_files
from verifier.record.canonical import utc_text
from verifier.record.checkpoint import sign_head
from verifier.record.derived import Derived
from verifier.record.howto import how_to_check
from verifier.record.keys import Signer
from verifier.record.ledger import Ledger
from verifier.record.part import Part
from verifier.record.public_keys import key_id
from verifier.record.records import Record, read_record


@dataclass(frozen=True, slots=True)
class Sealed:
    """A bundle as written.

    Attributes:
        path: The zip.
        checkpoint: Its head, as signed text; hand it to somebody outside.
        files: Number of files.
        size_bytes: Size of the zip.
        shown: Number of records in it, of ``records`` in all.
        records: Number of records under the head.
    """

    path: Path
    checkpoint: str
    files: int
    size_bytes: int
    shown: int
    records: int


def write_bundle(
    ledger: Ledger,
    out: Path,
    device: Signer,
    at: datetime,
    *,
    derived: Sequence[Derived] = (),
    head_token: tuple[bytes, bytes] | None = None,
    part: Part | None = None,
    program: bool = True,
) -> Sealed:
    """Write a sealed bundle.

    Args:
        ledger: The record.
        out: The zip to write; an older file of that name is replaced only when the new one is complete.
        device: This device, enrolled; it signs head and file list.
        at: Date of sealing.
        derived: Pictures drawn from originals; those of records that are not shown are left out.
        head_token: Time stamp response over the checkpoint, and the authority's certificates (PEM).
        part: What to show and what to hold back; the whole record if not given.
        program: Add a copy of the audit as a program.

    Returns:
        What was written.

    Raises:
        BadInput: If the file can't be written.
        RecordDamaged: If an original is missing or changed.
    """
    records = ledger.records()
    seqs = set(part.seqs if part is not None else (r.seq for r in records))
    chosen = [r for r in records if r.seq in seqs]
    drawn = [d for d in derived if {d.photo.seq, d.measurement.seq} <= seqs]
    note = sign_head(ledger.head(), device)
    unfinished = out.with_name(out.name + ".part")
    try:
        with unfinished.open("wb") as stream:
            bag = _Writer(stream, f"{quote(ledger.pour, safe='')}-record")
            for name, content in payload(ledger, chosen, note, drawn, head_token, part):
                bag.add(name, content)
            for name, content in program_files() if program else ():
                bag.add(name, content)
            _tag_files(bag, ledger, chosen, device, at, part)
            bag.finish()
            stream.flush()
            os.fsync(stream.fileno())
        unfinished.replace(out)
    except OSError as error:
        unfinished.unlink(missing_ok=True)
        raise BadInput(
            f"The bundle can't be written ({error.strerror}).",
            where=str(out),
            todo="Choose a place with more room.",
        ) from error
    return Sealed(out, note, len(bag.sums["sha256"]), out.stat().st_size, len(chosen), len(records))


def _tag_files(
    bag: _Writer, ledger: Ledger, chosen: list[Record], device: Signer, at: datetime, part: Part | None
) -> None:
    extent = "whole" if part is None else f"part, {part.says}"
    payload = [name for name in bag.sums["sha256"] if name.startswith("data/")]
    info = {
        "Bag-Software-Agent": f"verifier {verifier.__version__}",
        "Bagging-Date": utc_text(at)[:10],
        "External-Identifier": ledger.head().origin,
        "Payload-Oxum": f"{bag.payload_bytes}.{len(payload)}",
        "Record-Extent": f"{extent}, {len(chosen)} of {len(ledger.records())} records",
        "Sealed-By-Key": key_id(device.public),
    }
    bag.add("bagit.txt", b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    bag.add("bag-info.txt", "".join(f"{name}: {value}\n" for name, value in info.items()).encode())
    bag.add(
        "HOW-TO-CHECK.txt",
        how_to_check(chosen, payload, key_id(device.public), part=part, size=len(ledger.records())).encode(),
    )
    for kind in ("sha256", "sha512"):
        bag.add(f"manifest-{kind}.txt", bag.manifest(kind, payload))
    tag_sums = {kind: bag.manifest(kind, TAG_FILES) for kind in ("sha256", "sha512")}
    for kind, content in tag_sums.items():
        bag.add(f"tagmanifest-{kind}.txt", content)
    bag.add("seal.sig", device.sign(tag_sums["sha256"]))


class _Writer:
    """Writes the container: files one after the other, then the directory. Every byte follows from the files."""

    def __init__(self, stream: BinaryIO, top: str) -> None:
        self._stream = stream
        self._top = top
        self._directory: list[tuple[bytes, int, int, int]] = []
        self.sums: dict[str, dict[str, str]] = {"sha256": {}, "sha512": {}}
        self.payload_bytes = 0

    def add(self, name: str, content: bytes | Path) -> None:
        if name in self.sums["sha256"]:
            return
        raw = f"{self._top}/{name}".encode("ascii")
        offset = self._stream.tell()
        self._stream.write(local_header(raw, 0, 0))
        small, large, crc, size = hashlib.sha256(), hashlib.sha512(), 0, 0
        for piece in _pieces(content):
            small.update(piece)
            large.update(piece)
            crc, size = zlib.crc32(piece, crc), size + len(piece)
            self._stream.write(piece)
        end = self._stream.tell()
        self._stream.seek(offset)
        self._stream.write(local_header(raw, crc, size))
        self._stream.seek(end)
        self._directory.append((raw, crc, size, offset))
        self.sums["sha256"][name], self.sums["sha512"][name] = small.hexdigest(), large.hexdigest()
        self.payload_bytes += size if name.startswith("data/") else 0

    def manifest(self, kind: str, names: Iterable[str]) -> bytes:
        return "".join(f"{self.sums[kind][name]}  {name}\n" for name in sorted(names)).encode()

    def finish(self) -> None:
        start = self._stream.tell()
        directory = b"".join(central_header(*entry) for entry in self._directory)
        self._stream.write(directory + end_records(len(self._directory), len(directory), start))


def _pieces(content: bytes | Path) -> Iterator[bytes]:
    if isinstance(content, bytes):
        yield content
        return
    with content.open("rb") as stream:
        while piece := stream.read(1 << 20):
            yield piece


def bundle_records(path: Path) -> list[Record]:
    """Read the records that a bundle shows, for the timeline; whether they hold is for the audit.

    Args:
        path: Sealed zip, or the folder of the bag.

    Returns:
        Records in order.

    Raises:
        BadInput: If it is no bundle or a line can't be read.
    """
    try:
        lines = Bag(path).read("data/ledger.jsonl").split(b"\n")[:-1]
        return [read_record(line) for line in lines]
    except (OSError, ValueError, zipfile.BadZipFile, struct.error, TypeError, RecursionError) as error:
        raise BadInput(
            f"The bundle can't be read ({error}).",
            where=str(path),
            todo="Run the audit: it says what is damaged.",
        ) from error


def bundle_origin(path: Path) -> str | None:
    """Read which record a bundle says to be of, without hashing all of it; whether that is so is for the audit.

    Args:
        path: Sealed zip, or the folder of the bag.

    Returns:
        Origin as in its head; None if it can't be read.
    """
    name = "data/checkpoint.txt"
    try:
        if path.is_dir():
            text = (path / name).read_bytes()
        else:
            with zipfile.ZipFile(path) as archive:
                text = archive.read(next(n for n in archive.namelist() if n.partition("/")[2] == name))
        return text.decode("utf-8").split("\n", 1)[0]
    except (OSError, ValueError, zipfile.BadZipFile, StopIteration, NotImplementedError, RuntimeError):
        return None
