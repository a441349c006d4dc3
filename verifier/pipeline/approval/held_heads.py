"""Heads that somebody keeps outside of the record, typed in or brought as the own file, and held against the record."""

from __future__ import annotations

import io
import re
import tempfile
from datetime import datetime
from pathlib import Path

import segno

from verifier.errors import BadInput, NotAllowed, RecordDamaged
from verifier.pipeline.people.acting import existing
from verifier.pipeline.sealing.recording import head_of
from verifier.record.approval import HeldHead
from verifier.record.checkpoint import read_head, sign_head
from verifier.record.heads import KeptHeads, notes_in
from verifier.record.keys import DeviceSigner, device_signer
from verifier.record.ledger import Ledger
from verifier.wording import counted

_SHORT = re.compile(
    r"(\d{1,9})[-\s]+([A-Z2-7]{4})[-\s]*([A-Z2-7]{4})[-\s]*([A-Z2-7]{4})[-\s]*([A-Z2-7]{4})", re.ASCII
)

_LARGEST_FILE = 2_000_000
"""More than ten years of heads, one a day. [bytes]"""


def head_to_keep(folder: Path, at: datetime) -> tuple[str, str, str]:
    """Give out the present head, to be kept outside.

    Args:
        folder: The pour folder.
        at: Moment of the act.

    Returns:
        Its short form, the signed text, and that text as a QR code (SVG).

    Raises:
        BadInput: If there is no record.
    """
    head, note = head_of(folder, at)
    drawn = io.BytesIO()
    segno.make(note, error="m", micro=False).save(drawn, kind="svg", border=4, xmldecl=False)
    return head.short, note, drawn.getvalue().decode()


def held_from_short(folder: Path, typed: str, holder: str) -> HeldHead:
    """Take a head that a person keeps, and see whether the record continues it.

    Args:
        folder: The pour folder.
        typed: Short form as kept, ``41-ABCD-EFGH-IJKL-MNOP``; small letters and blanks are forgiven.
        holder: Who keeps it.

    Returns:
        The head as a release binds it.

    Raises:
        BadInput: If it is no short form of a head.
        RecordDamaged: If the record contradicts it: history was cut or rewritten since it was kept.
    """
    found = _SHORT.fullmatch(typed.strip().upper())
    if found is None:
        raise BadInput(
            "This is no short form of a head.",
            where="head",
            todo="Type it as you keep it: a number and four groups of four letters, such as 41-ABCD-EFGH-IJKL-MNOP.",
        )
    size, short = int(found[1]), "-".join(found.groups())
    ledger = existing(folder)
    try:
        head = ledger.head(size) if 0 < size <= len(ledger.records()) else None
    finally:
        ledger.close()
    if head is None or head.short != f"{size}-{short.split('-', 1)[1]}":
        raise RecordDamaged(
            f"This record does not continue the head {short}.",
            where="head",
            todo="Compare it letter by letter with what you keep. If it is right, records were cut, changed or replaced: "
            "do not release, and ask for the record that your head belongs to.",
        )
    return HeldHead(size=size, root=head.root_text, holder=holder, kept="short form kept by the person")


def held_from_file(
    folder: Path, content: bytes, holder: str, at: datetime, device: DeviceSigner | None = None
) -> tuple[HeldHead, bytes]:
    """Take a person's own file of the heads seen so far, and ask the record to continue every one of them.

    The file stays the person's: nothing of it is kept here, and what is handed back holds the present head besides.

    Args:
        folder: The pour folder.
        content: The file as ``--head-out`` wrote it or as this function gave it back, or a single head as text.
        holder: Who keeps it.
        at: Moment of the act.
        device: This device's key; that of this installation if not given.

    Returns:
        The newest head that was in the file, as a release binds it, and the file with the present head added.

    Raises:
        BadInput: If it is no such file.
        NotAllowed: If it holds no head of this record, so that nothing is held outside.
        RecordDamaged: If the record contradicts one of the heads: history was cut or rewritten since it was seen.
    """
    notes = _notes(content)
    ledger = existing(folder)
    try:
        present = ledger.head()
        seen = sorted(
            (note for note in notes if read_head(note).origin == present.origin),
            key=lambda n: read_head(n).size,
        )
        if not seen:
            raise NotAllowed(
                "The file holds no head of this record.",
                where="head",
                todo="Bring the file in which you keep the heads of this pour, or take the present head down first.",
            )
        for note in seen:
            _continues(ledger, note)
        with tempfile.TemporaryDirectory() as place:
            path = Path(place) / "heads.jsonl"
            kept = KeptHeads(path, holder)
            if content.startswith(b"{"):
                path.write_bytes(content)
            else:
                kept.accept(seen[0], [], at)
            size = kept.needs_proof_from(present.origin)
            kept.accept(sign_head(present, device or device_signer()), ledger.consistency(size), at)
            grown = path.read_bytes()
        last = read_head(seen[-1])
        held = HeldHead(size=last.size, root=last.root_text, holder=holder, kept="file of kept heads")
        return held, grown
    finally:
        ledger.close()


def _notes(content: bytes) -> list[str]:
    """The heads in a person's file; a single head may come as it was taken down."""
    if len(content) > _LARGEST_FILE:
        raise BadInput("This file is too large for one of heads.", where="head", todo="Choose another file.")
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise BadInput("This is no file of kept heads.", where="head", todo="Choose another file.") from error
    notes = notes_in(text, where="head") if text.startswith("{") else [text]
    for note in notes:
        read_head(note)
    return notes


def _continues(ledger: Ledger, note: str) -> None:
    """Refuse a head that is none of this record; two of one size can't both be."""
    head = read_head(note)
    known = head.size <= len(ledger.records())
    if not known or ledger.head(head.size).root != head.root:
        raise RecordDamaged(
            f"This record does not continue the head over {counted(head.size, 'record')} in your file.",
            where="head",
            todo="Records were cut, changed or replaced since: do not release. Keep the file, and ask for the record that it "
            "belongs to.",
        )
