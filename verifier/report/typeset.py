"""Set the release document as PDF/A-3 with the ledger attached."""

from __future__ import annotations

import io
import json
import re
import tempfile
from collections.abc import Mapping
from datetime import datetime
from importlib import resources
from pathlib import Path
from typing import Any

import segno
import typst

from verifier.errors import BadInput
from verifier.report.sheet import ReleaseSheet
from verifier.wording import spelled

_PLAIN = re.compile(r"[^\u0000-\u052f\u2000-\u22ff]")
"""Letters that fonts commonly lack; only looked at when the document can't be set without."""


def release_pdf(sheet: ReleaseSheet, ledger: bytes, at: datetime) -> bytes:
    """Typeset a release document; the same input gives the same bytes.

    The writer claims PDF/A-3b and refuses what the format forbids; the tests look the rules up in the file with another library.

    Args:
        sheet: What stands on it.
        ledger: The lines of the record, attached as ``ledger.jsonl``.
        at: Time of making, written into the file's metadata.

    Returns:
        PDF bytes, not yet sealed (:func:`verifier.report.pdf_seal.seal_pdf`).

    Raises:
        BadInput: If a picture can't be read, or a letter can't be shown by any font.

    Source:
        ISO 19005-3:2012 (PDF/A-3), as the typesetter implements it.
    """
    data = sheet.model_dump(mode="python", exclude={"pictures"})
    pictures = {
        name: _file_name(number, content) for number, (name, content) in enumerate(sheet.pictures.items())
    }
    data["files"] = pictures
    data["findings"] = [
        f | {"picture": f["picture"] if f["picture"] in pictures else ""} for f in data["findings"]
    ]
    files: dict[str, bytes] = {
        "main.typ": resources.files("verifier.report").joinpath("release.typ").read_bytes(),
        "head.svg": qr(sheet.head.note),
        "ledger.jsonl": ledger,
        "checkpoint.txt": sheet.head.note.encode(),
    }
    files |= {pictures[name]: content for name, content in sheet.pictures.items()}
    files |= {f"bar-{n}.svg": f.bar.encode() for n, f in enumerate(sheet.findings, 1) if f.bar}
    return compiled(files, data, at)


def card_pdf(card: Mapping[str, Any], note: str, at: datetime) -> bytes:
    """Typeset a pour card.

    Args:
        card: What stands on it, as ``card.typ`` reads it.
        note: The signed head of the record, which the QR code carries.
        at: Time of making.

    Returns:
        PDF bytes.

    Raises:
        BadInput: If a letter can't be shown by any font.
    """
    files = {
        "main.typ": resources.files("verifier.report").joinpath("card.typ").read_bytes(),
        "head.svg": qr(note),
    }
    return compiled(files, dict(card), at)


def order_pdf(order: Mapping[str, Any], at: datetime) -> bytes:
    """Typeset an order sheet.

    Args:
        order: What stands on it, as ``order.typ`` reads it.
        at: Time of making.

    Returns:
        PDF bytes.

    Raises:
        BadInput: If a letter can't be shown by any font.
    """
    files = {"main.typ": resources.files("verifier.report").joinpath("order.typ").read_bytes()}
    return compiled(files, dict(order), at)


def compiled(
    files: Mapping[str, bytes], data: dict[str, Any], at: datetime, *, document: str = "release document"
) -> bytes:
    """Set with the built-in fonts; else with the system's; else with rare letters spelled out as their code points.

    Args:
        files: Template ``main.typ`` and what it reads besides ``sheet.json``.
        data: What ``sheet.json`` holds.
        at: Time of making.
        document: What it is, for an error.

    Returns:
        PDF bytes.

    Raises:
        BadInput: If the document can't be set.
    """
    rare = json.loads(_PLAIN.sub(lambda m: f"[U+{ord(m[0]):04X}]", json.dumps(data, ensure_ascii=False)))
    attempts = ((data, True), (data, False), (rare, True))
    with tempfile.TemporaryDirectory() as folder:
        for name, content in files.items():
            (Path(folder) / name).write_bytes(content)
        for number, (words, own_fonts_only) in enumerate(attempts, 1):
            text = spelled(json.dumps(words, ensure_ascii=False))
            (Path(folder) / "sheet.json").write_text(text, encoding="utf-8")
            try:
                return typst.compile(
                    str(Path(folder) / "main.typ"),
                    root=folder,
                    pdf_standards=["a-3b"],
                    ignore_system_fonts=own_fonts_only,
                    timestamp=int(at.timestamp()),
                )
            except typst.TypstError as error:
                if "could not be displayed" not in str(error) or number == len(attempts):
                    raise BadInput(
                        f"The {document} can't be set: {error}.",
                        where=document,
                        todo="Check the pictures and texts named; everything in the record stays as it is.",
                    ) from error
    raise AssertionError("the last attempt returns or raises")


def qr(note: str) -> bytes:
    """Draw a text as a QR code.

    Args:
        note: The text.

    Returns:
        SVG.
    """
    out = io.BytesIO()
    segno.make(note, error="m", micro=False).save(out, kind="svg", border=4, xmldecl=False)
    return out.getvalue()


def _file_name(number: int, content: bytes) -> str:
    kinds = {b"\x89PNG": "png", b"\xff\xd8\xff": "jpg"}
    for start, ending in kinds.items():
        if content.startswith(start):
            return f"picture-{number}.{ending}"
    raise BadInput(
        "A picture is neither PNG nor JPEG.", where="release document", todo="Draw the overlay again."
    )
