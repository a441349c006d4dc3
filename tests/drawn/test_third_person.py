"""What a third person takes out of a record from the command line: parts, differences, a seal made on an own machine."""

from __future__ import annotations

import json
import shutil
import subprocess
import zipfile
from pathlib import Path

import pytest
from test_pour_folder import LATER as AT
from test_pour_folder import photo
from test_release_ceremony import PASSPHRASE, Run, clock, drawn, kinds, pour, run

from verifier.pipeline.intake.adding import add_photos
from verifier.pipeline.people.acting import Act
from verifier.pipeline.review.reviewing import About, Remark, say
from verifier.pipeline.sealing.disclosing import proof_of
from verifier.pipeline.sealing.originals import originals_of
from verifier.pipeline.sealing.telling import told
from verifier.record import merkle
from verifier.record.audit import HOLDS, OPEN, audit
from verifier.record.audit.tree import read_head, read_proof
from verifier.record.canonical import utc_instant
from verifier.record.keys import device_signer
from verifier.record.ledger import Ledger
from verifier.report.story import QUESTIONS

__all__ = ["drawn", "pour", "run"]


def names_in(bundle: Path) -> list[str]:
    with zipfile.ZipFile(bundle) as archive:
        return [name.partition("/")[2] for name in archive.namelist()]


def test_one_element_is_sealed_under_the_head_of_the_whole(run: Run, pour: Path, tmp_path: Path) -> None:
    assert run("check", pour, "--record", "--at", clock(0))[0] == 0
    code, out, err = run("seal", pour, "--element", "S1", "--out", tmp_path / "s1.zip", "--at", clock(1))
    assert code == 0, err
    size = len(kinds(pour))
    assert f" of {size} records" in out
    outcome = audit(tmp_path / "s1.zip")
    assert outcome.alarms == ()
    assert {f.topic: f.state for f in outcome.facts}["head"] == HOLDS
    of, whole = told(tmp_path / "s1.zip"), told(pour)
    assert (of.head.root, of.whole, whole.whole) == (whole.head.root, False, True)
    shown = {o.name for o in originals_of(of)}
    assert shown
    assert all(name.startswith("s1-") for name in shown)
    assert {o.name for o in originals_of(whole)} > shown
    assert not [e for e in of.records if e.body.get("element") == "S2"]


def test_one_photo_is_named_by_name_or_hash(run: Run, pour: Path, tmp_path: Path) -> None:
    photo = originals_of(told(pour))[0]
    for number, asked in enumerate((photo.name, photo.sha256[:12])):
        bundle = tmp_path / f"{number}.zip"
        code, _, err = run("seal", pour, "--photo", asked, "--out", bundle, "--at", clock(1))
        assert code == 0, err
        originals = [n for n in names_in(bundle) if n.startswith("data/originals/")]
        assert originals == [f"data/originals/{photo.sha256}.jpg"]
        assert audit(bundle).alarms == ()


def test_what_the_record_does_not_hold_is_said(run: Run, pour: Path, tmp_path: Path) -> None:
    wrong = (
        (("--element", "S9"), "Give one of: S1, S2"),
        (("--photo", "none.jpg"), "no photo 'none.jpg'"),
        (("--element", "S1", "--photo", "x"), "Ask for either"),
        (("--text-out", "seal.txt"), "Name who seals"),
    )
    for arguments, says in wrong:
        code, _, err = run("seal", pour, *arguments, "--out", tmp_path / "b.zip", "--at", clock(1))
        assert (code, says in err) == (2, True), err
        assert not (tmp_path / "b.zip").exists()


def test_a_changed_original_is_never_handed_out(run: Run, pour: Path, tmp_path: Path) -> None:
    """Neither as it lies there now nor in a bundle; and a name that is nothing is told as that."""
    photo = originals_of(told(pour))[0]
    ledger = Ledger.open(pour)
    place = ledger.store.objects.path_of(photo.sha256)
    ledger.close()
    place.chmod(0o644)
    place.write_bytes(place.read_bytes() + b"x")
    assert told(pour).read(photo.sha256) is None
    code, _, err = run("seal", pour, "--out", tmp_path / "b.zip", "--at", clock(1))
    assert code == 2
    assert photo.sha256[:16] in err
    code, _, err = run("timeline", tmp_path / "none.zip")
    assert (code, "no such folder or bundle" in err) == (2, True)


def test_two_states_are_named_by_number_head_or_bundle(run: Run, pour: Path, tmp_path: Path) -> None:
    before = len(kinds(pour))
    _, said, _ = run("head", pour, "--out", tmp_path / "held.txt", "--at", clock(-1))
    short = said.split("Short form: ")[1].split("\n")[0]
    assert run("seal", pour, "--out", tmp_path / "then.zip", "--at", clock(0))[0] == 0
    assert run("check", pour, "--record", "--at", clock(0))[0] == 0
    outs = []
    for state in (str(before), short, tmp_path / "held.txt", tmp_path / "then.zip"):
        code, out, err = run("timeline", pour, "--diff", state)
        assert code == 0, err
        outs.append(out.partition("answer of the last check")[2])
    assert outs[0].startswith(": - -> ")
    assert len(set(outs)) == 1
    code, out, _ = run("timeline", tmp_path / "then.zip", "--diff", pour, "--json")
    assert json.loads(out)["parts_at"] is None
    forged = f"{before}-AAAA-AAAA-AAAA-AAAA"
    for wrong, says in ((forged, "contradicts the record"), ("nothing", "names no state"), ("9999", "holds")):
        code, _, err = run("timeline", pour, "--diff", wrong)
        assert (code, says in err) == (2, True), err
    assert run("seal", pour, "--element", "S1", "--out", tmp_path / "s1.zip", "--at", clock(1))[0] == 0
    code, _, err = run("timeline", tmp_path / "s1.zip", "--diff", "3")
    assert (code, "can't be told from it" in err) == (2, True)


def test_a_proof_of_one_record_leads_to_the_head_and_tells_nothing_else(
    run: Run, pour: Path, tmp_path: Path
) -> None:
    """Checked by the audit's own reader (C2SP tlog-proof, RFC 9162)."""
    del run
    at = utc_instant("2026-05-13T16:00:00Z")
    ledger = Ledger.open(pour)
    seq = ledger.records("photo")[1].seq
    line = ledger.records()[seq - 1].line
    ledger.close()
    text = proof_of(pour, seq, at)
    assert b"photo" not in text.encode()
    note = text.split("\n\n", 1)[1]
    head = read_head(note)
    proof = read_proof(text, note)
    assert head is not None
    assert proof is not None
    assert proof[0] == seq - 1
    assert merkle.root_from_inclusion(merkle.leaf_hash(line), seq - 1, head.size, proof[1]) == head.root


def test_a_person_seals_on_an_own_machine(run: Run, pour: Path, tmp_path: Path) -> None:
    keygen = shutil.which("ssh-keygen")
    if keygen is None:
        pytest.skip("ssh-keygen is not installed")
    key = tmp_path / "own"
    shutil.copy(tmp_path / "settings" / "verifier" / "keys" / "reviewer-1", key)
    key.chmod(0o600)
    opened = [keygen, "-p", "-P", PASSPHRASE, "-N", "", "-f", str(key)]
    subprocess.run(opened, check=True, capture_output=True)
    text = tmp_path / "seal.txt"
    code, out, err = run("seal", pour, "--person", "reviewer-1", "--text-out", text)
    assert (code, "-n pour-seal seal.txt" in out) == (0, True), err
    sign = [keygen, "-Y", "sign", "-f", str(key), "-n", "pour-seal", str(text)]
    subprocess.run(sign, check=True, capture_output=True)
    signature = text.with_name("seal.txt.sig")
    code, out, err = run(
        "seal", pour, "--signature-in", signature, "--out", tmp_path / "b.zip", "--at", clock(2)
    )
    assert (code, "reviewer-1 sealed it on an own machine" in out) == (0, True), err
    outcome = audit(tmp_path / "b.zip")
    assert outcome.alarms == ()
    assert {f.topic: f.state for f in outcome.facts}["sealed in person"] == HOLDS
    code, _, err = run("seal", pour, "--person", "nobody", "--text-out", tmp_path / "x.txt")
    assert (code, "may not seal" in err) == (2, True)


def test_a_record_that_nobody_sealed_says_so(run: Run, pour: Path, tmp_path: Path) -> None:
    assert run("seal", pour, "--out", tmp_path / "b.zip", "--at", clock(1))[0] == 0
    assert {f.topic: f.state for f in audit(tmp_path / "b.zip").facts}["sealed in person"] == OPEN


def read(pdf: Path) -> str:
    tool = shutil.which("pdftotext")
    if tool is None:
        pytest.skip("pdftotext is not installed")
    done = subprocess.run([tool, "-layout", str(pdf), "-"], capture_output=True, text=True, check=True)
    return " ".join(done.stdout.split())


def test_the_story_is_told_from_folder_and_bundle_alike(run: Run, pour: Path, tmp_path: Path) -> None:
    """Read back by poppler: every question, every photo, every act, and that nothing is summed up to one word."""
    assert run("check", pour, "--record", "--at", clock(0))[0] == 0
    assert run("seal", pour, "--out", tmp_path / "whole.zip", "--at", clock(1))[0] == 0
    assert run("seal", pour, "--element", "S2", "--out", tmp_path / "s2.zip", "--at", clock(1))[0] == 0
    told_by: dict[str, str] = {}
    for name, place in (("folder", pour), ("whole", tmp_path / "whole.zip"), ("part", tmp_path / "s2.zip")):
        code, out, err = run("timeline", place, "--pdf", tmp_path / f"{name}.pdf")
        assert (code, "Wrote" in out) == (0, True), err
        told_by[name] = read(tmp_path / f"{name}.pdf")
    for text in (told_by["folder"], told_by["whole"]):
        assert [asks for asks, _ in QUESTIONS.values() if asks not in text] == []
        assert {"s1-spot1.jpg", "s2-spot1.jpg"} <= set(text.split())
        assert "Not before not bounded: no board issued from this record is seen in it" in text
        assert "receipt, by a device's clock" in text
        assert "the pour was checked as a whole" in text
        assert "That nothing was left out before it entered the record" in text
        assert "engineer of record decides" in text
    part = told_by["part"]
    assert "Made from a part" in part
    assert "s1-spot1.jpg" not in part
    assert "nothing among the records shown" in part
    code, _, err = run("timeline", pour, "--pdf", tmp_path / "folder.pdf")
    assert (code, "file of that name already" in err) == (2, True)
    code, _, err = run("timeline", pour, "--pdf", tmp_path / "x.pdf", "--diff", "1")
    assert (code, "Leave out" in err) == (2, True)


def test_foreign_words_are_set_as_they_are(run: Run, pour: Path, tmp_path: Path) -> None:
    """Typesetting is no program that a remark can write: markup and commands stay letters."""
    text = "#panic() *b* $x$ @ref <label> [link](http://a.example)"
    say(pour, Remark(text=text, about=About(element="S1")), Act("reviewer-1", AT, device_signer()))
    code, _, err = run("timeline", pour, "--pdf", tmp_path / "story.pdf")
    assert code == 0, err
    assert text in read(tmp_path / "story.pdf")


def test_the_story_of_a_pour_in_inches_says_both(run: Run, pour: Path, tmp_path: Path) -> None:
    """As release, order and card do. The name of a file stays as it was received; 1 in = 25.4 mm exactly (NIST SP 811)."""
    about = About(element="S1")
    toml = (pour / "pour.toml").read_text(encoding="utf-8")
    add_photos(
        pour, [photo(tmp_path, "s1-spot2 203 mm.jpg")], Act("engineer-1", AT, device_signer()), workers=1
    )
    say(pour, Remark(text="Gap 2 is 203.2 mm.", about=about), Act("reviewer-1", AT, device_signer()))
    assert run("timeline", pour, "--pdf", tmp_path / "mm.pdf")[0] == 0
    assert "(8.00 in)" not in read(tmp_path / "mm.pdf")
    (pour / "pour.toml").write_text(toml.replace("[pour]", '[pour]\nunits = "inch"', 1), encoding="utf-8")
    say(pour, Remark(text="Gap 3 is 101.6 mm.", about=about), Act("reviewer-1", AT, device_signer()))
    assert run("timeline", pour, "--pdf", tmp_path / "in.pdf")[0] == 0
    told_now = read(tmp_path / "in.pdf")
    assert "Gap 2 is 203.2 mm (8.00 in)." in told_now
    assert "Gap 3 is 101.6 mm (4.00 in)." in told_now
    assert "spot2 203 mm.jpg" in told_now
    assert "(7.99 in)" not in told_now
