"""The record under kill -9, a full disk, several writers and a damaged log: nothing acknowledged is ever lost.

Promises held against: SQLite's own (write-ahead log, synchronous=FULL) and POSIX rename; both are exercised, not trusted.
"""

from __future__ import annotations

import ctypes
import errno
import os
import random
import shutil
import sqlite3
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from verifier.errors import BadInput, NotAllowed, RecordDamaged
from verifier.record import Entry, Ledger, device_signer
from verifier.record.people import join_device
from verifier.store import Objects, PourFolder, sha256_of
from verifier.store.folder import network_cautions
from verifier.store.objects import WRITER_MAY_LIVE_S

AT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)

WRITER = """
import sys, hashlib
from datetime import UTC, datetime
from pathlib import Path
from verifier.record import Ledger, device_signer
folder, key, name, count = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3], int(sys.argv[4])
device = device_signer(key)
ledger = Ledger.open(folder)
for number in range(count):
    data = f"{name} {number % 7 if name == 'shared' else number}".encode() * 400
    digest = ledger.store.objects.put(data)
    record = ledger.append("photo", {"sha256": digest, "name": f"{name}-{number}.jpg"}, device, datetime.now(UTC))
    sys.stdout.write(f"{record.seq} {digest}\\n")
    sys.stdout.flush()
"""

KILLED_WRITERS = """
import os, random, signal, sys, time
from datetime import UTC, datetime
from pathlib import Path
from verifier.record import Ledger, device_signer
folder, key, rounds = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
device, dice = device_signer(key), random.Random(9)

def write(number):
    ledger = Ledger.open(folder)
    for count in range(100_000):
        digest = ledger.store.objects.put(f"{number} {count}".encode() * dice.choice((3, 4000, 60_000)))
        record = ledger.append("photo", {"sha256": digest, "name": f"{count}.jpg"}, device, datetime.now(UTC))
        os.write(1, f"{record.seq} {digest}\\n".encode())  # one write is whole or absent

for number in range(rounds):
    size = os.fstat(1).st_size
    child = os.fork()
    if child == 0:
        dice.seed(number)
        write(number)
    while os.fstat(1).st_size == size:  # at least one is acknowledged, then it dies anywhere in its work
        if os.waitpid(child, os.WNOHANG) != (0, 0):
            sys.exit("a writer ended by itself")
        time.sleep(0.002)
    time.sleep(dice.uniform(0.001, 0.04))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
"""


def new_pour(base: Path) -> tuple[Path, Path]:
    folder, key = base / "pour", base / "device.key"
    folder.mkdir()
    device = device_signer(key)
    ledger = Ledger.open(folder, pour="L2-east")
    join_device(ledger, device, AT)
    ledger.close()
    return folder, key


def writer(folder: Path, key: Path, name: str, count: int) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", WRITER, str(folder), str(key), name, str(count)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_kill_9_loses_nothing_that_was_acknowledged(tmp_path):
    """Fifty writers on one folder, each killed after 1 to 40 ms of work; what they printed must be there, and the chain must hold."""
    folder, key = new_pour(tmp_path)
    said = tmp_path / "acknowledged"
    with said.open("wb") as stream:
        done = subprocess.run(
            [sys.executable, "-c", KILLED_WRITERS, str(folder), str(key), "50"],
            stdout=stream,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 0, done.stderr
    acknowledged: dict[int, str] = {}
    for line in said.read_text(encoding="utf-8").splitlines(keepends=True):
        if line.endswith("\n"):
            seq, digest = line.split()
            assert int(seq) not in acknowledged
            acknowledged[int(seq)] = digest
    ledger = Ledger.open(folder)
    records = {r.seq: r for r in ledger.records()}
    assert len(acknowledged) >= 50
    for seq, digest in acknowledged.items():
        assert records[seq].body["sha256"] == digest
        ledger.store.objects.read(digest)
    before = sorted(p.name for p in (folder / "record/incoming").iterdir())
    ledger.store.sweep(ledger.recorded_objects(), now_s=time.time() + WRITER_MAY_LIVE_S + 1)
    assert not list((folder / "record/incoming").iterdir())
    aside = [p.name for p in (folder / "record/quarantine").iterdir()]
    assert all(any(name.startswith(b) for name in aside) for b in before), "moved aside, never deleted"
    ledger.close()


def test_four_writers_take_turns_without_a_gap(tmp_path):
    folder, key = new_pour(tmp_path)
    processes = [writer(folder, key, name, 40) for name in ("a", "b", "shared", "shared")]
    for process in processes:
        _, errors = process.communicate(timeout=60)
        assert process.returncode == 0, errors
    ledger = Ledger.open(folder)
    assert [r.seq for r in ledger.records()] == list(range(1, 162))
    assert len(list(ledger.store.objects.names())) == 40 + 40 + 7, "the same bytes are kept once"
    ledger.close()


def test_a_second_ledger_object_sees_and_continues_the_first(tmp_path):
    folder, key = new_pour(tmp_path)
    device = device_signer(key)
    one, two = Ledger.open(folder), Ledger.open(folder)
    for number in range(10):
        (one, two)[number % 2].append("remark", {"text": str(number)}, device, AT + timedelta(seconds=number))
    assert [r.body.get("text") for r in one.records("remark")] == [str(n) for n in range(10)]
    assert one.records() == two.records()
    one.close()
    two.close()


def test_a_writer_that_waited_takes_the_time_of_the_record_before(tmp_path):
    folder, key = new_pour(tmp_path)
    device, ledger = device_signer(key), Ledger.open(folder)
    ledger.append("remark", {"text": "first in"}, device, AT + timedelta(seconds=20))
    second = ledger.append("remark", {"text": "read its clock before"}, device, AT)
    assert second.at == "2026-11-25T06:00:20Z"
    with pytest.raises(NotAllowed, match="the time goes back"):
        ledger.append("remark", {"text": "long before"}, device, AT - timedelta(seconds=11))
    ledger.close()


def test_all_or_none_of_several_events(tmp_path):
    folder, key = new_pour(tmp_path)
    device = device_signer(key)
    ledger = Ledger.open(folder)
    size = len(ledger.records())
    with pytest.raises(Exception, match="no kind of event"):
        ledger.append_all([Entry("remark", {"text": "first"}), Entry("nonsense", {})], device, AT)
    assert len(ledger.records()) == size
    assert len(Ledger.open(folder).records()) == size
    ledger.append("remark", {"text": "after"}, device, AT)
    assert ledger.records()[-1].seq == size + 1
    ledger.close()


@pytest.mark.parametrize("limit_kib", [4, 20, 36, 52, 68, 100, 132, 200, 400])
def test_a_full_disk_says_so_and_leaves_a_sound_record(tmp_path, limit_kib):
    """A limit on the size of files stands in for a full disk at many places of a write."""
    folder, key = new_pour(tmp_path)
    code = (
        "import resource, signal, sys\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        f"resource.setrlimit(resource.RLIMIT_FSIZE, ({limit_kib * 1024}, {limit_kib * 1024}))\n"
        + WRITER.replace(".encode() * 400", ".encode() * (1 + number * 40)")
    )
    command = [sys.executable, "-c", code, str(folder), str(key), "full", "400"]
    process = subprocess.run(command, capture_output=True, text=True, check=False)
    assert process.returncode == 1
    assert "BadInput" in process.stderr
    assert not list((folder / "record/incoming").iterdir()), "nothing half-written stays behind"
    ledger = Ledger.open(folder)
    records = {r.seq: r for r in ledger.records()}
    for line in process.stdout.splitlines():
        seq, digest = line.split()
        assert records[int(seq)].body["sha256"] == digest
        ledger.store.objects.read(digest)
    ledger.append("remark", {"text": "there is room again"}, device_signer(key), datetime.now(UTC))
    ledger.close()


def test_no_space_left_on_device(tmp_path, monkeypatch):
    objects = Objects(tmp_path)

    def full(handle):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("verifier.store.objects.os.fsync", full)
    with pytest.raises(BadInput, match="The disk is full"):
        objects.put(b"photo")
    assert not list((tmp_path / "incoming").iterdir())
    assert list(objects.names()) == []


def test_the_free_space_is_looked_at_before_a_batch(tmp_path, monkeypatch):
    objects = Objects(tmp_path)
    monkeypatch.setattr(
        "verifier.store.objects.shutil.disk_usage",
        lambda place: shutil._ntuple_diskusage(10**9, 10**9, 10**8),
    )
    objects.ensure_room(90_000_000)
    with pytest.raises(BadInput, match="95 MB are to be stored and 100 MB are free"):
        objects.ensure_room(95_000_000)


def test_a_log_cut_at_any_place_leaves_an_exact_prefix(tmp_path):
    """The write-ahead log is cut at 60 places and overwritten at 30, as a loss of power may leave it."""
    folder, key = new_pour(tmp_path)
    device = device_signer(key)
    ledger = Ledger.open(folder)
    for number in range(30):
        ledger.append("remark", {"text": "x" * 200 + str(number)}, device, AT)
    lines = [r.line for r in ledger.records()]
    log = folder / "record" / "ledger.sqlite-wal"
    copy = tmp_path / "copy"
    shutil.copytree(folder, copy)
    ledger.close()
    whole, dice = (copy / "record/ledger.sqlite-wal").read_bytes(), random.Random(787)
    assert len(whole) > 50_000
    for trial in range(90):
        target = tmp_path / f"t{trial}"
        shutil.copytree(copy, target)
        (target / "record/ledger.sqlite-shm").unlink(missing_ok=True)
        place = dice.randrange(len(whole))
        damaged = whole[:place] if trial < 60 else whole[:place] + dice.randbytes(512) + whole[place + 512 :]
        (target / "record" / log.name).write_bytes(damaged)
        try:
            again = Ledger.open(target)
            found = [r.line for r in again.records()]
            again.close()
        except BadInput:  # the cut came before the first record
            found = []
        assert found == lines[: len(found)]
        shutil.rmtree(target)


def test_the_order_of_writes_is_the_safe_one(tmp_path, monkeypatch):
    """Content is on the disk before the name, and the name before the answer; each step is seen to happen."""
    objects = Objects(tmp_path)
    steps = []
    real_fsync, real_rename = os.fsync, Path.rename
    kind = lambda handle: "folder" if Path(f"/proc/self/fd/{handle}").is_dir() else "file"  # noqa: E731
    monkeypatch.setattr(
        "verifier.store.objects.os.fsync", lambda h: (steps.append(f"fsync {kind(h)}"), real_fsync(h))
    )
    monkeypatch.setattr(Path, "rename", lambda self, to: (steps.append("rename"), real_rename(self, to))[1])
    digest = objects.put(b"photo")
    assert steps == ["fsync file", "fsync folder", "rename", "fsync folder"]
    path = objects.path_of(digest)
    assert path.stat().st_mode & 0o777 == 0o440
    assert sha256_of(path) == digest == path.name


def test_the_sweep_adopts_quarantines_and_never_deletes(tmp_path):
    folder, key = new_pour(tmp_path)
    ledger = Ledger.open(folder)
    stray = ledger.store.objects.put(b"stored, but the power went before the record")
    torn = ledger.store.objects.path_of("ab" * 32)
    torn.parent.mkdir(parents=True)
    torn.write_bytes(b"not what its name says")
    part = folder / "record/incoming/123-dead.part"
    part.write_bytes(b"half a photo")
    os.utime(part, (0, 0))
    young = folder / "record/incoming/124-alive.part"
    young.write_bytes(b"another program is writing this")
    ledger.close()
    again = Ledger.open(folder)
    assert again.swept.adopted == (stray,)
    assert len(again.swept.quarantined) == 2
    assert young.exists()
    kept = {p.read_bytes() for p in (folder / "record/quarantine").iterdir()}
    assert kept == {b"not what its name says", b"half a photo"}
    record = again.append("photo", {"sha256": stray, "name": "again.jpg"}, device_signer(key), AT)
    assert record.body["sha256"] == stray
    again.close()
    assert Ledger.open(folder).swept.adopted == ()


def test_a_record_can_not_name_an_original_that_is_not_there(tmp_path):
    folder, key = new_pour(tmp_path)
    ledger = Ledger.open(folder)
    with pytest.raises(BadInput, match="isn't stored"):
        ledger.append("photo", {"sha256": "0" * 64, "name": "ghost.jpg"}, device_signer(key), AT)
    with pytest.raises(BadInput, match="is not a SHA-256"):
        ledger.append("photo", {"sha256": "../../etc/passwd", "name": "x"}, device_signer(key), AT)
    ledger.close()


def test_a_damaged_database_is_kept_as_found(tmp_path):
    folder, _ = new_pour(tmp_path)
    path = folder / "record/ledger.sqlite"
    path.write_bytes(b"SQLite format 3\0" + b"\xff" * 5000)
    before = path.read_bytes()
    with pytest.raises((RecordDamaged, BadInput), match="ledger"):
        Ledger.open(folder)
    assert path.read_bytes() == before


def test_a_later_layout_is_not_touched(tmp_path):
    folder, _ = new_pour(tmp_path)
    with sqlite3.connect(folder / "record/ledger.sqlite") as db:
        db.execute("PRAGMA user_version=99")
    db.close()
    with pytest.raises(BadInput, match="has layout 99"):
        Ledger.open(folder)


@pytest.mark.parametrize(("kind", "warned"), [("nfs4", True), ("cifs", True), ("9p", True), ("ext4", False)])
def test_a_network_drive_is_pointed_out(tmp_path, kind, warned):
    mounts = tmp_path / "mounts"
    table = f"1 0 0:1 / / rw - ext4 /dev/sda rw\n2 1 0:2 / {tmp_path} rw - {kind} server:/share rw\n"
    mounts.write_text(table, encoding="utf-8")
    assert bool(network_cautions(tmp_path, mounts)) is warned
    assert network_cautions(tmp_path, tmp_path / "absent") == ()


def test_a_backup_restores_to_the_same_head(tmp_path):
    folder, key = new_pour(tmp_path)
    ledger = Ledger.open(folder)
    digest = ledger.store.objects.put(b"photo")
    ledger.append("photo", {"sha256": digest, "name": "p.jpg"}, device_signer(key), AT)
    copy = tmp_path / "copy"
    (copy / "record").mkdir(parents=True)
    ledger.store.rows.backup(copy / "record/ledger.sqlite")
    shutil.copytree(folder / "record/objects", copy / "record/objects")
    head = ledger.head()
    ledger.close()
    shutil.rmtree(folder)
    restored = Ledger.open(copy)
    assert restored.head() == head
    assert restored.store.objects.read(digest) == b"photo"
    restored.close()


def test_folders_that_can_not_be_used(tmp_path):
    with pytest.raises(BadInput, match="no such folder"):
        PourFolder(tmp_path / "absent")
    with pytest.raises(BadInput, match="no record yet"):
        Ledger.open(tmp_path)
    with pytest.raises(BadInput, match="can't be read"):
        Objects(tmp_path).put_file(tmp_path / "absent.jpg")


def test_a_device_key_open_to_others_is_not_used(tmp_path):
    key = tmp_path / "device.key"
    first = device_signer(key)
    assert key.stat().st_mode & 0o777 == 0o600
    assert device_signer(key).public == first.public
    key.chmod(0o644)
    with pytest.raises(BadInput, match="Others may read"):
        device_signer(key)


def without_the_rights_of_root(command: list[str]) -> subprocess.CompletedProcess[str]:
    """Run a program that file permissions hold for, whoever runs the tests (Linux: prctl(2), PR_CAPBSET_DROP)."""
    libc = ctypes.CDLL(None)
    drop, override, search = 24, 1, 2
    return subprocess.run(
        command,
        preexec_fn=lambda: [libc.prctl(drop, capability, 0, 0, 0) for capability in (override, search)],
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("in_use", [False, True])
def test_a_read_only_copy_is_read_and_left_as_it_is(tmp_path, in_use):
    """A copy on a medium that can't be written, made after closing or with the log still beside the database."""
    folder, key = new_pour(tmp_path)
    ledger = Ledger.open(folder)
    digest = ledger.store.objects.put(b"photo")
    ledger.append("photo", {"sha256": digest, "name": "p.jpg"}, device_signer(key), AT)
    size = len(ledger.records())
    if not in_use:
        ledger.close()
    copy = tmp_path / "copy"
    shutil.copytree(folder, copy)
    assert (copy / "record/ledger.sqlite-wal").exists() is in_use
    shutil.rmtree(copy / "record/incoming")  # an empty folder, which many ways of copying leave out
    places = sorted(copy.rglob("*"))
    for place in (*places, copy):
        place.chmod(0o555 if place.is_dir() else 0o444)
    code = f"""
from pathlib import Path
from datetime import UTC, datetime
from verifier.errors import BadInput
from verifier.record import Ledger, device_signer
ledger = Ledger.open(Path({str(copy)!r}))
print(len(ledger.records()), ledger.store.objects.read({digest!r}).decode())
try:
    ledger.append("remark", {{"text": "x"}}, device_signer(Path({str(key)!r})), datetime.now(UTC))
except BadInput as error:
    print(error.wrong)
ledger.close()
"""
    done = without_the_rights_of_root([sys.executable, "-c", code])
    assert done.stdout == f"{size} photo\nThe record can be read here, but not written.\n", done.stderr
    assert sorted(copy.rglob("*")) == places, "nothing was made beside it"
    ledger.close()
    for place in (copy, *places):
        place.chmod(0o755)
