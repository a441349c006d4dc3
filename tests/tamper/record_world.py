"""A small pour with everything that can be attacked: people, originals, a release, a seal."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import zipfile
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

import pytest

from verifier.record import DeviceSigner, Ledger, PersonSigner, device_signer, make_person_key
from verifier.record.audit import FAILS, Audit
from verifier.record.bundle import write_bundle
from verifier.record.checkpoint import sign_head
from verifier.record.derived import Derived
from verifier.record.heads import KeptHeads
from verifier.record.people import bind_release, enrol, enrolment, join_device, release
from verifier.record.sealing import seal
from verifier.report.pdf_seal import pdf_seal_key, seal_pdf
from verifier.report.sheet import HeadLine, ReleaseSheet
from verifier.report.typeset import release_pdf

START = datetime(2026, 11, 25, 5, 30, tzinfo=UTC)
PASSPHRASE = "four plain words here"
PEOPLE = {"engineer-1": ["site_engineer"], "reviewer-1": ["reviewer"], "eor-1": ["engineer_of_record"]}


@dataclass
class Pour:
    """A pour folder, its ledger, the keys of its people, and a reviewer's file of heads outside of it."""

    folder: Path
    keys: Path
    ledger: Ledger
    device: DeviceSigner
    kept: KeptHeads
    now: datetime = START

    def tick(self, seconds: int = 60) -> datetime:
        self.now += timedelta(seconds=seconds)
        return self.now

    def person(self, name: str) -> PersonSigner:
        return PersonSigner(self.keys / name, PASSPHRASE)

    def note(self) -> str:
        return sign_head(self.ledger.head(), self.device)

    def reviewer_keeps_head(self) -> str:
        note = self.note()
        size = self.kept.needs_proof_from(self.ledger.head().origin)
        proof = self.ledger.consistency(size) if size else []
        self.kept.accept(note, proof, self.tick())
        return note

    def approval(self, person: str = "reviewer-1", decision: str = "go"):
        self.reviewer_keeps_head()
        held = self.kept.held(self.ledger.head().origin, outside=self.folder)
        return bind_release(
            self.ledger, held, person=person, decision=decision, verdict="all required findings conform"
        )

    def add_photo(self, name: str, data: bytes, ids: list[int] | None = None, element: str = "S1") -> str:
        digest = self.ledger.store.objects.put(data)
        body = {"sha256": digest, "name": name, "element": element}
        self.ledger.append("photo", body, self.device.on_behalf_of("engineer-1"), self.tick())
        trace = {"original_sha256": digest, "original_name": name}
        measured = {
            "measurand": "mean_spacing",
            "value": 150.4,
            "element": element,
            "method_version": "1",
            "sha256": digest,
            "ids_seen": ids or [],
            "trace": trace,
        }
        self.ledger.append("measurement", measured, self.device, self.tick())
        return digest

    def release_and_seal(self, out: Path) -> Path:
        release(self.ledger, self.approval(), self.person("reviewer-1"), self.tick())
        seal(self.ledger, sealed_sheet(self.keys), self.person("eor-1"), self.tick())
        photo, measured = self.ledger.records("photo")[0], self.ledger.records("measurement")[0]
        drawn = Derived("record-measured.png", b"drawn", "with what was measured drawn in", photo, measured)
        write_bundle(self.ledger, out, self.device, self.tick(), derived=[drawn])
        return out


@cache
def sealed_sheet(keys: Path) -> bytes:
    """A short release document, really set and sealed."""
    head = HeadLine(short="1-AAAA-AAAA-AAAA-AAAA", size=1, root="A" * 43 + "=", note="pour-record/P\n1\n")
    words = {
        "pour": "P",
        "title": "T",
        "answer": "go",
        "answer_words": "go",
        "decided_at": "d",
        "valid_until": "v",
    }
    pdf = release_pdf(ReleaseSheet(**words, head=head, statement="s"), b"{}\n", START)
    key, certificate = pdf_seal_key(keys / "pdf-seal.key", "device-1")
    return seal_pdf(pdf, key, certificate, name="device-1", reason="Release document")


@pytest.fixture(scope="session")
def people_keys(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("keys")
    for name in (*PEOPLE, "thief"):
        make_person_key(folder / name, PASSPHRASE, rounds=1)
    return folder


def open_pour(base: Path, keys: Path, pour: str = "L2-east", start: datetime = START) -> Pour:
    folder = base / "pour"
    folder.mkdir(parents=True)
    device = device_signer(base / "device.key")
    made = Pour(
        folder,
        keys,
        Ledger.open(folder, pour=pour),
        device,
        KeptHeads(base / "outside" / "heads.jsonl", "reviewer-1"),
        start,
    )
    join_device(made.ledger, device, made.now)
    for name, roles in PEOPLE.items():
        request = enrolment(pour, name, roles, made.person(name))
        introducer = made.person("engineer-1" if name != "engineer-1" else name)
        enrol(made.ledger, request, introducer, made.tick())
    for kind, text in (("drawing", b"[pour]\nid = 'L2-east'\n"), ("rules", b"# limits\n")):
        digest = made.ledger.store.objects.put(text)
        made.ledger.append(kind, {"sha256": digest, "name": f"{kind}.toml"}, device, made.tick())
    return made


@pytest.fixture
def pour(tmp_path, people_keys) -> Pour:
    made = open_pour(tmp_path, people_keys)
    made.add_photo("p1.jpg", b"first original")
    made.add_photo("p2.jpg", b"second original")
    yield made
    made.ledger.close()


@pytest.fixture
def bundle(pour, tmp_path) -> Path:
    return pour.release_and_seal(tmp_path / "bundle.zip")


@pytest.fixture(scope="session")
def sealed(tmp_path_factory, people_keys) -> tuple[Path, str]:
    """One sealed bundle for read-only tests, and the head the reviewer holds."""
    base = tmp_path_factory.mktemp("sealed")
    made = open_pour(base, people_keys)
    made.add_photo("p1.jpg", b"first original")
    path = made.release_and_seal(base / "bundle.zip")
    held = made.kept.of(made.ledger.head().origin)[-1].note
    made.ledger.close()
    return path, held


def unpack(bundle: Path, to: Path) -> Path:
    """Unpack as any program would, and return the folder of the bag."""
    with zipfile.ZipFile(bundle) as archive:
        archive.extractall(to)
    return next(to.iterdir())


def in_database(folder: Path, change, *, tidy: bool = True) -> None:
    """Change the database file as somebody with a database program would: the guards are dropped first, and put back after."""
    with sqlite3.connect(folder / "record" / "ledger.sqlite") as db:
        guards = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            db.execute(f"DROP TRIGGER {name}")
        change(db)
        for _, sql in guards if tidy else ():
            db.execute(sql)
    db.close()


def sealed_folder(pour: Pour, tmp_path: Path) -> tuple[Path, str]:
    """A bag laid out as a folder, and the head that the reviewer holds."""
    bag = unpack(pour.release_and_seal(tmp_path / "b.zip"), tmp_path / "bag")
    return bag, pour.kept.of(pour.ledger.head().origin)[-1].note


def failing(outcome: Audit) -> set[str]:
    return {fact.topic for fact in outcome.facts if fact.state == FAILS}


def state_of(outcome: Audit, topic: str) -> str:
    return next(fact.state for fact in outcome.facts if fact.topic == topic)


def run(*command: str, cwd: Path | None = None, **options) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, cwd=cwd, capture_output=True, text=True, check=False, **options)


def tool(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"{name} is not installed")
    return found
