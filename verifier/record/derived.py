"""Pictures drawn from originals: for reading, never evidence, and each tied to the records that it was drawn from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from verifier.record.records import Record

INDEX = "WHAT-THIS-IS.txt"
_HEAD = """\
DERIVED PICTURES: FOR READING, NOT EVIDENCE

A program drew them from an original in this record and from what was measured in it. They prove nothing: look at the
original, and measure it again, where it matters. Each line below names a picture, what it shows, the record that brought
the original, the record that holds the measurement, and the SHA-256 of the original. Columns are parted by tabs.

"""


@dataclass(frozen=True, slots=True)
class Derived:
    """One picture.

    Attributes:
        name: File name, ASCII letters, digits and ``-_.`` only.
        content: Its bytes.
        shows: What it shows, in a few words.
        photo: Record that brought the original.
        measurement: Record of the measurement that is drawn in.
    """

    name: str
    content: bytes
    shows: str
    photo: Record
    measurement: Record


def derived_files(pictures: Sequence[Derived]) -> Iterator[tuple[str, bytes]]:
    """Yield the files of the folder ``derived``, the index first.

    Args:
        pictures: The pictures; without any there is no folder.

    Yields:
        File name and content.
    """
    if not pictures:
        return
    lines = (
        f"{p.name}\t{p.shows}\trecord {p.photo.seq}\trecord {p.measurement.seq}\t{p.photo.body['sha256']}\n"
        for p in pictures
    )
    yield INDEX, (_HEAD + "".join(lines)).encode()
    for picture in pictures:
        yield picture.name, picture.content
