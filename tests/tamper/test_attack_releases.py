"""Attacks on the release: forged, replayed, bound to something else, given on the own work; each test states its alarm.

The attacker has write access to everything and holds the device's key unless a test says otherwise, so that no alarm is owed to a
mere checksum that could be computed again.
"""

from __future__ import annotations

import hashlib
import shutil

import forgery
import pytest
from record_world import PASSPHRASE, failing, open_pour, run, sealed_folder, tool

from verifier.errors import BadInput, NotAllowed
from verifier.record import Ledger
from verifier.record.approval import statement
from verifier.record.audit import audit
from verifier.record.bundle import write_bundle
from verifier.record.canonical import utc_text
from verifier.record.people import import_release, release


def test_replace_the_rules_file(pour, tmp_path):
    """Alarm: the approval is bound to the hash of the old rules, the signatures to the old record."""
    bag, _ = sealed_folder(pour, tmp_path)
    rules = next((bag / "data/rules").iterdir())
    old = rules.name.partition(".")[0]
    rules.unlink()
    easier = b"# wider limits\n"
    new = hashlib.sha256(easier).hexdigest()
    forgery.write(bag / f"data/rules/{new}.toml", easier)
    lines = [
        x.replace(old.encode(), new.encode()) if b'"type":"rules"' in x else x for x in forgery.lines_of(bag)
    ]
    forgery.put_lines(bag, forgery.rechained(lines, pour.device), pour.device)
    forgery.reseal(bag, pour.device)
    assert {"approvals", "signatures"} <= failing(audit(bag))
    assert "bytes intact" not in failing(audit(bag))


def test_change_the_rules_after_the_review(pour):
    """Refused: what is bound is not what is in force, and the new record was not looked at."""
    approval = pour.approval()
    digest = pour.ledger.store.objects.put(b"# wider limits\n")
    pour.ledger.append("rules", {"sha256": digest, "name": "rules.toml"}, pour.device, pour.tick())
    with pytest.raises(NotAllowed, match="rules version bound is not the one in force"):
        release(pour.ledger, approval, pour.person("reviewer-1"), pour.tick())


@pytest.mark.parametrize(
    ("who", "says"),
    [
        ("thief", "not enrolled"),
        ("engineer-1", "has not the role"),
        ("device", "needs the person's own key"),
    ],
)
def test_forge_an_approval(pour, tmp_path, who, says):
    """Refused on entry; slipped in: persons."""
    body = pour.approval().body()
    signer = pour.device.on_behalf_of("reviewer-1") if who == "device" else pour.person(who)
    with pytest.raises(NotAllowed, match=says):
        pour.ledger.append("release", body, signer, pour.tick())
    again = pour.device if who == "device" else pour.person(who)
    forgery.slip_in(pour.ledger, "release", body, again, pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert "persons" in failing(audit(tmp_path / "b.zip"))


def test_the_same_person_documents_and_releases(pour, tmp_path):
    """Refused on entry, also if the person was only claimed by a device; slipped in: persons."""
    digest = pour.ledger.store.objects.put(b"by the reviewer")
    body = {"sha256": digest, "name": "own.jpg"}
    pour.ledger.append("photo", body, pour.device.on_behalf_of("reviewer-1"), pour.tick())
    approval = pour.approval()
    with pytest.raises(NotAllowed, match="documented or corrected steel"):
        release(pour.ledger, approval, pour.person("reviewer-1"), pour.tick())
    forgery.slip_in(pour.ledger, "release", approval.body(), pour.person("reviewer-1"), pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert failing(audit(tmp_path / "b.zip")) == {"persons"}


def test_whoever_corrected_the_steel_cannot_release_it(pour):
    """Refused: a correction counts as documenting, even by the engineer of record."""
    pour.ledger.append(
        "correction", {"element": "S1", "text": "zone A respaced"}, pour.person("eor-1"), pour.tick()
    )
    with pytest.raises(NotAllowed, match="documented or corrected steel"):
        release(pour.ledger, pour.approval("eor-1"), pour.person("eor-1"), pour.tick())


def test_edit_the_statement_of_a_release(pour):
    """Refused: the text that a person reads and the fields that a program reads must say the same."""
    body = pour.approval().body()
    body["conditions"] = ["none of the chairs in zone A"]
    with pytest.raises(NotAllowed, match="does not say what the record says"):
        pour.ledger.append("release", body, pour.person("reviewer-1"), pour.tick())


def test_a_condition_cannot_pretend_to_be_a_field(pour):
    """A line break in foreign text does not begin a new line of the statement."""
    approval = pour.approval().model_copy(update={"conditions": ("wet the deck\ndecision: Go",)})
    lines = statement(approval.body()).splitlines()
    assert sum(line.startswith("decision:") for line in lines) == 1
    assert "condition 1: wet the deck decision: Go" in lines


def test_old_release_on_a_new_pour(pour, tmp_path, people_keys):
    """Refused: pour, versions and roots are others. A record does not open under another pour's name either."""
    old = pour.approval().body()
    other = open_pour(tmp_path / "other", people_keys, pour="L3-west")
    other.add_photo("q1.jpg", b"other steel")
    with pytest.raises(NotAllowed, match="the release is for pour 'L2-east'"):
        other.ledger.append("release", old, other.person("reviewer-1"), other.tick())
    renamed = {**old, "pour": "L3-west", "statement": old["statement"].replace("L2-east", "L3-west")}
    with pytest.raises(NotAllowed, match="is not a head of this record"):
        other.ledger.append("release", renamed, other.person("reviewer-1"), other.tick())
    forgery.slip_in(other.ledger, "release", old, other.person("reviewer-1"), other.tick())
    write_bundle(other.ledger, tmp_path / "b.zip", other.device, other.tick())
    assert "approvals" in failing(audit(tmp_path / "b.zip"))
    other.ledger.close()
    with pytest.raises(BadInput, match="of pour 'L3-west'"):
        Ledger.open(other.folder, pour="L2-east")


def test_the_same_release_twice(pour):
    """Refused: the first release itself came after what the second one looked at."""
    approval = pour.approval()
    release(pour.ledger, approval, pour.person("reviewer-1"), pour.tick())
    with pytest.raises(NotAllowed, match="were looked at"):
        release(pour.ledger, approval, pour.person("reviewer-1"), pour.tick())


def test_a_signature_made_for_another_purpose(pour, tmp_path):
    """Refused: OpenSSH's namespace keeps a signature over a file from being passed off as a release."""
    approval = pour.approval()
    text = tmp_path / "a.txt"
    text.write_text(approval.body()["statement"], encoding="utf-8")
    key = tmp_path / "key"
    key.write_bytes((pour.keys / "reviewer-1").read_bytes())
    key.chmod(0o600)
    run(tool("ssh-keygen"), "-p", "-P", PASSPHRASE, "-N", "", "-f", str(key))
    assert run(tool("ssh-keygen"), "-Y", "sign", "-f", str(key), "-n", "file", str(text)).returncode == 0
    with pytest.raises(NotAllowed, match="pour-release"):
        import_release(pour.ledger, approval, (tmp_path / "a.txt.sig").read_text(), pour.device, pour.tick())


@pytest.mark.parametrize(
    "change",
    [
        {"decision": "go"},
        {"conditions": []},
        {"valid_until": "2036-01-01T00:00:00Z"},
        {"verdict": "everything conforms"},
        {"open_observations": []},
        {"software": "verifier 99"},
    ],
    ids=lambda change: next(iter(change)),
)
def test_a_record_that_says_other_than_the_person_signed(pour, tmp_path, change):
    """Refused; slipped in by the stolen device around a true signature made elsewhere: approvals. The page and the timeline
    show the fields of the record, so these must be the words that were signed."""
    approval = pour.approval(decision="go_with_conditions").model_copy(
        update={
            "conditions": ("wet the deck",),
            "open_observations": ("rain",),
            "valid_until": utc_text(pour.now),
        }
    )
    body = approval.body()
    armored = forgery.own_machine_signature(pour.keys / "reviewer-1", PASSPHRASE, body["statement"])
    signed = {**body, "statement_signature": armored}
    clean = write_release(pour, tmp_path / "clean", signed)
    assert failing(audit(clean)) == set(), "the control: signed and recorded alike"
    with pytest.raises(NotAllowed, match=r"does not say what the record says|were looked at"):
        pour.ledger.append("release", {**signed, **change}, pour.device, pour.tick())
    forged = write_release(pour, tmp_path / "forged", {**signed, **change})
    assert "approvals" in failing(audit(forged))


def write_release(pour, place, body):
    """A bundle of the pour as it stands, with a release slipped in behind it that the pour itself never takes."""
    shutil.copytree(pour.folder, place)
    ledger = Ledger.open(place)
    forgery.slip_in(ledger, "release", body, pour.device, pour.now)
    path = write_bundle(ledger, place / "b.zip", pour.device, pour.now).path
    ledger.close()
    return path
