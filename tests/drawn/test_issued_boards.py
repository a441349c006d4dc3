"""A board issued from the record dates the photos that show it: from the head that its markers follow from to the receipt."""

from __future__ import annotations

import io
import shutil
from datetime import timedelta
from pathlib import Path

import cv2
import numpy as np
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from PIL import Image
from test_board_search import homography, picture_of
from test_pour_folder import AT, SAMPLE

from verifier.board.definition import read_board
from verifier.board.standing import standing_board
from verifier.errors import NotAllowed
from verifier.pipeline.intake.adding import add_photos
from verifier.pipeline.intake.boards import enter_check_length, issue_board
from verifier.pipeline.measurement.settings import issued_boards
from verifier.pipeline.people.acting import Act, record_event
from verifier.pipeline.sealing.disclosing import seal_folder
from verifier.pipeline.sealing.recording import audit_bundle
from verifier.pipeline.sealing.telling import timeline_of
from verifier.record.canonical import utc_text
from verifier.record.keys import device_signer
from verifier.record.ledger import Ledger

ISSUED_AT = AT - timedelta(hours=3)


@pytest.fixture
def act(tmp_path: Path) -> Act:
    """One key for ever: the markers of an issued board follow from the record, and with them what a blurred photo shows."""
    key = tmp_path / "device.key"
    same = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
    key.write_bytes(same.private_bytes(Encoding.PEM, PrivateFormat.OpenSSH, NoEncryption()))
    key.chmod(0o600)
    return Act("engineer-1", AT, device_signer(key))


def new_pour(place: Path, pour: str = "L2-east") -> Path:
    place.mkdir()
    text = (SAMPLE / "pour.toml").read_text(encoding="utf-8")
    (place / "pour.toml").write_text(text.replace('id = "L2-east"', f'id = "{pour}"'), encoding="utf-8")
    shutil.copy(SAMPLE / "boards.toml", place)
    return place


def issued(folder: Path, act: Act):
    when = Act(act.person, ISSUED_AT, act.signer)
    number, (pdf, *_) = issue_board(
        folder, folder.parent / f"{folder.name}.pdf", paper="A4", act=when, png=False
    )
    return number, read_board(pdf.with_suffix(".toml"))


def photo_of(path: Path, *boards) -> Path:
    """Boards on a deck without any steel: enough to be recognised, too little to be measured."""
    grey = picture_of(
        *((b, homography(b, height_mm=900.0, at_mm=(i * 340.0 - 170.0, 0.0))) for i, b in enumerate(boards))
    )
    exif = Image.Exif()
    exif.update({306: "2026:05:13 16:12:08"})
    exif.get_ifd(0x8769).update({36867: "2026:05:13 16:12:08", 36881: "+02:00"})
    out = io.BytesIO()
    Image.fromarray(np.dstack([grey] * 3)).save(out, "JPEG", exif=exif, quality=95)
    path.write_bytes(out.getvalue())
    return path


def test_a_photo_of_an_issued_board_is_bounded_from_both_sides(act: Act, tmp_path: Path) -> None:
    folder = new_pour(tmp_path / "pour")
    number, board = issued(folder, act)
    assert (number, board.number) == (101, 101)
    assert issued_boards(folder) == (board,)
    (added,) = add_photos(folder, [photo_of(tmp_path / "s1-spot1.jpg", board)], act, workers=1)
    assert added.seen is not None
    assert added.seen.board is not None
    assert added.seen.board.number == 101
    assert set(added.seen.board.ids) <= set(board.ids)
    told = next(e for e in timeline_of(folder) if e.what == "a photo was received")
    assert told.not_before == utc_text(ISSUED_AT)
    assert "board in it was made after this" in told.bounds
    sealed = seal_folder(folder, tmp_path / "bundle.zip", AT + timedelta(minutes=1))
    outcome = audit_bundle(sealed.path, replay=True)
    assert outcome.alarms == ()
    facts = {f.topic: f for f in outcome.facts}
    assert facts["time brackets"].state == "not proven", "the clock of a device bounds it, and no authority"
    assert facts["time brackets"].say.startswith("Photos bounded in time from both sides: 1 of 1, 0 of them")
    assert facts["boards"].state == "holds"


def test_a_standing_board_still_measures_and_dates_nothing(act: Act, tmp_path: Path) -> None:
    folder = new_pour(tmp_path / "pour")
    issued(folder, act)
    (added,) = add_photos(
        folder, [photo_of(tmp_path / "s1-spot1.jpg", standing_board("A4", 3))], act, workers=1
    )
    assert added.seen is not None
    assert added.seen.board is not None
    assert added.seen.board.number == 3
    told = next(e for e in timeline_of(folder) if e.what == "a photo was received")
    assert told.not_before == ""


def test_both_kinds_side_by_side_are_told_apart(act: Act, tmp_path: Path) -> None:
    folder = new_pour(tmp_path / "pour")
    _, board = issued(folder, act)
    both = photo_of(tmp_path / "s1-spot1.jpg", board, standing_board("A4", 3))
    (added,) = add_photos(folder, [both], act, workers=1)
    assert added.seen is not None
    assert added.seen.board is not None
    seen = set(added.seen.board.ids)
    assert len(seen & set(board.ids)) >= 10
    assert len(seen & set(standing_board("A4", 3).ids)) >= 10
    assert next(e for e in timeline_of(folder) if e.what == "a photo was received").not_before


def test_a_board_of_another_pour_is_no_board_here(act: Act, tmp_path: Path) -> None:
    elsewhere = new_pour(tmp_path / "other", "L3-west")
    _, foreign = issued(elsewhere, act)
    folder = new_pour(tmp_path / "pour")
    _, own = issued(folder, act)
    assert len(set(foreign.ids) & set(own.ids)) < 4
    (added,) = add_photos(folder, [photo_of(tmp_path / "s1-spot1.jpg", foreign)], act, workers=1)
    assert added.seen is not None
    assert not added.seen.usable
    assert "one issued for another pour" in added.seen.refusals[0].say
    assert next(e for e in timeline_of(folder) if e.what == "a photo was received").not_before == ""


def test_an_issued_board_keeps_its_own_check_length(act: Act, tmp_path: Path) -> None:
    folder = new_pour(tmp_path / "pour")
    number, board = issued(folder, act)
    scale = enter_check_length(folder, paper="A4", number=number, measured_mm=196.0)
    (added,) = add_photos(folder, [photo_of(tmp_path / "s1-spot1.jpg", board)], act, workers=1)
    assert added.seen is not None
    assert added.seen.board is not None
    assert added.seen.board.print_scale == pytest.approx(scale.factor)


def test_only_the_site_issues_boards(act: Act, tmp_path: Path) -> None:
    folder = new_pour(tmp_path / "pour")
    with pytest.raises(NotAllowed, match="may not issue"):
        issue_board(folder, tmp_path / "b.pdf", paper="A4", act=Act("reviewer-1", AT, act.signer), png=False)


def test_markers_that_a_record_names_and_the_photo_does_not_show(act: Act, tmp_path: Path) -> None:
    """Alarm: replay. A photo without the board, whose measurement was recorded truly but for the markers."""
    folder = new_pour(tmp_path / "pour")
    _, board = issued(folder, act)
    shown = photo_of(tmp_path / "s1-spot1.jpg", standing_board("A4", 3))
    add_photos(folder, [shown], act, workers=1)
    ledger = Ledger.open(folder)
    try:
        (measured,) = ledger.records("measurement")
        forged = dict(measured.body) | {
            "ids_seen": list(board.ids),
            "boards_seen": [{"number": 101, "pour": "L2-east", "ids": list(board.ids)}],
        }
        record_event(ledger, "measurement", forged, act)
    finally:
        ledger.close()
    path = seal_folder(folder, tmp_path / "bundle.zip", AT + timedelta(minutes=1)).path
    assert audit_bundle(path).brackets[0].not_before is not None, "believed, as long as nobody measures again"
    (alarm,) = audit_bundle(path, replay=True).alarms
    assert alarm.topic == "replay"
    assert "names other markers than are seen in it" in alarm.details[0]


def refused_photo(path: Path, board, *, blur: float = 0.0, light: float = 1.0, twice: bool = False) -> Path:
    """The board in a picture that is no good for measuring."""
    shown = [(board, homography(board, height_mm=900.0, at_mm=(-170.0, 0.0)))]
    if twice:
        shown.append((board, homography(board, height_mm=900.0, at_mm=(220.0, 0.0))))
    grey = picture_of(*shown).astype(np.float32) * light
    if blur:
        grey = cv2.GaussianBlur(grey, (0, 0), blur)
    out = io.BytesIO()
    Image.fromarray(np.dstack([grey.clip(0, 255).astype(np.uint8)] * 3)).save(out, "JPEG", quality=95)
    path.write_bytes(out.getvalue())
    return path


@pytest.mark.parametrize(
    ("spoiled", "reason"),
    [
        ({"blur": 3.1}, "blurred"),
        ({"twice": True}, "marker-twice"),
        ({"light": 0.1}, "under-exposed"),
    ],
)
def test_a_photo_refused_for_measuring_is_still_dated_by_the_board_in_it(
    spoiled: dict, reason: str, act: Act, tmp_path: Path
) -> None:
    """Whatever forbids measuring, the board in the pixels is younger than its head; record, timeline and audit say so."""
    folder = new_pour(tmp_path / "pour")
    _, board = issued(folder, act)
    (added,) = add_photos(
        folder, [refused_photo(tmp_path / "s1-spot1.jpg", board, **spoiled)], act, workers=1
    )
    assert added.seen is not None
    assert not added.seen.usable
    assert {r.reason for r in added.seen.refusals} == {reason}
    ledger = Ledger.open(folder)
    try:
        (measured,) = ledger.records("measurement")
    finally:
        ledger.close()
    (told,) = measured.body["boards_seen"]
    assert (told["number"], told["pour"]) == (101, "L2-east")
    assert len(set(told["ids"]) & set(board.ids)) >= 10
    assert next(e for e in timeline_of(folder) if e.what == "a photo was received").not_before == utc_text(
        ISSUED_AT
    )
    path = seal_folder(folder, tmp_path / "bundle.zip", AT + timedelta(minutes=1)).path
    outcome = audit_bundle(path, replay=True)
    assert outcome.alarms == ()
    assert outcome.brackets[0].not_before == utc_text(ISSUED_AT)
