"""Figures of the record: intake with fsync, audit of a large bundle, verification of a long ledger.

Run: ``python tests/benchmarks/record_figures.py [FOLDER] [--photos 2000]``. FOLDER must be on the disk that is measured; the
bundle takes 5 MB a photo. Goals: intake >= 20 photos/s of 5 MB with fsync; audit of 2,000 photos (10 GB) <= 120 s on two
cores; 100,000 records verified <= 30 s.

Measured on 2 shared cores of a virtual machine, 2026-11-25: intake 37 photos/s; 100,000 records appended in 17.0 s, opened
with the chain checked in 4.6 s, audited in 15.7 s; 10.0 GB sealed in 62 s and audited in 14.3 s from a warm cache.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from verifier.record import Entry, Ledger, device_signer
from verifier.record.audit import audit
from verifier.record.bundle import write_bundle
from verifier.record.people import join_device

PHOTO_BYTES = 5_000_000
AT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


class Clock:
    """Time on the wall and on the processor since it was made; on a busy machine only the second says something of us."""

    def __init__(self) -> None:
        self.wall, self.cpu = time.perf_counter(), time.process_time()

    @property
    def seconds(self) -> float:
        return time.perf_counter() - self.wall

    def __str__(self) -> str:
        return f"{self.seconds:.1f} s ({time.process_time() - self.cpu:.1f} s of processor)"


def tell(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


def disk(base: Path) -> None:
    """What the disk itself gives: files of 5 MB written one by one, each with fsync, and no record."""
    data, clock = os.urandom(PHOTO_BYTES), Clock()
    for number in range(60):
        with (base / f"{number}.bin").open("wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
    tell(f"disk: {60 / clock.seconds:.0f} files of 5 MB a second with fsync")


def open_ledger(base: Path, name: str) -> tuple[Ledger, object]:
    folder = base / name
    folder.mkdir()
    device = device_signer(base / "device.key")
    ledger = Ledger.open(folder, pour=name)
    join_device(ledger, device, AT)
    return ledger, device


def intake(base: Path, photos: int) -> None:
    ledger, device = open_ledger(base, "intake")
    files = [os.urandom(PHOTO_BYTES) for _ in range(20)]
    clock = Clock()
    for number in range(photos):
        digest = ledger.store.objects.put(number.to_bytes(4, "big") + files[number % 20][4:])
        ledger.append(
            "photo", {"sha256": digest, "name": f"{number}.jpg"}, device, AT + timedelta(seconds=number)
        )
    tell(
        f"intake: {photos} photos of 5 MB in {clock} = {photos / clock.seconds:.0f} photos/s, each with fsync and record"
    )
    ledger.close()


def large_bundle(base: Path, photos: int) -> None:
    """Originals are sparse on disk (random head, zeros behind), so that making them costs little; the bundle is not."""
    ledger, device = open_ledger(base, "large")
    entries = []
    for number in range(photos):
        path = base / "one.bin"
        with path.open("wb") as stream:
            stream.write(os.urandom(64))
            stream.truncate(PHOTO_BYTES)
        digest = ledger.store.objects.put_file(path)
        entries.append(Entry("photo", {"sha256": digest, "name": f"{number}.jpg"}))
    ledger.append_all(entries, device, AT)
    clock = Clock()
    sealed = write_bundle(ledger, base / "bundle.zip", device, AT)
    tell(f"seal: {sealed.size_bytes / 1e9:.1f} GB in {clock}")
    ledger.close()
    shutil.rmtree(base / "large")
    clock = Clock()
    outcome = audit(base / "bundle.zip")
    tell(f"audit: {photos} photos, {sealed.size_bytes / 1e9:.1f} GB in {clock}, {len(outcome.alarms)} alarms")
    (base / "bundle.zip").unlink()


def long_ledger(base: Path, records: int) -> None:
    ledger, device = open_ledger(base, "long")
    clock = Clock()
    for batch in range(records // 1000):
        ledger.append_all([Entry("remark", {"text": f"{batch} {n}"}) for n in range(1000)], device, AT)
    tell(f"append: {records} records in {clock}, 1000 a transaction")
    clock = Clock()
    again = Ledger.open(base / "long")
    tell(f"open: {len(again.records())} records, chain checked, in {clock}")
    again.close()
    write_bundle(ledger, base / "bundle.zip", device, AT)
    clock = Clock()
    outcome = audit(base / "bundle.zip")
    tell(f"audit: {records} records in {clock}, {len(outcome.alarms)} alarms")
    ledger.close()


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", nargs="?", type=Path)
    parser.add_argument("--photos", type=int, default=2000)
    parser.add_argument("--records", type=int, default=100_000)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=given.folder) as folder:
        for step in (
            disk,
            lambda base: intake(base, 200),
            lambda base: long_ledger(base, given.records),
            lambda base: large_bundle(base, given.photos),
        ):
            place = Path(folder) / "step"
            place.mkdir()
            step(place)
            shutil.rmtree(place)


if __name__ == "__main__":
    main()
