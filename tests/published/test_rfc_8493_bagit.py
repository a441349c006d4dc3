"""Bags: a sealed bundle is valid for the Library of Congress' own program, and the audit is at least as strict.

The cases follow the text of RFC 8493 and the kinds of the Library of Congress conformance suite (public domain): a bag that a
case makes invalid must be refused by the audit, also where the program accepts it.
"""

from __future__ import annotations

import hashlib
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import bagit
import pytest

from verifier.record import Ledger, device_signer
from verifier.record.audit import audit
from verifier.record.bundle import write_bundle
from verifier.record.people import join_device

AT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


@pytest.fixture
def bag(tmp_path) -> Path:
    folder = tmp_path / "pour"
    folder.mkdir()
    device = device_signer(tmp_path / "device.key")
    ledger = Ledger.open(folder, pour="L2-east")
    join_device(ledger, device, AT)
    digest = ledger.store.objects.put(b"original")
    ledger.append("photo", {"sha256": digest, "name": "p.jpg"}, device, AT)
    write_bundle(ledger, tmp_path / "b.zip", device, AT)
    ledger.close()
    with zipfile.ZipFile(tmp_path / "b.zip") as archive:
        archive.extractall(tmp_path / "x")
    return next((tmp_path / "x").iterdir())


def accepted_by_the_reference_program(bag: Path) -> bool:
    try:
        return bool(bagit.Bag(str(bag)).is_valid())
    except (bagit.BagError, ValueError):
        return False


@pytest.mark.source("RFC 8493 (2018), sections 2.1 and 3; reference program bagit 1.9")
def test_a_bundle_is_a_complete_and_valid_bag(bag):
    read = bagit.Bag(str(bag))
    read.validate()
    assert sorted(read.algorithms) == ["sha256", "sha512"]
    assert read.version_info == (1, 0)
    size, count = (int(n) for n in read.info["Payload-Oxum"].split("."))
    files = [p for p in (bag / "data").rglob("*") if p.is_file()]
    assert (size, count) == (sum(p.stat().st_size for p in files), len(files))
    assert not audit(bag).alarms


@pytest.mark.source("RFC 8493 (2018), section 4.3: one folder at the top of a serialized bag")
def test_the_zip_holds_one_folder(bag, tmp_path):
    with zipfile.ZipFile(tmp_path / "b.zip") as archive:
        assert len({name.partition("/")[0] for name in archive.namelist()}) == 1
        assert archive.testzip() is None


DECLARATIONS = {
    "invalid whitespace before the colon": "BagIt-Version : 1.0\nTag-File-Character-Encoding: UTF-8\n",
    "two blanks": "BagIt-Version:  1.0\nTag-File-Character-Encoding: UTF-8\n",
    "blank at the end": "BagIt-Version: 1.0 \nTag-File-Character-Encoding: UTF-8\n",
    "blank line first": "\nBagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
    "byte order mark": "\ufeffBagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
    "a third line": "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\nX: y\n",
    "no encoding": "BagIt-Version: 1.0\n",
    "no version": "Tag-File-Character-Encoding: UTF-8\n",
    "empty": "",
}


@pytest.mark.source(
    "RFC 8493 (2018), section 2.1.1: exactly these two lines, no byte order mark, no other white space"
)
@pytest.mark.parametrize("case", DECLARATIONS)
def test_declaration(bag, case):
    (bag / "bagit.txt").write_text(DECLARATIONS[case], encoding="utf-8")
    for kind in ("sha256", "sha512"):
        path = bag / f"tagmanifest-{kind}.txt"
        digest = hashlib.new(kind, (bag / "bagit.txt").read_bytes()).hexdigest()
        lines = [
            f"{digest}  bagit.txt" if x.endswith("  bagit.txt") else x for x in path.read_text().splitlines()
        ]
        path.write_text("\n".join(lines) + "\n")
    assert any("bagit.txt is not" in detail for fact in audit(bag).alarms for detail in fact.details)


def drop(bag, name):
    (bag / name).unlink()


def edit(bag, name, change):
    path = bag / name
    before = path.read_bytes()
    path.write_bytes(change(before))
    assert path.read_bytes() != before


CASES = {
    "2.1.2 no payload folder": lambda bag: (bag / "data").rename(bag / "payload"),
    "2.1.3 no manifest": lambda bag: [drop(bag, f"manifest-{k}.txt") for k in ("sha256", "sha512")],
    "3 payload file missing": lambda bag: next((bag / "data/originals").iterdir()).unlink(),
    "3 payload file not listed": lambda bag: (bag / "data/more.txt").write_bytes(b"x"),
    "3 corrupt payload": lambda bag: edit(bag, "data/timeline.txt", lambda b: b + b" "),
    "3 corrupt tag file": lambda bag: edit(bag, "bag-info.txt", lambda b: b + b"X: y\n"),
    "2.1.3 file listed twice": lambda bag: edit(
        bag, "manifest-sha256.txt", lambda b: b + b.splitlines(keepends=True)[0]
    ),
    "2.1.3 path out of scope": lambda bag: edit(
        bag, "manifest-sha256.txt", lambda b: b + b"0" * 64 + b"  ../../out.txt\n"
    ),
    "2.1.3 absolute path": lambda bag: edit(
        bag, "manifest-sha256.txt", lambda b: b + b"0" * 64 + b"  /etc/passwd\n"
    ),
    "2.1.3 path in the home folder": lambda bag: edit(
        bag, "manifest-sha256.txt", lambda b: b + b"0" * 64 + b"  ~/out\n"
    ),
    "2.2.1 tag manifest lists a missing file": lambda bag: drop(bag, "bag-info.txt"),
    "2.2.3 files to fetch": lambda bag: (bag / "fetch.txt").write_text(
        "https://example.com/x - data/x.bin\n"
    ),
    "2.4 wrong length of a sum": lambda bag: edit(bag, "manifest-sha512.txt", lambda b: b[1:]),
}


@pytest.mark.source("RFC 8493 (2018), sections 2.1.2 to 3, cases by its text")
@pytest.mark.parametrize("case", CASES)
def test_invalid_bags_are_refused(bag, case):
    CASES[case](bag)
    assert audit(bag).alarms, f"accepted by the reference program: {accepted_by_the_reference_program(bag)}"


@pytest.mark.source(
    "RFC 8493 (2018), section 5.2: links; section 6.1: names that differ by case or composition only"
)
def test_links_and_odd_names(bag, tmp_path):
    names = [p.relative_to(bag).as_posix() for p in bag.rglob("*") if p.is_file()]
    assert all(name.isascii() for name in names)
    assert len({name.lower() for name in names}) == len(names)
    (bag / "data/derived").mkdir(exist_ok=True)
    (bag / "data/derived/link").symlink_to(tmp_path)
    assert audit(bag).alarms
