"""Attacks on the container: names that lead or mean elsewhere, bytes around it, directories that lie, links.

The attacker has write access to everything and holds the device's key. Each forged zip is byte for byte as sealing would write
it, unless a test says otherwise, so that only what is wrong with it can be what is found.
"""

from __future__ import annotations

import struct

import forgery
import pytest
from record_world import failing, unpack

from verifier.record.audit import FAILS, audit
from verifier.record.audit.container import Bag


@pytest.mark.parametrize(
    "top", ["..", ".", "", "a b", "C:", "top\\..", "top\n[holds] all", "top\u202egnp"], ids=repr
)
def test_a_top_folder_that_leads_elsewhere(bundle, tmp_path, top):
    """Alarm: container. Whoever unpacks it must not write beside the folder chosen, on any system."""
    files = forgery.files_of(unpack(bundle, tmp_path / "x"))
    assert failing(audit(forgery.packed(files, tmp_path / "good.zip"))) == set()
    assert failing(audit(forgery.packed(files, tmp_path / "bad.zip", top))) == {"container"}


@pytest.mark.parametrize(
    "name",
    [
        "data/../../x",
        "data//x",
        "data/./x",
        "/x",
        "data/x.",
        "data/a\\b",
        "data/x\0y",
        "data/nai\u0308ve",
        "data/a\nb",
    ],
    ids=repr,
)
def test_a_name_that_means_something_else_elsewhere(bundle, tmp_path, name):
    """Alarm: container. Names are plain ASCII, so there is no other spelling, no other case and no other place for any."""
    files = forgery.files_of(unpack(bundle, tmp_path / "x")) | {name: b"x"}
    assert failing(audit(forgery.packed(files, tmp_path / "bad.zip"))) == {"container"}


def test_two_names_that_are_one_where_case_does_not_count(bundle, tmp_path):
    """Alarm: container. Unpacked on such a system, the second ledger would lie over the first."""
    files = forgery.files_of(unpack(bundle, tmp_path / "x"))
    files["data/Ledger.jsonl"] = b"another\n"
    assert failing(audit(forgery.packed(files, tmp_path / "bad.zip"))) == {"container"}


def test_bytes_before_between_and_behind(bundle, tmp_path):
    """Alarm: container, for what a zip may carry unseen: in front, behind, or as a comment."""
    whole = bundle.read_bytes()
    comment = whole[:-2] + struct.pack("<H", 4) + b"more"
    for number, changed in enumerate((b"#!/bin/sh\n" + whole, whole + b"\0", comment)):
        path = tmp_path / f"{number}.zip"
        path.write_bytes(changed)
        assert "container" in failing(audit(path))


def test_a_directory_that_points_elsewhere(bundle, tmp_path):
    """Alarm: container. The directory names another place for the ledger than where the audit, reading on, finds it."""
    whole = bytearray(bundle.read_bytes())
    start = struct.unpack("<I", whole[-6:-2])[0]
    place = start + 42  # where the first entry of the directory says that its file begins
    assert whole[start : start + 4] == b"PK\x01\x02"
    whole[place : place + 4] = struct.pack("<I", 77)
    path = tmp_path / "b.zip"
    path.write_bytes(whole)
    assert "container" in failing(audit(path))


def test_a_size_that_is_not_there(bundle, tmp_path):
    """Alarm: container. A file that claims 4 GB costs neither memory nor time, for what isn't there is not read."""
    whole = bytearray(bundle.read_bytes())
    whole[18:26] = struct.pack("<II", 0xFFFFFFF0, 0xFFFFFFF0)
    path = tmp_path / "b.zip"
    path.write_bytes(whole)
    assert "container" in failing(audit(path))


def test_a_link_in_an_unpacked_bundle(bundle, tmp_path):
    """Alarm: container. A link could show the audit one file and the reader another."""
    bag = unpack(bundle, tmp_path / "x")
    ledger = bag / "data/ledger.jsonl"
    ledger.rename(tmp_path / "elsewhere")
    ledger.symlink_to(tmp_path / "elsewhere")
    assert failing(audit(bag)) == {"container"}


def test_a_file_that_changes_during_the_audit(bundle, tmp_path, monkeypatch):
    """Alarm: container. What was hashed and what is then read must be the same bytes."""
    bag = unpack(bundle, tmp_path / "x")
    ledger = bag / "data/ledger.jsonl"
    honest = Bag.read

    def swapping(self, name):
        forgery.write(ledger, b"another ledger\n")
        return honest(self, name)

    monkeypatch.setattr(Bag, "read", swapping)
    (fact,) = audit(bag).facts
    assert (fact.topic, fact.state) == ("container", FAILS)
    assert "changed while it was read" in fact.say
