"""The whole ceremony from the command line on a small drawn pour: keys, release, refusal, what is held against it, the bundle after."""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from small_pour import cover_everywhere, steel_alone
from test_pour_folder import AT, LATER, Drawn, all_spots, photo

from verifier.cli import main
from verifier.concrete.pour_log import Truck
from verifier.drawing.read import read_pour
from verifier.pipeline.decision.check import check
from verifier.pipeline.intake.adding import add_photos
from verifier.pipeline.measurement import measuring
from verifier.pipeline.people.acting import Act, open_record, record_event
from verifier.pipeline.people.enrolling import key_file_of
from verifier.pipeline.release.pour_release import release_alarms
from verifier.pipeline.release.released import release_state_then
from verifier.record.audit import HOLDS, audit
from verifier.record.heads import notes_in
from verifier.record.keys import PersonSigner, device_signer
from verifier.record.ledger import Ledger
from verifier.record.standing import Standing

SAMPLE = Path(__file__).parents[2] / "sample_images"
PASSPHRASE = "four plain words here"
Run = Callable[..., tuple[int, str, str]]


def clock(minutes: int) -> str:
    """Local time of this machine, as ``--at`` takes it."""
    return (LATER + timedelta(minutes=minutes)).astimezone().replace(tzinfo=None).isoformat()


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Run one command in this process: exit code, stdout, stderr."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    (tmp_path / "words").write_text(PASSPHRASE + "\n", encoding="utf-8")

    def call(*arguments: str | Path) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["verifier", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        assert "Traceback" not in told.out + told.err
        code = ended.value.code
        return (code if isinstance(code, int) else 0 if code is None else 1), told.out, told.err

    return call


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> Drawn:
    stand_in = Drawn()
    monkeypatch.setattr(measuring, "measure_one", stand_in.measure)
    return stand_in


@pytest.fixture
def pour(run: Run, drawn: Drawn, tmp_path: Path) -> Path:
    """A pour that is complete, with its people enrolled: reviewer-1 first, who introduces the others."""
    folder = tmp_path / "pour"
    folder.mkdir()
    for name in ("pour.toml", "boards.toml", "instruments.toml"):
        shutil.copy(SAMPLE / name, folder / name)
    steel_alone(folder)
    cover_everywhere(folder, tmp_path, Act("engineer-1", AT, device_signer()))
    add_photos(folder, all_spots(tmp_path), Act("engineer-1", AT, device_signer()), workers=1)
    words = tmp_path / "words"
    code, out, err = run(
        "enrol", folder, "--person", "reviewer-1", "--passphrase-file", words, "--at", clock(-3)
    )
    assert (code, err) == (0, ""), out
    for person in ("eor-1", "engineer-1"):
        introduced = ("--by", "reviewer-1", "--by-passphrase-file", words, "--at", clock(-2))
        assert run("enrol", folder, "--person", person, "--passphrase-file", words, *introduced)[0] == 0
    return folder


def release(
    run: Run, folder: Path, *more: str | Path, person: str = "eor-1", at: int = 0
) -> tuple[int, str, str]:
    words = folder.parent / "words"
    given = ("--person", person, "--passphrase-file", words, "--at", clock(at))
    return run("release", folder, *given, *more)


def kinds(folder: Path) -> list[str]:
    ledger = Ledger.open(folder)
    found = [r.type for r in ledger.records()]
    ledger.close()
    return found


def test_a_release_is_signed_by_the_person_and_its_bundle_holds(run: Run, pour: Path, tmp_path: Path) -> None:
    heads = tmp_path / "outside" / "heads.jsonl"
    code, out, err = release(run, pour, "--head-out", heads)
    assert code == 0, out + err
    assert "RELEASE OF A POUR" in out
    assert "released by: eor-1" in out
    (pdf,) = pour.glob("release-*.pdf")
    assert pdf.read_bytes().startswith(b"%PDF")
    assert kinds(pour)[-2:] == ["check", "release"]
    own = ("--person", "eor-1", "--passphrase-file", tmp_path / "words")
    assert run("seal", pour, "--out", tmp_path / "bundle.zip", *own, "--at", clock(2))[0] == 0
    assert kinds(pour)[-1] == "seal"
    with zipfile.ZipFile(tmp_path / "bundle.zip") as archive:
        (inside,) = [n for n in archive.namelist() if n.endswith(".pdf")]
        assert archive.read(inside) == pdf.read_bytes()
    outcome = audit(tmp_path / "bundle.zip", heads=notes_in(heads.read_text(encoding="utf-8"), where="heads"))
    assert outcome.alarms == ()
    assert run("audit", tmp_path / "bundle.zip", "--head", heads)[0] == 0
    states = {fact.topic: fact.state for fact in outcome.facts}
    assert {t for t, s in states.items() if s == HOLDS} >= {
        "bytes intact",
        "signatures",
        "order",
        "held head",
    }, states


def test_without_a_head_held_outside_nothing_is_released(run: Run, pour: Path) -> None:
    code, _, err = release(run, pour)
    assert (code, "No head of this record is held outside" in err) == (2, True)
    code, _, err = release(run, pour, "--head-out", pour / "heads.jsonl", at=1)
    assert (code, "inside the pour folder" in err) == (2, True)
    assert "release" not in kinds(pour)


def test_a_record_rewritten_since_the_kept_head_is_not_released(run: Run, pour: Path, tmp_path: Path) -> None:
    heads = tmp_path / "heads.jsonl"
    assert release(run, pour, "--head-out", heads)[0] == 0
    shutil.rmtree(pour / "record")
    cover_everywhere(pour, tmp_path, Act("engineer-1", AT, device_signer()))
    add_photos(pour, all_spots(tmp_path), Act("engineer-1", AT, device_signer()), workers=1)
    words = tmp_path / "words"
    assert run("enrol", pour, "--person", "eor-1", "--passphrase-file", words, "--at", clock(3))[0] == 0
    code, _, err = release(run, pour, "--head-out", heads, at=5)
    assert (code, "does not continue the head" in err) == (2, True)
    assert "release" not in kinds(pour)


def test_a_wrong_passphrase_signs_nothing(run: Run, pour: Path, tmp_path: Path) -> None:
    (tmp_path / "words").write_text("not the right words\n", encoding="utf-8")
    code, _, err = release(run, pour, "--head-out", tmp_path / "heads.jsonl")
    assert (code, "passphrase doesn't open" in err) == (2, True)
    assert "release" not in kinds(pour)


def test_who_documented_the_steel_or_has_not_the_role_does_not_release(
    run: Run, pour: Path, tmp_path: Path
) -> None:
    heads = ("--head-out", tmp_path / "heads.jsonl")
    code, _, err = release(run, pour, *heads, person="engineer-1")
    assert (code, "may not release" in err) == (2, True)
    late = LATER + timedelta(minutes=1)
    add_photos(
        pour, [photo(tmp_path, "s1-spot2-again.jpg")], Act("reviewer-1", late, device_signer()), workers=1
    )
    code, _, err = release(run, pour, *heads, person="reviewer-1", at=2)
    assert (code, "documented or corrected steel" in err) == (2, True)
    assert "release" not in kinds(pour)


def test_a_no_go_is_released_only_if_the_engineer_of_record_accepts_in_writing(
    run: Run, pour: Path, drawn: Drawn, tmp_path: Path
) -> None:
    drawn.b1["s1-spot3-again.jpg"] = [150.0, 196.0, 209.0, 150.0]
    again = photo(tmp_path, "s1-spot3-again.jpg", "2026:05:13 18:41:10")
    add_photos(pour, [again], Act("engineer-1", LATER, device_signer()), workers=1)
    heads = ("--head-out", tmp_path / "heads.jsonl")
    code, out, _ = release(run, pour, *heads, at=1)
    assert (code, "Not released" in out) == (1, True)
    wanted = [line.split(": ")[0].strip() for line in out.splitlines() if line.startswith("  S1/")]
    assert "S1/B1/single-gap/3" in wanted
    code, _, err = release(run, pour, *heads, "--accept", wanted[0], at=2)
    assert (code, "Written reasons needed" in err) == (2, True)
    given = [x for w in wanted for x in ("--accept", w, "--reason", "checked by calculation 7")]
    code, _, err = release(run, pour, *heads, *given, person="reviewer-1", at=3)
    assert (code, "may not accept a deviation" in err) == (2, True)
    code, _, err = release(run, pour, *heads, "--accept", "S1/coverage/spacing", "--reason", "x", at=4)
    assert (code, "not among what stops" in err) == (2, True)
    code, out, err = release(run, pour, *heads, *given, at=5)
    assert code == 0, out + err
    assert "Accepted in writing by eor-1" in out
    assert "calculation 7" in out
    assert kinds(pour)[-1] == "release"
    # From then on every check counts what was accepted, as long as drawing values and findings are the same.
    code, out, _ = run("check", pour, "--at", clock(6))
    assert code == 0
    assert "Accepted in writing by eor-1" in " ".join(out.split())
    assert "Released by eor-1" in out
    # An acceptance covers what was found then, not what is found later in its place.
    drawn.b1["s1-spot3-third.jpg"] = [150.0, 196.0, 231.0, 150.0]
    worse = photo(tmp_path, "s1-spot3-third.jpg", "2026:05:13 18:59:10")
    late = LATER + timedelta(minutes=6)
    add_photos(pour, [worse], Act("engineer-1", late, device_signer()), workers=1)
    assert release(run, pour, *heads, at=7)[0] == 1


def test_a_release_stands_until_it_runs_out_or_something_changes_and_its_lapse_is_recorded(
    run: Run, pour: Path, tmp_path: Path
) -> None:
    assert check(pour, at=LATER, workers=1).release.state == "none"
    assert release(run, pour, "--head-out", tmp_path / "heads.jsonl")[0] == 0
    stands = check(pour, at=LATER + timedelta(minutes=1), workers=1)
    assert (stands.release.state, stands.release.person) == ("stands", "eor-1")
    asked = {c.key for c in stands.decision.conditions} - {c.key for c in stands.open_conditions}
    assert asked == {"signature/engineer-of-record"}, "who has signed is not asked to sign"
    assert stands.release.valid_until is not None
    late = check(pour, at=stands.release.valid_until + timedelta(minutes=1), workers=1)
    assert late.release.state == "lapsed"
    assert late.open_conditions == late.decision.conditions
    assert "ran out" in late.release.words
    act = Act("engineer-1", LATER + timedelta(minutes=5), device_signer())
    add_photos(pour, [photo(tmp_path, "s1-spot2-again.jpg")], act, workers=1)
    changed = check(pour, at=act.at, workers=1)
    assert changed.release.state == "lapsed"
    assert "A photo was received" in changed.release.words
    for minutes in (6, 7):
        assert run("check", pour, "--record", "--at", clock(minutes))[0] in (0, 1)
    assert kinds(pour).count("lapse") == 1  # once, however often it is checked
    assert release(run, pour, "--head-out", tmp_path / "heads.jsonl", at=8)[0] == 0
    assert check(pour, at=LATER + timedelta(minutes=9), workers=1).release.state == "stands"
    text = (pour / "pour.toml").read_text(encoding="utf-8")
    (pour / "pour.toml").write_text(text + "# another revision\n", encoding="utf-8")
    drawn_anew = check(pour, at=LATER + timedelta(minutes=10), workers=1)
    assert drawn_anew.release.why == ("The drawing values were changed.",)


def test_concrete_placed_after_a_release_has_lapsed_is_told(run: Run, pour: Path, tmp_path: Path) -> None:
    def then(hours: float) -> tuple[str, int]:
        began = LATER + timedelta(hours=hours)
        truck = Truck(
            ticket="1",
            plant="plant-1",
            mix="M25",
            volume_m3=6.0,
            batch_at=None,
            arrived_at=began,
            discharge_start_at=began,
            taken_by="engineer-1",
        )
        alarms = release_alarms(pour, [truck], LATER + timedelta(hours=9))
        return " ".join(a.says for a in alarms), len(alarms)

    assert "no release was signed before" in then(1)[0]
    assert release(run, pour, "--head-out", tmp_path / "heads.jsonl")[0] == 0
    assert then(1) == ("", 0)
    act = Act("engineer-1", LATER + timedelta(hours=2), device_signer())
    add_photos(pour, [photo(tmp_path, "s1-spot2-again.jpg")], act, workers=1)
    assert then(1) == ("", 0)  # what came later does not undo it
    assert "the release had lapsed: A photo was received" in then(3)[0]


FALSEWORK = """
loads = "IS 14687"

[[grid]]
slab = "S1"
prop = "B30"
extension_m = 2.6
formwork_kn_m2 = 0.5
construction_kn_m2 = 1.5
spacing_x_m = 1.0
spacing_y_m = {spacing_m}
"""


def test_what_a_release_rests_on_ends_it_in_the_record_when_it_becomes_another(
    run: Run, pour: Path, tmp_path: Path
) -> None:
    """Props further apart, though they still hold, and an order that was not there: each is a record, and ends the release."""
    falsework, order = pour / "falsework.toml", pour / "order.toml"
    falsework.write_text(FALSEWORK.format(spacing_m=1.0), encoding="utf-8")
    heads = ("--head-out", tmp_path / "heads.jsonl")
    code, out, err = release(run, pour, *heads)
    assert code == 0, out + err
    digest = hashlib.sha256(falsework.read_bytes()).hexdigest()
    assert f"falsework file sha256: {digest}\norder file sha256: none\n" in out
    falsework.write_text(FALSEWORK.format(spacing_m=1.1), encoding="utf-8")
    looked = check(pour, at=LATER + timedelta(minutes=1), workers=1)
    assert looked.decision.answer != "no_go"
    assert looked.release.why == ("The falsework file was changed.",)
    assert run("check", pour, "--record", "--at", clock(2))[0] == 0
    falsework.write_text(FALSEWORK.format(spacing_m=1.0), encoding="utf-8")
    assert run("check", pour, "--record", "--at", clock(3))[0] == 0
    ledger = Ledger.open(pour)
    before, then = (release_state_then(ledger, LATER + timedelta(minutes=n)) for n in (1, 4))
    ledger.close()
    assert (before.state, then.state) == ("stands", "lapsed"), "it lapsed with the record, and not before"
    assert "A version of the falsework file came into force" in then.words
    assert release(run, pour, *heads, at=5)[0] == 0
    order.write_text('grade = "M25"\n', encoding="utf-8")
    assert check(pour, at=LATER + timedelta(minutes=6), workers=1).release.why == (
        "The order file was changed.",
    )
    assert run("check", pour, "--record", "--at", clock(6))[0] in (0, 1)
    order.unlink()
    assert run("check", pour, "--record", "--at", clock(7))[0] in (0, 1)
    assert kinds(pour).count("falsework.file") == 3
    assert kinds(pour).count("order.file") == 2, "that it was taken away is a record, too"
    assert run("seal", pour, "--out", tmp_path / "bundle.zip", "--at", clock(8))[0] == 0
    outcome = audit(tmp_path / "bundle.zip")
    assert outcome.alarms == ()
    told = next(fact for fact in outcome.facts if fact.topic == "release in force")
    assert any("(order.file) ended the release" in detail for detail in told.details)


def test_concrete_that_has_begun_does_not_undo_the_release_it_began_under(
    run: Run, pour: Path, tmp_path: Path
) -> None:
    assert release(run, pour, "--head-out", tmp_path / "heads.jsonl")[0] == 0
    started = Act("engineer-1", LATER + timedelta(hours=1), device_signer())
    ledger = open_record(pour, read_pour(pour), started)
    record_event(ledger, "pour.log", {"text": "first truck"}, started)
    ledger.close()
    after = Act("engineer-1", LATER + timedelta(hours=2), device_signer())
    add_photos(pour, [photo(tmp_path, "s1-spot2-again.jpg")], after, workers=1)
    assert check(pour, at=LATER + timedelta(days=40), workers=1).release.state == "poured"


def test_a_refusal_is_a_record_of_its_own(run: Run, pour: Path) -> None:
    code, _, err = release(run, pour, "--refuse")
    assert (code, "Written reasons needed" in err) == (2, True)
    code, out, err = release(run, pour, "--refuse", "--reason", "edge form is loose", person="reviewer-1")
    assert code == 0, out + err
    ledger = Ledger.open(pour)
    last = ledger.records()[-1]
    ledger.close()
    assert (last.type, last.body["person"], last.body["reason"]) == (
        "refusal",
        "reviewer-1",
        "edge form is loose",
    )


@pytest.mark.skipif(shutil.which("ssh-keygen") is None, reason="ssh-keygen is not installed")
def test_a_signature_made_on_an_own_machine_counts_for_the_very_text_only(
    run: Run, pour: Path, tmp_path: Path
) -> None:
    text, heads = tmp_path / "release.txt", tmp_path / "heads.jsonl"
    assert release(run, pour, "--head-out", heads, "--text-out", text)[0] == 0
    assert "release" not in kinds(pour)
    key = tmp_path / "settings" / "verifier" / "keys" / "eor-1"
    own = tmp_path / "own"
    shutil.copy(key, own)
    own.chmod(0o600)
    subprocess.run(
        ["ssh-keygen", "-p", "-P", PASSPHRASE, "-N", "", "-f", own], check=True, capture_output=True
    )
    sign = ["ssh-keygen", "-Y", "sign", "-f", own, "-n", "pour-release", text]
    signature = text.with_name(text.name + ".sig")
    good = text.read_bytes()
    text.write_bytes(good.replace(b"pour:", b"Pour:", 1))
    subprocess.run(sign, check=True, capture_output=True)
    given = ("--person", "eor-1", "--signature-in", signature, "--at", clock(1))
    code, _, err = run("release", pour, *given)
    assert (code, "not one over this text" in err) == (2, True)
    signature.unlink()
    text.write_bytes(good)
    subprocess.run(sign, check=True, capture_output=True)
    code, out, err = run("release", pour, *given)
    assert code == 0, out + err
    assert kinds(pour)[-1] == "release"
    assert run("seal", pour, "--out", tmp_path / "bundle.zip", "--at", clock(2))[0] == 0
    assert audit(tmp_path / "bundle.zip").alarms == ()


@pytest.mark.skipif(shutil.which("ssh-keygen") is None, reason="ssh-keygen is not installed")
def test_a_key_that_never_leaves_its_own_machine_is_enrolled_and_releases(
    run: Run, pour: Path, tmp_path: Path
) -> None:
    by = ("--by", "reviewer-1", "--by-passphrase-file", tmp_path / "words")
    words = ("--passphrase-file", tmp_path / "words")
    gone = ("--person", "eor-1", "--reason", "moves to an own machine")
    assert run("revoke", pour, *gone, "--by", "reviewer-1", *words, "--at", clock(0))[0] == 0
    own, other, request = tmp_path / "own", tmp_path / "other", tmp_path / "request"
    for key in (own, other):
        subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", key], check=True)
    assert run("enrol", pour, "--person", "eor-1", "--text-out", request)[0] == 0
    sign = ["ssh-keygen", "-q", "-Y", "sign", "-f", own, "-n"]
    given = ("--person", "eor-1", "--signature-in", f"{request}.sig", *by, "--at", clock(1))
    subprocess.run([*sign, "pour-release", request], check=True, capture_output=True)
    code, _, err = run("enrol", pour, "--public", f"{own}.pub", *given)
    assert (code, "purpose pour-enrol" in err) == (2, True)
    Path(f"{request}.sig").unlink()
    subprocess.run([*sign, "pour-enrol", request], check=True, capture_output=True)
    code, _, err = run("enrol", pour, "--public", f"{other}.pub", *given)
    assert (code, "not this key's" in err) == (2, True)
    code, out, err = run("enrol", pour, "--public", f"{own}.pub", *given)
    assert code == 0, out + err
    text, heads = tmp_path / "release.txt", tmp_path / "heads.jsonl"
    person = ("--person", "eor-1")
    assert run("release", pour, *person, "--head-out", heads, "--text-out", text, "--at", clock(2))[0] == 0
    subprocess.run([*sign, "pour-release", text], check=True, capture_output=True)
    code, out, err = run("release", pour, *person, "--signature-in", f"{text}.sig", "--at", clock(3))
    assert code == 0, out + err
    assert run("seal", pour, "--out", tmp_path / "bundle.zip", "--at", clock(4))[0] == 0
    outcome = audit(tmp_path / "bundle.zip")
    assert outcome.alarms == ()
    assert next(f.state for f in outcome.facts if f.topic == "persons") == HOLDS


@pytest.mark.skipif(shutil.which("ssh-keygen") is None, reason="ssh-keygen is not installed")
def test_what_was_signed_elsewhere_no_longer_counts_when_evidence_came_in_between(
    run: Run, pour: Path, tmp_path: Path
) -> None:
    text, heads = tmp_path / "release.txt", tmp_path / "heads.jsonl"
    assert release(run, pour, "--head-out", heads, "--text-out", text)[0] == 0
    own = tmp_path / "own"
    shutil.copy(tmp_path / "settings" / "verifier" / "keys" / "eor-1", own)
    subprocess.run(
        ["ssh-keygen", "-p", "-P", PASSPHRASE, "-N", "", "-f", own], check=True, capture_output=True
    )
    subprocess.run(
        ["ssh-keygen", "-Y", "sign", "-f", own, "-n", "pour-release", text], check=True, capture_output=True
    )
    late = LATER + timedelta(minutes=1)
    add_photos(
        pour, [photo(tmp_path, "s2-spot2-again.jpg")], Act("engineer-1", late, device_signer()), workers=1
    )
    signature = text.with_name(text.name + ".sig")
    code, _, err = run("release", pour, "--person", "eor-1", "--signature-in", signature, "--at", clock(2))
    assert code == 2
    assert "looked at" in err or "no longer stands" in err
    assert "release" not in kinds(pour)


def test_a_revoked_key_releases_nothing(run: Run, pour: Path, tmp_path: Path) -> None:
    words = tmp_path / "words"
    by = ("--by", "reviewer-1", "--passphrase-file", words, "--at", clock(0))
    assert run("revoke", pour, "--person", "eor-1", "--reason", "laptop lost", *by)[0] == 0
    code, _, err = release(run, pour, "--head-out", tmp_path / "heads.jsonl", at=1)
    assert (code, "no valid key" in err) == (2, True)


def test_nobody_is_enrolled_beyond_the_drawing_file_or_unintroduced(
    run: Run, pour: Path, tmp_path: Path
) -> None:
    words = ("--passphrase-file", tmp_path / "words", "--at", clock(0))
    code, _, err = run("enrol", pour, "--person", "engineer-1", "--role", "reviewer", *words)
    assert (code, "does not name engineer-1 as reviewer" in err) == (2, True)
    code, _, err = run("enrol", pour, "--person", "somebody", *words)
    assert (code, "does not name somebody" in err) == (2, True)
    code, _, err = run("enrol", pour, "--person", "eor-1", "--key", tmp_path / "second", *words)
    assert (code, "must be introduced" in err) == (2, True)


def test_folder_and_bundle_tell_the_same_story_and_what_changed(run: Run, pour: Path, tmp_path: Path) -> None:
    before = len(kinds(pour))
    assert run("check", pour, "--record", "--at", clock(0))[0] == 0
    now = len(kinds(pour))
    _, folder, _ = run("timeline", pour, "--json")
    assert run("seal", pour, "--out", tmp_path / "bundle.zip", "--at", clock(1))[0] == 0
    assert run("timeline", tmp_path / "bundle.zip", "--json")[1] == folder
    photos = [e for e in json.loads(folder) if e["what"] == "a photo was received"]
    assert {e["not_after"] for e in photos} == {"2026-05-13T15:00:00Z"}  # received 17:00 at +02:00
    assert {e["not_before"] for e in photos} == {""}
    code, out, _ = run("timeline", pour, "--diff", before, "--diff", now)
    assert code == 0
    assert "verdict of S1/B1/mean-spacing/1: - -> conforming" in out
    code, _, err = run("timeline", pour, "--diff", 5, "--diff", now + 1)
    assert (code, f"the record holds {now}." in err) == (2, True)


def test_a_printed_head_is_found_again_in_the_bundle(run: Run, pour: Path, tmp_path: Path) -> None:
    code, out, _ = run("head", pour, "--out", tmp_path / "head.txt", "--at", clock(0))
    assert code == 0
    short = out.split("Short form: ")[1].split("\n")[0]
    assert short.startswith(f"{len(kinds(pour))}-")
    assert run("seal", pour, "--out", tmp_path / "bundle.zip", "--at", clock(1))[0] == 0
    assert run("audit", tmp_path / "bundle.zip", "--head", short)[0] == 0
    assert run("audit", tmp_path / "bundle.zip", "--head", tmp_path / "head.txt")[0] == 0
    assert (
        run("audit", tmp_path / "bundle.zip", "--head", f"{short[:-1]}{'A' if short[-1] != 'A' else 'B'}")[0]
        == 1
    )


def test_a_decision_that_a_changed_program_wrote_carries_nothing(
    run: Run, pour: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The site engineer's own key, enrolled and sound, under a release that only others may give: the check stops, and names it."""
    ledger = Ledger.open(pour)
    with monkeypatch.context() as changed:
        changed.setattr(Standing, "faults", lambda self, record: [])
        changed.setattr(Ledger, "_root_faults", lambda self, record: [])
        signer = PersonSigner(key_file_of("engineer-1"), PASSPHRASE)
        ledger.append("release", {"person": "engineer-1", "decision": "go"}, signer, LATER)
    ledger.close()
    found = check(pour, at=LATER + timedelta(minutes=1), workers=1)
    assert found.release.state == "none"
    assert found.decision.answer == "no_go"
    assert found.decision.reasons[0].key.endswith("/unfit")
    assert "engineer-1 has not the role for this act" in found.decision.reasons[0].says


def test_the_record_vouches_for_the_certificate_under_which_documents_are_sealed(
    run: Run, pour: Path, tmp_path: Path
) -> None:
    """Poppler's pdfsig reads the certificate out of the sealed document; it must be the one that the device brought along."""
    if shutil.which("pdfsig") is None:
        pytest.skip("poppler-utils is not installed")
    assert release(run, pour, "--head-out", tmp_path / "outside" / "heads.jsonl")[0] == 0
    ledger = Ledger.open(pour)
    (enrolled,) = ledger.records("device.enrol")
    ledger.close()
    (pdf,) = pour.glob("release-*.pdf")
    shutil.copy(pdf, tmp_path / "release.pdf")
    subprocess.run(["pdfsig", "-dump", "release.pdf"], cwd=tmp_path, check=True, capture_output=True)
    (dumped,) = tmp_path.glob("release.pdf.sig*")
    told = subprocess.run(
        ["openssl", "pkcs7", "-inform", "DER", "-in", str(dumped), "-print_certs"],
        check=True,
        capture_output=True,
        text=True,
    ).stdout
    assert str(enrolled.body["pdf_certificate"]).strip() in told


def test_what_a_photo_brings_is_told_apart_in_the_record(pour: Path) -> None:
    """Receipt, what was observed about the file, and what was measured on it are records of their own, and drawing and rules
    in force stand before them."""
    found = kinds(pour)
    photos = found.count("photo")
    assert photos > 0
    assert found.count("observation") == photos
    assert found.count("measurement") == photos
    assert max(found.index("drawing"), found.index("rules")) < found.index("tape") < found.index("photo")
    assert found[0] == "device.enrol"


def test_a_clock_that_ran_ahead_is_told_and_work_goes_on(run: Run, pour: Path) -> None:
    """Refused until somebody of the pour says so; then recorded with the step, at which the audit points."""
    stage = ("--person", "engineer-1")
    code, _, err = run("check", pour, "--record", *stage, "--at", clock(-60))
    assert code == 2, err
    assert "verifier clock" in err
    assert run("clock", pour, "--person", "passer-by", "--at", clock(-60))[0] == 2
    code, out, err = run("clock", pour, *stage, "--at", clock(-60))
    assert code == 0, err
    assert "the clock reads" in out
    assert kinds(pour)[-1] == "device.clock"
    assert run("clock", pour, *stage, "--at", clock(-59))[0] == 2, "it is not behind any more"
    bundle = pour.parent / "clock.zip"
    assert run("seal", pour, "--out", bundle, "--at", clock(-58))[0] == 0
    order = next(fact for fact in audit(bundle).facts if fact.topic == "order")
    assert (order.state, "set back" in order.say) == ("not proven", True)


def test_a_file_with_heads_of_several_pours_is_held_against_the_bundle_of_one(
    run: Run, pour: Path, tmp_path: Path
) -> None:
    """No false alarm over heads of other pours, none overlooked of this one, and no sound answer where it holds none."""
    heads = tmp_path / "outside" / "heads.jsonl"
    assert release(run, pour, "--head-out", heads)[0] == 0
    bundle = tmp_path / "b.zip"
    assert run("seal", pour, "--out", bundle, "--at", clock(1))[0] == 0
    (mine,) = heads.read_text(encoding="utf-8").splitlines()
    others = mine.replace("L2-east", "L3-west")
    heads.write_text(f"{others}\n{mine}\n", encoding="utf-8")
    code, out, err = run("audit", bundle, "--head", heads)
    assert code == 0, out + err
    assert "[holds]         held head" in out
    root = json.loads(mine)["note"].split("\n")[2]
    heads.write_text(f"{others}\n{mine.replace(root, 'A' * 43 + '=')}\n", encoding="utf-8")
    code, out, _ = run("audit", bundle, "--head", heads)
    assert (code, "[DOES NOT HOLD] held head" in out) == (1, True)
    heads.write_text(others + "\n", encoding="utf-8")
    code, _, err = run("audit", bundle, "--head", heads)
    assert (code, "holds no head of" in err) == (2, True)
    heads.write_bytes(b"\xff\xfe")
    assert run("audit", bundle, "--head", heads)[0] == 2
