"""A pour that somebody asks about later: issued board, photos with and without it, one with a false clock, a time stamp."""

from __future__ import annotations

import io
import shutil
from datetime import datetime, timedelta
from pathlib import Path

import cv2
import numpy as np
from browser_page import SAMPLE
from numpy.typing import NDArray
from PIL import Image
from small_pour import cover_everywhere, steel_alone
from stamp_authority import Authority

from verifier.pipeline.decision.check import check
from verifier.pipeline.intake.adding import add_photos
from verifier.pipeline.intake.boards import issue_board
from verifier.pipeline.people.acting import Act
from verifier.pipeline.sealing.recording import record_check
from verifier.pipeline.sealing.stamping import ask_stamp, take_stamp
from verifier.record.keys import device_signer

Picture = NDArray[np.uint8]


def disputed_pour(place: Path, authority: Authority) -> None:
    """Make it: the last six hours of a pour planned for tomorrow.

    Args:
        place: Folder to be made.
        authority: Stamps the record at the true time, before the last photo.
    """
    now = datetime.now().astimezone().replace(microsecond=0)
    scratch = place.parent / "scratch"
    place.mkdir(parents=True)
    scratch.mkdir()
    for name in ("pour.toml", "boards.toml", "instruments.toml"):
        shutil.copy(SAMPLE / name, place)
    drawing = place / "pour.toml"
    start = (now + timedelta(days=1)).isoformat(timespec="seconds")
    text = drawing.read_text(encoding="utf-8").replace("2026-05-14T06:30:00+02:00", start)
    drawing.write_text(text + 'reader = ["reader-1"]\n', encoding="utf-8")
    steel_alone(place)
    signer = device_signer(place.parent / "site.key")

    def act(hours_ago: float) -> Act:
        return Act("engineer-1", now - timedelta(hours=hours_ago), signer)

    _, written = issue_board(place, scratch / "board.pdf", paper="A4", act=act(6), png=True)
    board = np.asarray(Image.open(next(p for p in written if p.suffix == ".png")).convert("RGB"))
    cover_everywhere(place, scratch, act(5))
    told = (
        ("s1-spot1", 4.5, 4.6),
        ("s2-spot1", 4.0, 8.0),
    )  # the second claims to be older than the board in it
    for name, received, claimed in told:
        photo = scratch / f"{name}.jpg"
        photo.write_bytes(
            _with_board(SAMPLE / "photos" / f"{name}.jpg", board, now - timedelta(hours=claimed))
        )
        (added,) = add_photos(place, [photo], act(received), workers=1)
        assert added.seen is not None
        assert added.seen.board is not None, added.seen.refusals
    record_check(place, check(place, at=act(3.5).at), act(3.5))
    old = scratch / "s1-spot2.jpg"  # of the sample, so taken half a year too early by its own word
    exif = Image.open(SAMPLE / "photos" / "s1-spot2.jpg").getexif()
    old.write_bytes(_jpeg(_small(SAMPLE / "photos" / "s1-spot2.jpg"), exif))
    add_photos(place, [old], act(2), workers=1)
    asked = ask_stamp(place, scratch / "head.tsq", act(0).at, signer)
    (scratch / "head.tsr").write_bytes(authority.stamp(asked.request.read_bytes()))
    (scratch / "authority.pem").write_bytes(authority.chain)
    take_stamp(
        place, scratch / "head.tsr", scratch / "authority.pem", datetime.now().astimezone(), device=signer
    )
    now = datetime.now().astimezone()
    stripped = scratch / "s2-spot3.jpg"  # as a chat hands photos on: small, and without a word of its own
    stripped.write_bytes(_jpeg(_small(SAMPLE / "photos" / "s2-spot3.jpg")))
    add_photos(place, [stripped], act(0), workers=1)
    record_check(place, check(place, at=now), act(0))


def _with_board(photo: Path, board: Picture, claimed: datetime) -> bytes:
    """A photo of the sample with the issued board laid over it as a camera would see it, and the time that it claims."""
    picture = _small(photo)
    height, width = picture.shape[:2]
    focal, turn, tilt, away_mm, mm = 0.8 * width, 0.1, np.radians(24.0), 600.0, 25.4 / 300
    camera = np.array([[focal, 0, width / 2], [0, focal, height / 2], [0, 0, 1]])
    across = np.array([np.cos(turn), np.sin(turn) * np.cos(tilt), -np.sin(turn) * np.sin(tilt)])
    down = np.array([-np.sin(turn), np.cos(turn) * np.cos(tilt), -np.cos(turn) * np.sin(tilt)])
    corner = np.array([0, 0, away_mm]) - across * board.shape[1] * mm / 2 - down * board.shape[0] * mm / 2
    seen = camera @ np.column_stack([across * mm, down * mm, corner])
    blurred = cv2.GaussianBlur(board, (0, 0), 0.5 * away_mm / focal / mm)
    covered = cv2.warpPerspective(np.full(board.shape[:2], 255, np.uint8), seen, (width, height)) > 0
    picture[covered] = cv2.warpPerspective(blurred, seen, (width, height))[covered]
    exif = Image.Exif()
    exif.update({306: f"{claimed:%Y:%m:%d %H:%M:%S}"})
    zone = f"{claimed:%z}"
    lens = {41989: 29}  # FocalLengthIn35mmFilm: 0.8 x 36 mm
    exif.get_ifd(0x8769).update(
        {36867: f"{claimed:%Y:%m:%d %H:%M:%S}", 36881: f"{zone[:3]}:{zone[3:]}", **lens}
    )
    return _jpeg(picture, exif)


def _small(photo: Path) -> Picture:
    picture = np.asarray(Image.open(photo).convert("RGB"))
    size = (1200, round(1200 * picture.shape[0] / picture.shape[1]))
    return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.uint8).copy()


def _jpeg(picture: Picture, exif: Image.Exif | None = None) -> bytes:
    out = io.BytesIO()
    Image.fromarray(picture).save(out, "JPEG", quality=94, exif=exif or Image.Exif())
    return out.getvalue()
