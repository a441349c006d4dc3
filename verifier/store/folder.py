"""The folder of one pour: its originals and its ledger rows."""

from __future__ import annotations

import os
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

from verifier.errors import BadInput
from verifier.store.objects import Objects, Sweep, fsync_folder
from verifier.store.rows import Rows

_SHARED_FILE_SYSTEMS = {
    "nfs",
    "nfs4",
    "cifs",
    "smb3",
    "smbfs",
    "9p",
    "afs",
    "ceph",
    "fuse.sshfs",
    "fuse.rclone",
}


class PourFolder:
    """``FOLDER/record/``: originals under their hash, and the rows of the ledger.

    Args:
        folder: The pour folder; it must exist. ``record/`` is made inside it. A record that is there and can't be written,
            as on a read-only copy, is opened for reading.

    Attributes:
        root: The pour folder.
        writable: Whether anything can be recorded here.
        path: ``root/record``.
        objects: The originals.
        rows: The ledger rows.
        cautions: What a person should know about this place, for example that it lies on a network drive.

    Raises:
        BadInput: If the folder doesn't exist or can't be written.
        RecordDamaged: If the ledger file is damaged.
    """

    def __init__(self, folder: Path) -> None:
        if not folder.is_dir():
            raise BadInput(
                "There is no such folder.",
                where=str(folder),
                todo="Make a pour folder first, or correct the name.",
            )
        self.root = folder
        self.path = folder / "record"
        ledger = self.path / "ledger.sqlite"
        self.writable = not ledger.is_file() or all(os.access(p, os.W_OK) for p in (self.path, ledger))
        try:
            if self.writable:
                self.path.mkdir(exist_ok=True)
            self.objects = Objects(self.path, writable=self.writable)
            self.rows = Rows(ledger, writable=self.writable)
            if self.writable:
                _name_kept(self.path, ledger.stat().st_ino)
        except OSError as error:
            raise BadInput(
                f"The record can't be written ({error.strerror}).",
                where=str(self.path),
                todo="Check the rights of the folder and that the disk has room.",
            ) from error
        self.cautions = network_cautions(folder)

    def sweep(self, recorded: Iterable[str], *, now_s: float | None = None) -> Sweep:
        """Put right what a crash may have left; see :meth:`Objects.sweep`. A read-only record is left as it is.

        Args:
            recorded: Hashes that the ledger names.
            now_s: Present time in seconds since 1970; the clock is read if not given.

        Returns:
            What was adopted and what was moved aside.
        """
        return self.objects.sweep(recorded, now_s=now_s) if self.writable else Sweep()

    def close(self) -> None:
        """Let go of the ledger file."""
        self.rows.close()


def network_cautions(folder: Path, mounts: Path = Path("/proc/self/mountinfo")) -> tuple[str, ...]:
    """Say whether a folder lies on a shared file system, where SQLite's write-ahead log isn't safe.

    Args:
        folder: The folder in question.
        mounts: Table of mounted file systems in the Linux layout; where it is absent nothing can be said.

    Returns:
        One sentence of caution, or nothing.

    Source:
        SQLite documentation, "Write-Ahead Logging", section 1: all processes must be on the same host computer.
    """
    try:
        table = mounts.read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return ()
    place = folder.resolve()
    best, kind = Path("/"), ""
    for line in table:
        left, _, right = line.partition(" - ")
        at = Path(left.split()[4].replace("\\040", " "))
        if place.is_relative_to(at) and len(at.parts) >= len(best.parts):
            best, kind = at, right.split()[0]
    if kind not in _SHARED_FILE_SYSTEMS:
        return ()
    return (
        f"{folder} lies on a shared drive ({kind}). A lost connection can damage the ledger: "
        "keep the pour folder on a local disk and share the sealed bundle instead.",
    )


@lru_cache(maxsize=1000)
def _name_kept(place: Path, inode: int) -> None:
    """Make the names in a folder survive a loss of power: once in a process is enough, whoever made them."""
    del inode  # of the ledger: tells one made anew under the same name
    fsync_folder(place)
