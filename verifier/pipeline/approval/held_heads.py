"""A head that somebody keeps outside of the record, typed in from where it is kept, and held against the record."""

from __future__ import annotations

import io
import re
from datetime import datetime
from pathlib import Path

import segno

from verifier.errors import BadInput, RecordDamaged
from verifier.pipeline.people.acting import existing
from verifier.pipeline.sealing.recording import head_of
from verifier.record.approval import HeldHead

_SHORT = re.compile(
    r"(\d{1,9})[-\s]+([A-Z2-7]{4})[-\s]*([A-Z2-7]{4})[-\s]*([A-Z2-7]{4})[-\s]*([A-Z2-7]{4})", re.ASCII
)


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
