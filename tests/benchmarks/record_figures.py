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


def tell(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


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
    start = time.perf_counter()
    for number in range(photos):
        digest = ledger.store.objects.put(number.to_bytes(4, "big") + files[number % 20][4:])
        ledger.append(
            "photo", {"sha256": digest, "name": f"{number}.jpg"}, device, AT + timedelta(seconds=number)
        )
    seconds = time.perf_counter() - start
    tell(
        f"intake: {photos} photos of 5 MB in {seconds:.1f} s = {photos / seconds:.0f} photos/s, each with fsync and record"
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
    start = time.perf_counter()
    sealed = write_bundle(ledger, base / "bundle.zip", device, AT)
    tell(f"seal: {sealed.size_bytes / 1e9:.1f} GB in {time.perf_counter() - start:.1f} s")
    ledger.close()
    shutil.rmtree(base / "large")
    start = time.perf_counter()
    outcome = audit(base / "bundle.zip")
    seconds = time.perf_counter() - start
    tell(
        f"audit: {photos} photos, {sealed.size_bytes / 1e9:.1f} GB in {seconds:.1f} s, {len(outcome.alarms)} alarms"
    )
    (base / "bundle.zip").unlink()


def long_ledger(base: Path, records: int) -> None:
    ledger, device = open_ledger(base, "long")
    start = time.perf_counter()
    for batch in range(records // 1000):
        ledger.append_all([Entry("remark", {"text": f"{batch} {n}"}) for n in range(1000)], device, AT)
    tell(f"append: {records} records in {time.perf_counter() - start:.1f} s, 1000 a transaction")
    start = time.perf_counter()
    again = Ledger.open(base / "long")
    tell(f"open: {len(again.records())} records, chain checked, in {time.perf_counter() - start:.1f} s")
    again.close()
    write_bundle(ledger, base / "bundle.zip", device, AT)
    start = time.perf_counter()
    outcome = audit(base / "bundle.zip")
    tell(f"audit: {records} records in {time.perf_counter() - start:.1f} s, {len(outcome.alarms)} alarms")
    ledger.close()


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", nargs="?", type=Path)
    parser.add_argument("--photos", type=int, default=2000)
    parser.add_argument("--records", type=int, default=100_000)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=given.folder) as folder:
        for step in (
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
