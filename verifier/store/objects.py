"""Original files kept under the hash of their bytes: written once, read-only, never deleted."""

from __future__ import annotations

import errno
import hashlib
import os
import secrets
import shutil
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from verifier.errors import BadInput, RecordDamaged

CHUNK_BYTES = 1 << 20
WRITER_MAY_LIVE_S = 600.0
"""A half-written file younger than this may belong to a writer that is still at work."""

_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}


@dataclass(frozen=True, slots=True)
class Sweep:
    """What the start-up sweep found. Nothing is ever deleted.

    Attributes:
        adopted: Hashes of whole originals that no record names yet; they stay in place and a repeated intake finds them.
        quarantined: Files that were moved aside, under ``quarantine/``: half-written, or not what their name says.
    """

    adopted: tuple[str, ...] = ()
    quarantined: tuple[Path, ...] = ()


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file's bytes in hexadecimal.

    Args:
        path: The file; read in pieces, so its size doesn't matter.

    Returns:
        64 lower-case hexadecimal digits.
    """
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


class Objects:
    """A folder of original files, each named by the SHA-256 of its bytes.

    Args:
        folder: The record folder; holds ``objects/``, ``incoming/`` and ``quarantine/``.
        writable: False to read only; folders that are missing are then not made.
    """

    def __init__(self, folder: Path, *, writable: bool = True) -> None:
        self._objects = folder / "objects"
        self._incoming = folder / "incoming"
        self._quarantine = folder / "quarantine"
        for place in (self._objects, self._incoming, self._quarantine) if writable else ():
            place.mkdir(parents=True, exist_ok=True)

    def path_of(self, sha256: str) -> Path:
        """Return where the original with this hash lies or would lie.

        Args:
            sha256: 64 lower-case hexadecimal digits.

        Returns:
            The path; the file need not exist.

        Raises:
            BadInput: If the text is not such a hash, so that no foreign text ever becomes a path.
        """
        if len(sha256) != 64 or not set(sha256) <= set("0123456789abcdef"):
            raise BadInput(
                f"{sha256!r} is not a SHA-256.",
                where="originals",
                todo="Give the 64 hexadecimal digits that the record names.",
            )
        return self._objects / sha256[:2] / sha256

    def put(self, data: bytes) -> str:
        """Keep these bytes and return their hash once they are safe on the disk.

        Args:
            data: The bytes as received; nothing has decoded them.

        Returns:
            SHA-256 in hexadecimal. The same bytes twice are kept once.

        Raises:
            BadInput: If the disk is full or can't be written; nothing half-written is left behind.
            RecordDamaged: If an original of that name is already there with other bytes.
        """
        return self._keep([data])

    def put_file(self, source: Path) -> str:
        """Keep a copy of a file, piece by piece.

        Args:
            source: The file as received.

        Returns:
            SHA-256 of the bytes that were read and written.

        Raises:
            BadInput: If the file can't be read, or the disk is full.
            RecordDamaged: If an original of that name is already there with other bytes.
        """
        return self._keep(_pieces(source))

    def read(self, sha256: str) -> bytes:
        """Return the bytes of an original after hashing them again.

        Args:
            sha256: The name that the record gives.

        Returns:
            The bytes as received.

        Raises:
            RecordDamaged: If the file is missing or its bytes no longer have this hash.
        """
        path = self.path_of(sha256)
        try:
            data = path.read_bytes()
        except FileNotFoundError:
            raise RecordDamaged(
                "This original is missing.",
                where=str(path),
                todo="Bring it back from a copy; the hash will tell.",
            ) from None
        if hashlib.sha256(data).hexdigest() != sha256:
            raise RecordDamaged(
                "The bytes of this original have changed.",
                where=str(path),
                todo="Keep it aside as found and bring the true one back from a copy.",
            )
        return data

    def names(self) -> Iterator[str]:
        """Yield the hash names of all originals present, in order, without reading them.

        Yields:
            Hexadecimal SHA-256 of each, in order.
        """
        for shelf in sorted(self._objects.iterdir()):
            if shelf.is_dir():
                yield from sorted(entry.name for entry in shelf.iterdir())

    def sweep(self, recorded: Iterable[str], *, now_s: float | None = None) -> Sweep:
        """Look for what a crash may have left, and put it where it does no harm.

        Args:
            recorded: Hashes that the ledger names.
            now_s: Present time in seconds since 1970, for tests; the clock is read if not given.

        Returns:
            What was adopted and what was moved aside.
        """
        now_s = time.time() if now_s is None else now_s
        known = set(recorded)
        left = [part for part in sorted(self._incoming.iterdir()) if _older(part, now_s - WRITER_MAY_LIVE_S)]
        aside = [self._set_aside(part) for part in left]
        adopted = []
        for name in self.names():
            if name in known:
                continue
            stray = self._objects / name[:2] / name
            if stray.is_file() and sha256_of(stray) == name:
                adopted.append(name)
            else:
                aside.append(self._set_aside(stray))
        return Sweep(tuple(adopted), tuple(aside))

    def ensure_room(self, size_bytes: int) -> None:
        """Refuse a batch before its first byte is written if the disk can't take it.

        Args:
            size_bytes: Sum of the sizes of the files to come.

        Raises:
            BadInput: If less than this and a tenth more is free.
        """
        free = shutil.disk_usage(self._objects).free
        if free < size_bytes * 11 // 10:
            raise BadInput(
                f"{size_bytes / 1e6:.0f} MB are to be stored and {free / 1e6:.0f} MB are free.",
                where=str(self._objects),
                todo="Free some space or move the pour folder to a larger disk; nothing was stored.",
            )

    def _keep(self, pieces: Iterable[bytes]) -> str:
        part = self._incoming / f"{os.getpid()}-{secrets.token_hex(8)}.part"
        digest = hashlib.sha256()
        try:
            with part.open("xb") as stream:
                for piece in pieces:
                    digest.update(piece)
                    stream.write(piece)
                stream.flush()
                os.fsync(stream.fileno())
            part.chmod(0o440)
            return self._shelve(part, digest.hexdigest())
        except OSError as error:
            raise _unwritten(error, self._objects) from error
        finally:
            part.unlink(missing_ok=True)  # only there if unfinished; the source still has the bytes

    def _shelve(self, part: Path, sha256: str) -> str:
        target = self.path_of(sha256)
        if target.exists():
            part.unlink()
            self.read(sha256)
            return sha256
        if not target.parent.exists():
            target.parent.mkdir(exist_ok=True)
            fsync_folder(self._objects)
        part.rename(target)
        fsync_folder(target.parent)
        return sha256

    def _set_aside(self, path: Path) -> Path:
        place = self._quarantine / f"{path.name}.{secrets.token_hex(4)}"
        path.rename(place)
        return place


def _older(part: Path, than_s: float) -> bool:
    """Whether a file was last written before a moment; one that its writer has finished meanwhile is not there to be old."""
    try:
        return part.stat().st_mtime < than_s
    except FileNotFoundError:
        return False


def fsync_folder(folder: Path) -> None:
    """Make a rename in this folder survive a loss of power.

    Args:
        folder: The folder whose entries have just changed.
    """
    if os.name == "nt":  # that system has no handle on a folder; its file system journals the rename itself
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _pieces(source: Path) -> Iterator[bytes]:
    try:
        with source.open("rb") as stream:
            while piece := stream.read(CHUNK_BYTES):
                yield piece
    except OSError as error:
        raise BadInput(
            f"The file can't be read ({error.strerror}).",
            where=str(source),
            todo="Check that it exists and may be read; nothing was stored.",
        ) from error


def _unwritten(error: OSError, place: Path) -> BadInput:
    if error.errno in _FULL:
        return BadInput(
            "The disk is full.",
            where=str(place),
            todo="Free some space and add the file again; it was not stored.",
        )
    return BadInput(
        f"The folder can't be written ({error.strerror}).",
        where=str(place),
        todo="Check the rights of the folder and add the file again; it was not stored.",
    )
