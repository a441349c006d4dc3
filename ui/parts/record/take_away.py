"""What a third person takes away: the whole, a part under the same head, one original, one proof, the story on paper."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import plain, pour, tables
from ui.parts.record.record import Record
from verifier.pipeline.papers.story import story_of
from verifier.pipeline.sealing.disclosing import Asked, proof_of, seal_folder
from verifier.pipeline.sealing.originals import OriginalTold

_ZIP, _TEXT, _PDF = "application/zip", "text/plain", "application/pdf"
_SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def show(record: Record) -> None:
    """Offer everything that can be taken away.

    Args:
        record: The record.
    """
    folder, name = record.folder, tables.file_name(record.pour.pour.id)
    st.subheader(words.TAKE_WHOLE_TITLE)
    plain.paragraph(words.TAKE_WHOLE_SAYS, quiet=True)
    left, right = st.columns(2, gap="small")
    with left:
        _button(words.BUNDLE, lambda: _sealed(folder, None), f"{name}-record.zip", _ZIP)
    with right:
        _button(words.TABLES, lambda: tables.workbook(pour.checked(folder)), f"{name}.xlsx", _SHEET)
    plain.paragraph(words.TAKE_STORY_SAYS, quiet=True)
    _button(
        words.TAKE_STORY, lambda: story_of(folder, datetime.now().astimezone()), f"{name}-story.pdf", _PDF
    )
    st.subheader(words.TAKE_PART_TITLE)
    plain.paragraph(words.TAKE_PART_SAYS, quiet=True)
    left, right = st.columns(2, gap="small")
    with left:
        _element(record, name)
    with right:
        _photo(record, name)
    st.subheader(words.TAKE_PROOF_TITLE)
    plain.paragraph(words.TAKE_PROOF_SAYS, quiet=True)
    size = record.told.head.size
    seq = int(
        st.number_input(words.TAKE_CHOOSE_RECORD, min_value=1, max_value=size, value=size, step=1, width=260)
    )
    _button(words.TAKE_PROOF_ONE, lambda: _proof(folder, seq), f"{name}-record-{seq}.tlog-proof", _TEXT)


def of_photo(record: Record, original: OriginalTold) -> None:
    """Offer one photo: as received, its proof, and the bundle of it alone.

    Args:
        record: The record.
        original: The photo.
    """
    folder, seq, sha256 = record.folder, original.record.seq, original.sha256
    name = f"{tables.file_name(record.pour.pour.id)}-record-{seq}"
    with st.container(horizontal=True, gap="small"):
        if record.told.read(sha256) is None:
            plain.paragraph(words.ORIGINAL_GONE, strong=True)
        else:
            ending = Path(original.name).suffix.casefold()
            ending = ending if ending in (".jpg", ".jpeg", ".png", ".heic", ".heif") else ".bin"
            _button(
                words.TAKE_ORIGINAL,
                lambda: record.told.read(sha256) or b"",
                f"{name}{ending}",
                "image/*",
                key=seq,
            )
        _button(words.TAKE_PROOF, lambda: _proof(folder, seq), f"{name}.tlog-proof", _TEXT, key=seq)
        _button(words.TAKE_PHOTO, lambda: _sealed(folder, Asked(photo=sha256)), f"{name}.zip", _ZIP, key=seq)


def _element(record: Record, name: str) -> None:
    known = sorted({o.spot.element for o in record.originals if o.spot.element} | set(record.pour.marks))
    mark = str(st.selectbox(words.TAKE_CHOOSE_ELEMENT, known, format_func=plain.shown, key="take-element"))
    safe = tables.file_name(mark)
    folder = record.folder
    _button(words.TAKE_ELEMENT, lambda: _sealed(folder, Asked(element=mark)), f"{name}-{safe}.zip", _ZIP)


def _photo(record: Record, name: str) -> None:
    if not record.originals:
        return
    names = {o.sha256: f"{o.name} ({o.record.seq})" for o in record.originals}
    sha256 = str(
        st.selectbox(
            words.TAKE_CHOOSE_PHOTO,
            tuple(names),
            format_func=lambda s: plain.shown(names[s]),
            key="take-photo",
        )
    )
    folder = record.folder
    _button(words.TAKE_PHOTO, lambda: _sealed(folder, Asked(photo=sha256)), f"{name}-{sha256[:12]}.zip", _ZIP)


def _button(
    label: str, data: Callable[[], bytes], file_name: str, mime: str, *, key: int | None = None
) -> None:
    """A file that is made when it is asked for; drawing the view again would drop it while it is fetched."""
    st.download_button(
        label,
        data=data,
        file_name=file_name,
        mime=mime,
        width="stretch",
        on_click="ignore",
        key=f"take-{file_name}-{key}",
    )


def _sealed(folder: Path, asked: Asked | None) -> bytes:
    with tempfile.TemporaryDirectory() as scratch:
        out = Path(scratch) / "bundle.zip"
        seal_folder(folder, out, datetime.now().astimezone(), asked=asked)
        return out.read_bytes()


def _proof(folder: Path, seq: int) -> bytes:
    return proof_of(folder, seq, datetime.now().astimezone()).encode()
