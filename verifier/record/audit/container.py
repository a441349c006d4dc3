"""The sealed file: a zip whose every byte follows from the files in it, and a bag whose every file is listed."""

from __future__ import annotations

import hashlib
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from .facts import OPEN, Fact, fact

_DOS_DATE = (
    1 << 5
) | 1  # 1980-01-01, the first day the format knows: a bundle carries its times in the record
_BIG = 0xFFFFFFFF
_PLAIN_PART = re.compile(r"(?!\.{1,2}$)[A-Za-z0-9_~%.+-]+(?<!\.)", re.ASCII)
"""What a part of a name may be: the same on every system, in every program, and harmless wherever it is unpacked to."""
_LARGE = 50_000_000


def local_header(name: bytes, crc: int, size: int) -> bytes:
    """Return what stands before a file in the container (stored, not compressed; no time, no attributes).

    Args:
        name: Name inside the zip, with the top folder.
        crc: CRC-32 of the file.
        size: Its size. [bytes]

    Returns:
        Header bytes.
    """
    return (
        struct.pack("<IHHHHHIIIHH", 0x04034B50, 20, 0, 0, 0, _DOS_DATE, crc, size, size, len(name), 0) + name
    )


def central_header(name: bytes, crc: int, size: int, offset: int) -> bytes:
    """Return a file's entry in the directory at the end; from 4 GiB on, its place moves to a zip64 field.

    Args:
        name: Name inside the zip, with the top folder.
        crc: CRC-32 of the file.
        size: Its size. [bytes]
        offset: Where its own header begins. [bytes]

    Returns:
        Entry bytes.
    """
    extra = struct.pack("<HHQ", 1, 8, offset) if offset >= _BIG else b""
    head = struct.pack(
        "<IHHHHHHIIIHHHHHII",
        *(0x02014B50, 0x0314, 45 if extra else 20, 0, 0, 0, _DOS_DATE, crc, size, size),
        *(len(name), len(extra), 0, 0, 0, 0o100444 << 16, min(offset, _BIG)),
    )
    return head + name + extra


def end_records(count: int, size: int, offset: int) -> bytes:
    """Return what closes the container.

    Args:
        count: Number of files.
        size: Size of the directory. [bytes]
        offset: Where the directory begins. [bytes]

    Returns:
        Closing bytes.
    """
    out = b""
    if count >= 0xFFFF or offset >= _BIG:
        out += struct.pack("<IQHHIIQQQQ", 0x06064B50, 44, 0x0314, 45, 0, 0, count, count, size, offset)
        out += struct.pack("<IIQI", 0x07064B50, 0, offset + size, 1)
    few = min(count, 0xFFFF)
    return out + struct.pack("<IHHHHIIH", 0x06054B50, 0, 0, few, few, size, min(offset, _BIG), 0)


class Changing(ValueError):  # noqa: N818 - it reads as what it is
    """A file that somebody changes during the audit, so that nothing can be said of it."""


class Bag:
    """The files of a bundle, by name inside the bag, each hashed once."""

    def __init__(self, path: Path) -> None:
        self.sha256: dict[str, str] = {}
        self.sha512: dict[str, str] = {}
        self._container: list[str] | None = None
        self._places: dict[str, tuple[Path, int, int]] = {}
        if path.is_dir():
            for file in sorted(path.rglob("*")):
                if file.is_symlink() or not (file.is_file() or file.is_dir()):
                    raise ValueError(f"{file.name} is a link or no plain file")
                if file.is_file():
                    self._places[file.relative_to(path).as_posix()] = (file, 0, file.stat().st_size)
            if not self._places:
                raise ValueError("the folder is empty")
        else:
            self._container = []
            self._open_zip(path)
        total = sum(size for _, _, size in self._places.values())
        if total > _LARGE:  # hashing lets go of the interpreter, so threads use every core
            with ThreadPoolExecutor() as pool:
                list(pool.map(self._hash, self._places))
        else:
            for name in self._places:
                self._hash(name)

    def _open_zip(self, path: Path) -> None:
        with zipfile.ZipFile(path) as archive:
            entries = [(i.orig_filename, i.CRC, i.file_size, i.compress_type) for i in archive.infolist()]
        if not entries:
            raise ValueError("it is empty")
        faults = self._container if self._container is not None else []
        offset, directory, met = 0, b"", set[str]()
        with path.open("rb") as stream:
            for name, crc, size, how in entries:
                if how != zipfile.ZIP_STORED:
                    raise ValueError("it holds compressed files, which a sealed bundle does not")
                raw = name.encode("utf-8", "surrogateescape")
                header = local_header(raw, crc, size)
                stream.seek(offset)
                if stream.read(len(header)) != header:
                    faults.append(f"{name}: its header is not what sealing writes")
                top, _, inside = name.partition("/")
                plain = all(_PLAIN_PART.fullmatch(part) for part in name.split("/"))
                if not inside or not plain or top != entries[0][0].partition("/")[0]:
                    raise ValueError(f"it holds the name {name!r}")
                if inside.lower() in met:
                    raise ValueError(f"it holds {name!r} twice, as some systems read names")
                met.add(inside.lower())
                self._places[inside] = (path, offset + len(header), size)
                directory += central_header(raw, crc, size, offset)
                offset += len(header) + size
            stream.seek(offset)
            closing = directory + end_records(len(entries), len(directory), offset)
            if stream.read(len(closing) + 1) != closing:
                faults.append("the directory at its end is not what sealing writes")
        self._crc = {name.partition("/")[2]: crc for name, crc, _, _ in entries}

    def _hash(self, name: str) -> None:
        small, large, crc = hashlib.sha256(), hashlib.sha512(), 0
        for piece in self._pieces(name):
            small.update(piece)
            large.update(piece)
            crc = zlib.crc32(piece, crc) if self._container is not None else 0
        self.sha256[name], self.sha512[name] = small.hexdigest(), large.hexdigest()
        if self._container is not None and crc != self._crc[name]:
            self._container.append(f"{name}: its check sum in the container differs")

    def _pieces(self, name: str) -> Iterator[bytes]:
        path, offset, size = self._places[name]
        with path.open("rb") as stream:
            stream.seek(offset)
            while size > 0 and (piece := stream.read(min(size, 1 << 20))):
                size -= len(piece)
                yield piece

    def names(self, prefix: str = "") -> list[str]:
        """Return the names that begin so, in order.

        Args:
            prefix: How the names begin.

        Returns:
            Names inside the bag.
        """
        return sorted(name for name in self._places if name.startswith(prefix))

    def read(self, name: str) -> bytes:
        """Return a file's bytes; none if it isn't there.

        Args:
            name: Name inside the bag.

        Returns:
            Bytes, the very ones that were hashed.

        Raises:
            Changing: If they are others by now.
        """
        if name not in self._places:
            return b""
        content = b"".join(self._pieces(name))
        if hashlib.sha256(content).hexdigest() != self.sha256[name]:
            raise Changing(f"{name} was changed while it was read")
        return content

    def text(self, name: str) -> str:
        """Return a file as text; what isn't UTF-8 is replaced, and so matches nothing.

        Args:
            name: Name inside the bag.

        Returns:
            Text.
        """
        return self.read(name).decode("utf-8", "replace")

    def container_fact(self) -> Fact:
        """Say whether the zip itself is as sealing writes it.

        Returns:
            The fact; open where a folder was given.
        """
        if self._container is None:
            return Fact("container", OPEN, "A folder was given, so the sealed zip itself was not looked at.")
        say = "The zip is byte for byte as sealing writes it."
        return fact("container", self._container, say, "The zip was changed or packed again.")

    def bytes_fact(self) -> Fact:
        """Recompute all four manifests; any difference, even of a blank, is a finding.

        Returns:
            The fact, with the name of every file that differs.
        """
        faults = []
        if self.read("bagit.txt") != b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n":
            faults.append("bagit.txt is not that of a BagIt 1.0 bag in UTF-8")
        tags = [n for n in self.names() if n in TAG_FILES]
        for kind, sums in (("sha256", self.sha256), ("sha512", self.sha512)):
            for manifest, names in (
                (f"manifest-{kind}.txt", self.names("data/")),
                (f"tagmanifest-{kind}.txt", tags),
            ):
                expected = "".join(f"{sums[name]}  {name}\n" for name in names)
                if self.text(manifest) != expected:
                    faults += _differing(manifest, self.text(manifest), expected)
        return fact(
            "bytes intact",
            faults,
            f"All {len(self._places)} files have the sums in the manifests (SHA-256 and SHA-512).",
            "Files differ from the manifests.",
        )

    def listing_fact(self) -> Fact:
        """Say whether files were added beside those listed, or taken away.

        Returns:
            The fact, with the name of every file that is strange or missing.
        """
        known = {*TAG_FILES, "tagmanifest-sha256.txt", "tagmanifest-sha512.txt", "seal.sig"}
        strange = [n for n in self.names() if not n.startswith("data/") and n not in known]
        missing = [n for n in (*known, "data/ledger.jsonl", "data/checkpoint.txt") if n not in self._places]
        faults = [f"{n} does not belong in a bundle" for n in strange] + [f"{n} is missing" for n in missing]
        return fact(
            "listing", faults, "The bundle holds what it must and nothing beside it.", "The listing is wrong."
        )


TAG_FILES = ("HOW-TO-CHECK.txt", "bag-info.txt", "bagit.txt", "manifest-sha256.txt", "manifest-sha512.txt")


def _differing(manifest: str, found: str, expected: str) -> list[str]:
    there, needed = set(found.splitlines()), set(expected.splitlines())
    names = {line[-1] for line in (entry.split("  ", 1) for entry in there ^ needed)}
    return [f"{manifest}: {name}" for name in sorted(names)] or [f"{manifest}: not written as it should be"]
