"""HOW-TO-CHECK is carried out word by word, in an environment that holds the named tools and nothing else.

Tools outside the project judge: GNU coreutils, OpenSSL, OpenSSH, poppler.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import forgery
import pytest
from record_world import failing, run, tool, unpack

from verifier.errors import BadInput, NotAllowed
from verifier.record.audit import FAILS, HOLDS, OPEN, audit
from verifier.record.bundle import write_bundle
from verifier.record.part import part_of_element, part_of_photo
from verifier.record.people import import_release
from verifier.record.public_keys import public_pem
from verifier.record.sealing import import_seal, seal, seal_text

TOOLS = ("sh", "sha256sum", "openssl", "ssh-keygen", "pdfsig", "cat")


def bare_path(base: Path) -> Path:
    """A folder with links to the named tools only: no Python, no grep, nothing of ours."""
    folder = base / "bin"
    folder.mkdir(exist_ok=True)
    for name in TOOLS:
        if not (folder / name).exists():
            (folder / name).symlink_to(os.path.realpath(tool(name)))
    return folder


def blocks(bag: Path) -> list[str]:
    text = (bag / "HOW-TO-CHECK.txt").read_text(encoding="utf-8")
    found, current = [], []
    for line in [*text.splitlines(), ""]:
        if line.startswith("    "):
            current.append(line[4:])
        elif current:
            found.append("\n".join(current))
            current = []
    return found


def carry_out(bag: Path, base: Path) -> list[subprocess.CompletedProcess[str]]:
    path = bare_path(base)
    environment = {"PATH": str(path), "HOME": str(base), "TMPDIR": str(base)}
    return [
        subprocess.run(
            [path / "sh", "-c", block], cwd=bag, env=environment, capture_output=True, text=True, check=False
        )
        for block in blocks(bag)
    ]


def passed(results) -> bool:
    """Each check ends as the text says: a line with "sound" or a line of numbers; blocks of only ``cat`` are for reading."""
    checks = [r for r in results if not all(line.startswith("cat ") for line in r.args[-1].splitlines())]
    numbers = re.compile(r"[0-9a-f]{64}  -")
    ends = [r.stdout.strip().splitlines()[-1] if r.stdout.strip() else "" for r in checks]
    return len(checks) >= 5 and all(end.startswith("sound") or numbers.fullmatch(end) for end in ends)


def test_the_bare_environment_has_no_python_and_none_of_our_code(tmp_path):
    path = bare_path(tmp_path)
    assert sorted(p.name for p in path.iterdir()) == sorted(TOOLS)
    found = subprocess.run(
        [path / "sh", "-c", "command -v python3 || command -v python || command -v verifier || echo none"],
        env={"PATH": str(path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert found.stdout == "none\n"


def test_every_command_passes_on_a_whole_bundle(bundle, tmp_path):
    results = carry_out(unpack(bundle, tmp_path / "x"), tmp_path)
    assert len(results) >= 7
    assert passed(results), [(r.args[-1], r.stdout, r.stderr) for r in results]


@pytest.mark.parametrize(
    ("file", "change"),
    [
        ("data/ledger.jsonl", lambda b: b.replace(b"p1.jpg", b"p9.jpg", 1)),
        ("data/checkpoint.txt", lambda b: b.replace(b"\n10\n", b"\n9\n").replace(b"\n12\n", b"\n11\n")),
        ("data/timeline.txt", lambda b: b + b"x"),
        ("seal.sig", lambda b: bytes([b[0] ^ 1]) + b[1:]),
    ],
)
def test_the_same_commands_fail_on_a_changed_bundle(bundle, tmp_path, file, change):
    bag = unpack(bundle, tmp_path / "x")
    before = (bag / file).read_bytes()
    (bag / file).chmod(0o644)
    (bag / file).write_bytes(change(before))
    assert (bag / file).read_bytes() != before
    assert not passed(carry_out(bag, tmp_path))


@pytest.mark.parametrize(
    "change",
    [
        lambda b: b[:5000] + bytes([b[5000] ^ 1]) + b[5001:],
        lambda b: b + b"\n% appended\n",
        lambda b: b[:-20],
    ],
)
def test_pdfsig_finds_a_changed_release_document(bundle, tmp_path, change):
    """The step for the document alone, as if the sums had been made to fit."""
    bag = unpack(bundle, tmp_path / "x")
    document = next((bag / "data").glob("release-*.pdf"))
    before = [r for r in carry_out(bag, tmp_path) if "pdfsig" in r.args[-1]]
    assert [r.stdout for r in before] == ["sound\n"]
    document.chmod(0o644)
    document.write_bytes(change(document.read_bytes()))
    after = [r for r in carry_out(bag, tmp_path) if "pdfsig" in r.args[-1]]
    assert "THE DOCUMENT DOES NOT HOLD" in after[0].stdout


def test_an_added_file_is_counted(bundle, tmp_path):
    bag = unpack(bundle, tmp_path / "x")
    (bag / "data" / "originals" / "planted.jpg").write_bytes(b"planted")
    results = carry_out(bag, tmp_path)
    assert "sound" in results[0].stdout, "sha256sum alone does not see it, as the text says"
    assert "ADDED" in results[1].stdout


@pytest.mark.parametrize(
    "place", ["data/originals/.planted.jpg", "READ-ME-FIRST.txt", "data/..notes", ".hidden/x"]
)
def test_an_added_file_is_found_wherever_it_hides(bundle, tmp_path, place):
    """No key is needed for this; a shell's star shows neither hidden files nor what stands beside data/."""
    bag = unpack(bundle, tmp_path / "x")
    (bag / place).parent.mkdir(exist_ok=True)
    (bag / place).write_bytes(b"planted")
    assert f"ADDED: ./{place}" in carry_out(bag, tmp_path)[1].stdout
    assert "listing" in failing(audit(bag)) or "bytes intact" in failing(audit(bag))


def test_an_added_link_is_found(bundle, tmp_path):
    bag = unpack(bundle, tmp_path / "x")
    (bag / "data" / "originals" / "seen.jpg").symlink_to("/dev/null")
    assert "A LINK" in carry_out(bag, tmp_path)[1].stdout


def test_a_file_that_a_list_names_twice_does_not_cover_for_another(bundle, pour, tmp_path):
    """The device's thief lists one file twice, so that the numbers agree, and lays another one down."""
    bag = unpack(bundle, tmp_path / "x")
    forgery.reseal(bag, pour.device)
    manifest = (bag / "manifest-sha256.txt").read_bytes()
    forgery.write(bag / "manifest-sha256.txt", manifest + manifest.splitlines(keepends=True)[0])
    (bag / "data" / "originals" / "planted.jpg").write_bytes(b"planted")
    assert "ADDED: ./data/originals/planted.jpg" in carry_out(bag, tmp_path)[1].stdout


def test_another_key_under_a_reviewers_name(bundle, pour, tmp_path):
    """The device's thief signs the release anew with an own key and lays that down where the reviewer's was."""
    bag = unpack(bundle, tmp_path / "x")
    lines = forgery.lines_of(bag)
    reviewer = next(ident for ident, k in pour.ledger.standing.keys.items() if k.name == "reviewer-1")
    thief = pour.person("thief")
    forged = forgery.resigned(lines, reviewer, thief, pour.device)
    forgery.put_lines(bag, forged, pour.device)
    forgery.write(bag / f"data/keys/{reviewer}.pem", public_pem(thief.public).encode())
    forgery.reseal(bag, pour.device)
    told = "".join(r.stdout for r in carry_out(bag, tmp_path))
    assert f"data/keys/{reviewer}.pem HOLDS ANOTHER KEY" in told
    assert "copies" in failing(audit(bag))


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace("reviewer-1 ", "eor-1 "),
        lambda text: "".join(reversed(text.splitlines(keepends=True))),
        lambda text: text + text.splitlines()[0].replace("engineer-1", "reviewer-2") + "\n",
        lambda text: text.splitlines(keepends=True)[0],
    ],
    ids=["renamed", "swapped", "added", "dropped"],
)
def test_a_list_of_signers_that_was_altered(bundle, pour, tmp_path, change):
    """What ssh-keygen is asked to trust follows from the enrolments in the ledger, and the text holds it against them."""
    bag = unpack(bundle, tmp_path / "x")
    signers = bag / "data/keys/allowed_signers"
    forgery.write(signers, change(signers.read_text()).encode())
    forgery.reseal(bag, pour.device)
    results = carry_out(bag, tmp_path)
    assert any("THE KEYS DO NOT HOLD" in r.stdout for r in results)
    assert "copies" in failing(audit(bag))


def test_a_line_behind_the_last_one(bundle, pour, tmp_path):
    """A shell's read drops a last line without its line break; what stands there is still read by people."""
    bag = unpack(bundle, tmp_path / "x")
    ledger = bag / "data/ledger.jsonl"
    forgery.write(ledger, ledger.read_bytes() + b'{"type":"release","by":"nobody"}')
    forgery.reseal(bag, pour.device)
    assert any("THE LEDGER DOES NOT HOLD" in r.stdout for r in carry_out(bag, tmp_path))
    assert "chain" in failing(audit(bag))


def test_a_module_that_stands_in_for_one_of_pythons(bundle, pour, tmp_path):
    """Beside the honest program lies a json.py; python3 -m would load it first, so the text looks before it runs anything."""
    bag = unpack(bundle, tmp_path / "x")
    forgery.write(bag / "data/check/json.py", b"loads = lambda *a, **k: {}\n")
    forgery.reseal(bag, pour.device)
    assert any("NOT ALONE: data/check/audit data/check/json.py" in r.stdout for r in carry_out(bag, tmp_path))
    assert "copies" in failing(audit(bag))


def test_a_changed_ledger_with_new_sums_still_fails_at_the_signatures(bundle, tmp_path):
    """Somebody who recomputes the manifests by hand is caught by the seal and by the record's own signature."""
    bag = unpack(bundle, tmp_path / "x")
    ledger = bag / "data" / "ledger.jsonl"
    ledger.chmod(0o644)
    ledger.write_bytes(ledger.read_bytes().replace(b"150.4", b"148.4"))
    for manifest in ("manifest-sha256", "manifest-sha512", "tagmanifest-sha256", "tagmanifest-sha512"):
        path = bag / f"{manifest}.txt"
        path.chmod(0o644)
        listed = [line.split("  ", 1)[1] for line in path.read_text().splitlines()]
        path.write_text(run(tool(f"{manifest.partition('-')[2]}sum"), *listed, cwd=bag).stdout)
    results = carry_out(bag, tmp_path)
    assert "sound" in results[0].stdout
    assert not passed(results)
    assert any("IS NOT SIGNED" in r.stdout for r in results)


def test_a_release_signed_on_an_own_machine_is_checked_by_ssh_keygen(pour, tmp_path):
    """The server never sees the key: OpenSSH signs, the record imports, OpenSSH checks again from the bundle."""
    approval = pour.approval()
    text = tmp_path / "approval.txt"
    text.write_text(approval.body()["statement"], encoding="utf-8")
    plain_key = tmp_path / "own-machine-key"
    plain_key.write_bytes((pour.keys / "reviewer-1").read_bytes())
    plain_key.chmod(0o600)
    assert (
        run(
            tool("ssh-keygen"), "-p", "-P", "four plain words here", "-N", "", "-f", str(plain_key)
        ).returncode
        == 0
    )
    signed = run(tool("ssh-keygen"), "-Y", "sign", "-f", str(plain_key), "-n", "pour-release", str(text))
    assert signed.returncode == 0, signed.stderr
    import_release(
        pour.ledger, approval, (tmp_path / "approval.txt.sig").read_text(), pour.device, pour.tick()
    )
    seal(pour.ledger, None, pour.person("eor-1"), pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert not audit(tmp_path / "b.zip").alarms
    bag = unpack(tmp_path / "b.zip", tmp_path / "x")
    results = carry_out(bag, tmp_path)
    assert any('Good "pour-release" signature for reviewer-1' in r.stdout for r in results)
    assert passed(results), [(r.args[-1], r.stdout, r.stderr) for r in results]


def test_a_part_of_a_record_checks_against_the_same_head(pour, tmp_path):
    """One photo is disclosed; its proof leads to the very head of the whole record, by openssl alone."""
    digest = pour.add_photo("p3.jpg", b"third original")
    whole = pour.release_and_seal(tmp_path / "whole.zip")
    part = tmp_path / "part.zip"
    sealed = write_bundle(
        pour.ledger, part, pour.device, pour.tick(), part=part_of_photo(pour.ledger.records(), digest)
    )
    assert sealed.shown < sealed.records
    bag, all_of_it = unpack(part, tmp_path / "p"), unpack(whole, tmp_path / "w")
    assert (bag / "data/checkpoint.body").read_bytes() == (all_of_it / "data/checkpoint.body").read_bytes()
    originals = [p.name for p in (bag / "data/originals").iterdir()]
    assert originals == [f"{digest}.jpg"], "nothing else is disclosed"
    results = carry_out(bag, tmp_path)
    assert passed(results), [(r.args[-1], r.stdout, r.stderr) for r in results]
    outcome = audit(part)
    assert not outcome.alarms
    assert next(f.state for f in outcome.facts if f.topic == "chain") == OPEN, (
        "what is left out is not vouched for"
    )
    proof = next((bag / "data/proofs").glob("*.tlog-proof"))
    proof.chmod(0o644)
    lines = proof.read_text().split("\n")
    lines[2] = "A" * 43 + "="
    proof.write_text("\n".join(lines))
    assert not passed(carry_out(bag, tmp_path))
    assert "head" in {f.topic for f in audit(bag).facts if f.state == FAILS}


def two_elements(pour) -> tuple[str, str, dict[str, set[str]]]:
    """A second element with its own photo, and a finding of the first that rests on photos of both."""
    here, there = (
        pour.ledger.records("photo")[0].body["sha256"],
        pour.add_photo("q1.jpg", b"of S2", element="S2"),
    )
    rests = {"element": "S1", "requirement": "S1/lap", "verdict": "conforming"}
    both = {"originals": [{"sha256": here}, {"sha256": there}]}
    pour.ledger.append("finding", rests | both, pour.device, pour.tick())
    places = {r.body["sha256"]: {r.body["element"]} for r in pour.ledger.records("photo")}
    return here, there, places


def test_a_bundle_of_one_element_checks_in_a_bare_shell_and_says_what_it_lacks(pour, tmp_path):
    """Selective disclosure: the same head, no byte of the other element, and no word more than the part can prove."""
    here, there, places = two_elements(pour)
    pour.release_and_seal(tmp_path / "whole.zip")
    part = part_of_element(pour.ledger.records(), "S1", places)
    assert part.withheld == {there}
    sealed = write_bundle(pour.ledger, tmp_path / "part.zip", pour.device, pour.tick(), part=part)
    bag = unpack(sealed.path, tmp_path / "p")
    everything = b"".join(p.read_bytes() for p in bag.rglob("*") if p.is_file())
    assert b"q1.jpg" not in everything
    assert b"of S2" not in everything
    assert here in {p.stem for p in (bag / "data/originals").iterdir()}
    told = (bag / "HOW-TO-CHECK.txt").read_text(encoding="utf-8")
    assert "holds a PART of the record of one concrete pour: element S1." in told
    assert f"It shows {sealed.shown} of {sealed.records} records" in told
    assert "belong to something else: 1, listed" in told
    results = carry_out(bag, tmp_path)
    assert passed(results), [(r.args[-1], r.stdout, r.stderr) for r in results]
    outcome = audit(sealed.path, heads=[pour.note()])
    assert not outcome.alarms
    states = {f.topic: f.state for f in outcome.facts}
    assert (states["held head"], states["head"], states["signatures"]) == (HOLDS, HOLDS, HOLDS)
    assert {states[topic] for topic in ("chain", "originals", "persons", "approvals")} == {OPEN}
    chain = next(f for f in outcome.facts if f.topic == "chain")
    left_out = sorted(set(range(1, sealed.records + 1)) - set(part.seqs))
    assert chain.details[0].startswith(f"this bundle does not hold records {left_out[0]}")
    assert next(f for f in outcome.facts if f.topic == "originals").details[0].endswith("which is held back")


def test_an_original_taken_out_of_a_part_is_not_one_held_back(pour, tmp_path):
    """Alarm: originals. Only what the sealed list names as held back may be missing."""
    here, _, places = two_elements(pour)
    part = part_of_element(pour.ledger.records(), "S1", places)
    path = write_bundle(pour.ledger, tmp_path / "part.zip", pour.device, pour.tick(), part=part).path
    bag = unpack(path, tmp_path / "p")
    (bag / f"data/originals/{here}.jpg").unlink()
    forgery.reseal(bag, pour.device)
    assert {f.topic for f in audit(bag).facts if f.state == FAILS} == {"originals"}


def test_a_derived_picture_under_another_record_is_told(pour, tmp_path):
    """Alarm: derived pictures. A picture carried over to another original, or one that no line names."""
    path = pour.release_and_seal(tmp_path / "whole.zip")
    bag = unpack(path, tmp_path / "p")
    assert next(f for f in audit(bag).facts if f.topic == "derived pictures").state == HOLDS
    index = bag / "data/derived/WHAT-THIS-IS.txt"
    assert "NOT EVIDENCE" in index.read_text(encoding="utf-8")
    first, other = (r.seq for r in pour.ledger.records("photo")[:2])
    index.chmod(0o644)
    index.write_bytes(index.read_bytes().replace(f"record {first}\t".encode(), f"record {other}\t".encode()))
    (bag / "data/derived/planted.jpg").write_bytes(b"drawn by somebody")
    forgery.reseal(bag, pour.device)
    (fault,) = [f for f in audit(bag).facts if f.state == FAILS]
    assert fault.topic == "derived pictures"
    assert len(fault.details) == 2


def sealed_elsewhere(pour, tmp_path, text: str) -> str:
    """Let OpenSSH sign a seal with a person's key, as on the person's own machine; the answer is the signature."""
    file, key = tmp_path / "seal.txt", tmp_path / "own-machine-key"
    file.write_text(text, encoding="utf-8")
    key.write_bytes((pour.keys / "eor-1").read_bytes())
    key.chmod(0o600)
    opened = run(tool("ssh-keygen"), "-p", "-P", "four plain words here", "-N", "", "-f", str(key))
    assert opened.returncode == 0, opened.stderr
    signed = run(tool("ssh-keygen"), "-Y", "sign", "-f", str(key), "-n", "pour-seal", str(file))
    assert signed.returncode == 0, signed.stderr
    return (tmp_path / "seal.txt.sig").read_text()


def test_a_seal_signed_on_an_own_machine_is_checked_by_ssh_keygen(pour, tmp_path):
    """The person's key never was on the server; OpenSSH signs, OpenSSH checks again from the bundle, the audit agrees."""
    text = seal_text(pour.ledger, "eor-1", None)
    size = len(pour.ledger.records())
    armored = sealed_elsewhere(pour, tmp_path, text)
    pour.add_photo("late.jpg", b"work went on while the text was away")
    record = import_seal(pour.ledger, text, armored, None, pour.device, pour.tick())
    assert (record.body["records"], record.seq) == (size, size + 3)
    path = write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick()).path
    bag = unpack(path, tmp_path / "x")
    results = carry_out(bag, tmp_path)
    assert any('Good "pour-seal" signature for eor-1' in r.stdout for r in results)
    assert passed(results), [(r.args[-1], r.stdout, r.stderr) for r in results]
    outcome = audit(path)
    assert not outcome.alarms
    seals = next(f for f in outcome.facts if f.topic == "sealed in person")
    assert (seals.state, seals.details) == (
        HOLDS,
        (f"record {record.seq}: eor-1 sealed records 1 to {size}",),
    )
    changed = bag / f"data/approvals/{record.seq}.txt"
    changed.chmod(0o644)
    changed.write_bytes(changed.read_bytes().replace(f"1 to {size}".encode(), f"1 to {size + 1}".encode()))
    assert not passed(carry_out(bag, tmp_path))
    assert "copies" in {f.topic for f in audit(bag).facts if f.state == FAILS}


def test_a_seal_is_taken_only_as_it_was_given_out_and_signed(pour, tmp_path):
    """A changed text, a foreign purpose, another record's root: none becomes a seal."""
    text = seal_text(pour.ledger, "eor-1", None)
    armored = sealed_elsewhere(pour, tmp_path, text)
    size = len(pour.ledger.records())
    for wrong in (
        text.replace("eor-1", "reviewer-1"),
        text.replace(f"1 to {size}", f"1 to {size - 1}"),
        text + "\n",
        "",
    ):
        with pytest.raises((BadInput, NotAllowed)):
            import_seal(pour.ledger, wrong, armored, None, pour.device, pour.tick())
    with pytest.raises(NotAllowed, match="purpose pour-seal"):
        import_seal(pour.ledger, text, armored[:60] + "A" + armored[61:], None, pour.device, pour.tick())
    assert not pour.ledger.records("seal")
    body = {"records": size, "person": "eor-1", "statement": text.replace("root over them: ", "root over them: A"),
            "statement_signature": armored}  # fmt: skip
    forgery.slip_in(pour.ledger, "seal", body, pour.device, pour.tick())
    path = write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick()).path
    assert "persons" in {f.topic for f in audit(path).facts if f.state == FAILS}


def test_the_audit_in_the_bundle_runs_without_this_project(bundle, tmp_path):
    """Only the standard library and ``cryptography`` are importable there."""
    import cryptography

    bag = unpack(bundle, tmp_path / "x")
    blocker = "import sys; sys.modules['verifier'] = None; import runpy; sys.argv = ['audit', '../..']; runpy.run_module('audit', run_name='__main__')"
    result = subprocess.run(
        [sys.executable, "-B", "-S", "-c", blocker],
        cwd=bag / "data" / "check",
        env={"PYTHONPATH": str(Path(cryptography.__file__).parent.parent)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert result.returncode == 0, result.stderr
    assert "[holds]         signatures" in result.stdout
    assert "What no record can prove" in result.stdout
