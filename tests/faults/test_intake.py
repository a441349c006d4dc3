"""Whatever arrives as a photo: a clear refusal or an observation, and the other files go on."""

from __future__ import annotations

import hashlib
import io
import random
import struct
import time
import zlib
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageFile
from PIL.TiffImagePlugin import IFDRational

from verifier.errors import BadInput
from verifier.photo.exif_block import exif_block
from verifier.photo.formats import PhotoLimits, open_photo
from verifier.photo.intake import Intake, take_in, take_in_all
from verifier.photo.observations import ObservationKey
from verifier.photo.pixels import upright_pixels
from verifier.photo.second_reading import GuardedExifReader

RECEIVED = datetime(2026, 5, 13, 15, 0, tzinfo=UTC)


def picture(seed: int = 1, size: tuple[int, int] = (96, 64)) -> Image.Image:
    coarse = np.random.default_rng(seed).integers(0, 256, (6, 8), dtype=np.uint8)
    return Image.fromarray(coarse).resize(size, Image.Resampling.BICUBIC).convert("RGB")


def photo(kind: str = "JPEG", seed: int = 1, **save: Any) -> bytes:
    exif = Image.Exif()
    exif.update({271: "Maker", 272: "Phone 1", 274: 1, 306: "2026:05:13 16:12:08"})
    exif.get_ifd(0x8769).update(
        {36867: "2026:05:13 16:12:08", 36881: "+02:00", 37386: IFDRational(57, 10), 41989: 26}
    )
    exif.get_ifd(0x8825).update(
        {1: "N", 2: (47.0, 3.0, 4.32), 3: "E", 4: (8.0, 18.0, 33.48), 31: IFDRational(5, 1)}
    )
    out = io.BytesIO()
    picture(seed).save(out, kind, **{"exif": exif, **save})
    return out.getvalue()


def huge_png(width: int = 30_000, height: int = 30_000) -> bytes:
    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    rows = zlib.compressobj(9)
    body = (
        b"".join(rows.compress(b"\0" * (width // 8 + 1) * 1000) for _ in range(height // 1000)) + rows.flush()
    )
    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


BAD = {
    "empty.jpg": (b"", "empty"),
    "text.jpg": ("Grüße von der Baustelle, Feld S1\n".encode() * 9, "a text file"),
    "drawing.jpg": (b"%PDF-1.7 ...", "a PDF"),
    "clip.jpg": (b"\0\0\0\x18ftypmp42\0\0\0\0mp42isom", "a video"),
    "new.heic": (b"\0\0\0\x1cftypavif\0\0\0\0avifmif1miaf", "an AVIF picture"),
    "anim.png": (b"GIF89a" + bytes(40), "a GIF picture"),
    "scan.jpg": (b"II*\0" + bytes(40), "a TIFF"),
    "photos.jpg": (b"PK\x03\x04" + bytes(40), "a zip archive"),
    "web.jpg": (b"RIFF\x10\0\0\0WEBPVP8 " + bytes(20), "a WebP picture"),
    "noise.jpg": (bytes(range(256)) * 4, "an unknown kind"),
    "head-only.jpg": (b"\xff\xd8\xff", "can't be read"),
    "head-only.png": (b"\x89PNG\r\n\x1a\n", "can't be read"),
    "head-only.heic": (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "can't be read"),
    "cut.jpg": (photo()[:-40], "can't be read to its end"),
    "cut-by-two.jpg": (photo()[:-2], "can't be read to its end"),
    "cut.png": (photo("PNG")[:-60], "can't be read to its end"),
    "cut.heic": (photo("HEIF")[:-60], "can't be read"),
    "huge.png": (huge_png(), "million pixels"),
    "wide.png": (huge_png(130_000, 2_000), "million pixels"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_is_refused_with_its_name_what_it_is_and_what_to_do(name: str) -> None:
    data, says = BAD[name]
    started = time.perf_counter()
    with pytest.raises(BadInput) as refused:
        take_in(data, name, received_at=RECEIVED)
    assert says in refused.value.wrong
    assert refused.value.where == name
    assert len(refused.value.todo) > 20
    assert time.perf_counter() - started < 2.0
    with pytest.raises(BadInput, match=r"photo: "):
        upright_pixels(data)


def test_a_bad_file_never_stops_the_batch_and_is_hashed_all_the_same() -> None:
    files = [
        ("good-1.jpg", photo(seed=1)),
        *((n, d) for n, (d, _) in BAD.items()),
        ("good-2.jpg", photo(seed=2)),
    ]
    batch = take_in_all(files, received_at=RECEIVED)
    assert [p.name for p in batch.taken] == ["good-1.jpg", "good-2.jpg"]
    assert [r.name for r in batch.refused] == list(BAD)
    for refused in batch.refused:
        data = BAD[refused.name][0]
        assert (refused.sha256, refused.size_bytes) == (hashlib.sha256(data).hexdigest(), len(data))
        assert refused.wrong
        assert refused.todo


def test_no_files_give_an_empty_batch() -> None:
    assert take_in_all([], received_at=RECEIVED) == ((), ())


def test_strict_decoding_is_not_switched_off() -> None:
    assert ImageFile.LOAD_TRUNCATED_IMAGES is False


def test_limits_are_settings() -> None:
    with pytest.raises(BadInput, match="at most 0 MB"):
        take_in(photo(), "a.jpg", received_at=RECEIVED, limits=PhotoLimits(max_bytes=100))
    with pytest.raises(BadInput, match=r"96 x 64 pixels .* at most 0\.001 million"):
        take_in(photo(), "a.jpg", received_at=RECEIVED, limits=PhotoLimits(max_megapixels=0.001))
    with pytest.raises(BadInput, match=r"passes in .* at most 1 and"):
        take_in(photo(progressive=True), "a.jpg", received_at=RECEIVED, limits=PhotoLimits(max_scans=1))
    assert take_in(photo(progressive=True), "a.jpg", received_at=RECEIVED).kind == "JPEG"


def test_a_video_behind_the_picture_is_no_fault() -> None:
    """Some phones append a short film; by chance its bytes hold hundreds of markers."""
    film = random.Random(5).randbytes(8_000_000) + b"\xff\xda" * 200
    taken = take_in(photo() + film, "a.jpg", received_at=RECEIVED)
    assert taken.kind == "JPEG"
    assert ObservationKey.SEVERAL_EXIF_BLOCKS not in {o.key for o in taken.observations}


def test_a_second_exif_block_is_seen() -> None:
    data = photo()
    other = exif_block(open_photo(data, "a.jpg").image).replace(b"2026:05:13", b"2026:05:12")
    segment = b"\xff\xe1" + (len(other) + 8).to_bytes(2, "big") + b"Exif\0\0" + other
    taken = take_in(data[:2] + segment + data[2:], "a.jpg", received_at=RECEIVED)
    found = {o.key: o for o in taken.observations}
    assert found[ObservationKey.SEVERAL_EXIF_BLOCKS].weight == "warning"


def test_a_jpeg_of_endless_small_parts_is_refused_at_once() -> None:
    started = time.perf_counter()
    with pytest.raises(BadInput, match="parts; at most"):
        take_in(b"\xff\xd8" + b"\xff\xfe\0\2" * 10_000_000, "a.jpg", received_at=RECEIVED)
    assert time.perf_counter() - started < 2.0


def test_a_heic_that_claims_to_be_huge_is_refused_before_it_is_decoded() -> None:
    data = photo("HEIF")
    at = data.index(b"ispe") + 8
    with pytest.raises(BadInput):
        take_in(
            data[:at] + struct.pack(">II", 60_000, 60_000) + data[at + 8 :], "a.heic", received_at=RECEIVED
        )


def test_a_picture_between_pillows_warning_and_our_limit_is_opened_without_a_word() -> None:
    opened = open_photo(huge_png(10_000, 10_000), "large.png")
    assert opened.image.size == (10_000, 10_000)
    assert opened.remarks == ()


def test_sixteen_bit_pictures_are_refused_because_narrowing_would_change_them() -> None:
    out = io.BytesIO()
    Image.fromarray(np.full((20, 30), 40_000, dtype=np.uint16)).save(out, "PNG")
    with pytest.raises(BadInput, match="stores its pixels as I"):
        take_in(out.getvalue(), "deep.png", received_at=RECEIVED)


@pytest.mark.parametrize("mode", ["L", "LA", "P", "RGBA", "1"])
def test_ordinary_kinds_of_pixels_become_three_channels(mode: str) -> None:
    out = io.BytesIO()
    picture().convert(mode).save(out, "PNG")
    assert upright_pixels(out.getvalue()).shape == (64, 96, 3)
    assert take_in(out.getvalue(), "p.png", received_at=RECEIVED).width_px == 96


def test_the_bytes_are_hashed_as_received_and_left_alone() -> None:
    data = photo()
    kept = bytes(data)
    taken = take_in(data, "a.jpg", received_at=RECEIVED)
    assert taken.sha256 == hashlib.sha256(kept).hexdigest()
    assert data == kept


def test_received_without_a_zone_is_a_mistake_of_the_caller() -> None:
    with pytest.raises(ValueError, match="has no zone"):
        take_in(photo(), "a.jpg", received_at=datetime(2026, 5, 13, 15))  # noqa: DTZ001 - the point of the test


def test_the_same_bytes_give_the_same_intake_and_it_survives_json() -> None:
    one, two = (take_in(photo(), "a.jpg", received_at=RECEIVED) for _ in range(2))
    assert one == two
    assert Intake.model_validate_json(one.model_dump_json()) == one


@pytest.mark.parametrize(
    "name", ["Feld S1 – Öffnung.jpg", "写真.JPG", "![x](y).jpg", "a/../b.jpg", "no ending"]
)
def test_foreign_names_are_kept_as_they_are(name: str) -> None:
    taken = take_in(photo(), name, received_at=RECEIVED)
    assert taken.name == name
    assert not any(o.key is ObservationKey.NAME_AND_CONTENT_DIFFER for o in taken.observations)


def exif_mutants(count: int) -> Iterator[bytes]:
    """The same photo with its Exif block damaged: bytes set, bits turned, the block cut."""
    seed = random.Random(17)
    data = photo()
    block = exif_block(open_photo(data, "a.jpg").image)
    start = data.index(block)
    for _ in range(count):
        mutant = bytearray(block)
        for _ in range(seed.choice([1, 1, 2, 4, 8])):
            at = seed.randrange(len(mutant))
            mutant[at] = seed.choice([0, 255, seed.randrange(256), mutant[at] ^ (1 << seed.randrange(8))])
        if seed.random() < 0.1:
            cut = seed.randrange(8, len(mutant))
            mutant[cut:] = bytes(len(mutant) - cut)
        yield data[:start] + bytes(mutant) + data[start + len(block) :]


def test_three_hundred_damaged_exif_blocks_neither_hang_nor_crash() -> None:
    slowest, differing = 0.0, 0
    for data in exif_mutants(300):
        started = time.perf_counter()
        taken = take_in(data, "a.jpg", received_at=RECEIVED)
        slowest = max(slowest, time.perf_counter() - started)
        assert upright_pixels(data).shape[2] == 3
        differing += any(
            o.key
            in (ObservationKey.EXIF_FAULT, ObservationKey.READERS_DIFFER, ObservationKey.SECOND_READER_FAILED)
            for o in taken.observations
        )
    assert slowest < 5.0
    assert differing > 50, "damage that nobody notices: are both readers still asked?"


def test_three_hundred_damaged_files_are_taken_or_refused() -> None:
    seed = random.Random(23)
    outcomes = {"taken": 0, "refused": 0}
    for kind in ("JPEG", "PNG", "HEIF"):
        good = photo(kind)
        for _ in range(100):
            data = bytearray(good)
            for _ in range(seed.choice([1, 3, 10])):
                data[seed.randrange(len(data))] = seed.randrange(256)
            if seed.random() < 0.3:
                del data[seed.randrange(len(data)) :]
            try:
                take_in(bytes(data), "a.jpg", received_at=RECEIVED)
                outcomes["taken"] += 1
            except BadInput:
                outcomes["refused"] += 1
    assert outcomes["taken"] > 20
    assert outcomes["refused"] > 20


def test_a_clean_photo_is_read_alike_by_both_readers() -> None:
    keys = {o.key for o in take_in(photo(), "a.jpg", received_at=RECEIVED).observations}
    assert not keys & {
        ObservationKey.EXIF_FAULT,
        ObservationKey.READERS_DIFFER,
        ObservationKey.SECOND_READER_FAILED,
    }


READY = 'import sys; sys.stdout.write("ready\\n"); sys.stdout.flush(); line = sys.stdin.readline()\n'
BAD_WORKERS = {
    "hangs": (READY + "while True: pass", "more than 0.5 s"),
    "dies": (READY + "raise SystemExit(3)", "was ended"),
    "eats memory": (
        READY
        + "import resource; resource.setrlimit(resource.RLIMIT_AS, (200_000_000,) * 2); x = bytearray(10**9)",
        "was ended",
    ),
    "never starts": ("raise SystemExit(1)", "could not be run"),
}


@pytest.mark.parametrize("way", BAD_WORKERS)
def test_whatever_the_second_reader_does_the_photo_is_taken(way: str, tmp_path: Path) -> None:
    script, says = BAD_WORKERS[way]
    worker = tmp_path / "worker.py"
    worker.write_text(script)
    reader = GuardedExifReader(seconds_per_photo=0.5, worker=worker)
    for _ in range(2):  # also the next photo, with a new worker
        found = reader.read(b"II*\0")
        assert says in found.trouble
        assert found.tags == {}
    reader.close()


def test_a_worker_is_started_again_after_it_was_ended() -> None:
    reader = GuardedExifReader()
    block = exif_block(open_photo(photo(), "a.jpg").image)
    first = reader.read(block)
    reader.close()
    assert reader.read(block) == first
    assert first.tags["Image:272"] == "Phone 1"
    reader.close()
