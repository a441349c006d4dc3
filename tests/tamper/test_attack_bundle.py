"""Attacks on the bundle as a file: packed again, mixed, damaged, with names that mean something else elsewhere.

The attacker has write access to everything and holds the device's key unless a test says otherwise, so that no alarm is owed to a
mere checksum that could be computed again.
"""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path

import forgery
import pytest
from record_world import failing, open_pour, sealed_folder, unpack

from verifier.record.audit import OPEN, audit
from verifier.record.bundle import write_bundle
from verifier.record.part import part_of_photo


def test_mix_records_of_two_pours(pour, tmp_path, people_keys):
    """Alarm: a part that shows records of two pours."""
    digest = pour.add_photo("p3.jpg", b"third")
    part = write_bundle(
        pour.ledger,
        tmp_path / "p.zip",
        pour.device,
        pour.tick(),
        part=part_of_photo(pour.ledger.records(), digest),
    )
    bag = unpack(part.path, tmp_path / "bag")
    other = open_pour(tmp_path / "other", people_keys, pour="L3-west")
    other.add_photo("q1.jpg", b"other steel")
    lines = [*forgery.lines_of(bag), other.ledger.records()[-1].line]
    forgery.write(bag / "data/ledger.jsonl", b"".join(x + b"\n" for x in lines))
    forgery.reseal(bag, pour.device)
    assert {"chain", "head"} <= failing(audit(bag))
    other.ledger.close()


def test_pack_the_bundle_again(bundle, tmp_path):
    """Alarm: container only - whoever unpacked and packed it in good faith hasn't touched the bytes inside."""
    unpack(bundle, tmp_path / "x")
    again = shutil.make_archive(str(tmp_path / "again"), "zip", tmp_path / "x")
    assert failing(audit(Path(again))) == {"container"}


def test_a_damaged_container_is_a_fact_not_a_crash(bundle, tmp_path):
    """Alarm: container. Nothing an attacker writes may stop the audit from answering."""
    for content in (b"", b"PK\x05\x06" + b"\0" * 18, b"not a zip", bundle.read_bytes()[:-30]):
        broken = tmp_path / "broken.zip"
        broken.write_bytes(content)
        assert "container" in failing(audit(broken))


def test_an_empty_folder_is_no_sound_bundle(tmp_path):
    """Alarm: container. Where there is nothing, nothing is called sound."""
    outcome = audit(tmp_path)
    assert failing(outcome) == {"container"}
    (tmp_path / "bagit.txt").write_text(
        "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n", encoding="utf-8"
    )
    outcome = audit(tmp_path)
    assert {"bytes intact", "listing", "chain", "signatures", "head", "seal"} <= failing(outcome)


# --- things laid beside the evidence, in a bundle that the stolen device sealed anew


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("data/NOTE.txt", b"everything conforms"),
        ("data/originals/p9.jpg", b"a prettier photo"),
        ("data/rules/current.toml", b"# wider limits\n"),
        ("data/keys/reviewer-9.pem", b"-----BEGIN PUBLIC KEY-----\n"),
        ("data/approvals/99.txt", b"RELEASE OF A POUR\n"),
        ("data/tokens/99.checkpoint", b"pour-record/P\n"),
        ("data/release-99.pdf", b"%PDF-1.7\n"),
        ("data/results/notes.json", b"{}"),
    ],
)
def test_a_file_that_no_record_accounts_for(pour, tmp_path, name, content):
    """Alarm: copies."""
    bag, _ = sealed_folder(pour, tmp_path)
    forgery.write(bag / name, content)
    forgery.reseal(bag, pour.device)
    assert failing(audit(bag)) == {"copies"}


def test_a_photo_slipped_in_under_its_own_hash(pour, tmp_path):
    """Alarms: originals and copies. No record names it, however well it is named itself."""
    bag, _ = sealed_folder(pour, tmp_path)
    prettier = b"a prettier photo"
    forgery.write(bag / f"data/originals/{hashlib.sha256(prettier).hexdigest()}.jpg", prettier)
    forgery.reseal(bag, pour.device)
    assert failing(audit(bag)) == {"originals", "copies"}


def test_another_release_document(pour, tmp_path):
    """Alarm: copies - also if the true document is laid elsewhere, so that its hash is still found."""
    bag, _ = sealed_folder(pour, tmp_path)
    (document,) = (bag / "data").glob("release-*.pdf")
    true = document.read_bytes()
    forgery.write(bag / f"data/originals/{hashlib.sha256(true).hexdigest()}.pdf", true)
    forgery.write(document, b"%PDF-1.7 of another day")
    forgery.reseal(bag, pour.device)
    assert failing(audit(bag)) == {"copies"}


@pytest.mark.parametrize("name", ["people.txt", "allowed_signers"])
def test_a_list_of_people_that_the_records_do_not_bear_out(pour, tmp_path, name):
    """Alarm: copies. Who follows HOW-TO-CHECK by hand reads these lists and not the records."""
    bag, _ = sealed_folder(pour, tmp_path)
    listing = bag / "data/keys" / name
    forgery.write(listing, listing.read_bytes().replace(b"reviewer-1", b"reviewer-2"))
    forgery.reseal(bag, pour.device)
    assert failing(audit(bag)) == {"copies"}


def test_a_program_and_texts_that_lie(pour, tmp_path):
    """NOT an alarm, since another version is no attack: the audit says that it is not this program, and of texts and pictures
    that nothing vouches for them."""
    bag, _ = sealed_folder(pour, tmp_path)
    topic = "texts and program"
    before = next(f for f in audit(bag).facts if f.topic == topic)
    assert (before.state, "is the one that says this" in before.say) == (OPEN, True)
    forgery.write(bag / "data/check/audit/facts.py", b"print('[holds] everything')\n")
    forgery.write(bag / "data/timeline.txt", b"nobody ever refused\n")
    forgery.reseal(bag, pour.device)
    after = next(f for f in audit(bag).facts if f.topic == topic)
    assert failing(audit(bag)) == set()
    assert after.state == OPEN
    assert "NOT the one that says this" in after.say
    assert "data/timeline.txt" in after.say


def test_a_bundle_that_says_it_is_of_another_pour(pour, tmp_path):
    """Alarm: head. What stands in front must name the record behind; twice is as bad as wrong."""
    for number, change in enumerate((b"pour-record/L3-west", b"pour-record/L2-east\nexternal-identifier: x")):
        bag = unpack(pour.release_and_seal(tmp_path / f"{number}.zip"), tmp_path / f"x{number}")
        info = bag / "bag-info.txt"
        forgery.write(info, info.read_bytes().replace(b"pour-record/L2-east", change))
        forgery.reseal(bag, pour.device)
        assert failing(audit(bag)) == {"head"}
