"""Any single change to a sealed bundle raises an alarm, and no clean bundle raises one."""

from __future__ import annotations

import itertools
import random
import zipfile

import forgery
import pytest
from record_world import START, failing, open_pour, unpack

from verifier.record import Ledger, device_signer
from verifier.record.audit import audit
from verifier.record.bundle import write_bundle
from verifier.record.part import part_of_photo
from verifier.record.people import join_device


def test_every_single_byte_of_a_small_bundle(tmp_path):
    """Exhaustive: each byte of the zip is changed in turn (one bit, which one goes round), and each change is found."""
    folder = tmp_path / "pour"
    folder.mkdir()
    device = device_signer(tmp_path / "device.key")
    ledger = Ledger.open(folder, pour="P")
    join_device(ledger, device, START)
    digest = ledger.store.objects.put(b"a small original")
    ledger.append("photo", {"sha256": digest, "name": "p.jpg"}, device.on_behalf_of("engineer-1"), START)
    path = write_bundle(ledger, tmp_path / "b.zip", device, START, program=False).path
    ledger.close()
    assert not audit(path).alarms
    unseen = []
    with path.open("r+b", buffering=0) as stream:
        for place in range(path.stat().st_size):
            stream.seek(place)
            (true,) = stream.read(1)
            stream.seek(place)
            stream.write(bytes([true ^ (1 << place % 8)]))
            if not audit(path).alarms:
                unseen.append(place)
            stream.seek(place)
            stream.write(bytes([true]))
    assert unseen == []
    assert not audit(path).alarms, "the bundle is whole again"


def test_random_bytes_of_a_full_bundle(sealed, tmp_path):
    """150 places of a bundle with people, release and program; the seed is fixed."""
    path = tmp_path / "b.zip"
    whole = sealed[0].read_bytes()
    dice = random.Random(20261125)
    for _ in range(150):
        place = dice.randrange(len(whole))
        changed = bytearray(whole)
        changed[place] ^= dice.randrange(1, 256)
        path.write_bytes(changed)
        assert audit(path).alarms, f"byte {place}"


def test_every_file_removed_renamed_swapped_or_joined_by_another(sealed, tmp_path):
    """For each file of the bag in turn; the manifests are left as they were."""
    bag = unpack(sealed[0], tmp_path / "x")
    names = sorted(p.relative_to(bag).as_posix() for p in bag.rglob("*") if p.is_file())
    assert not audit(bag).alarms
    for name in names:
        file, aside = bag / name, tmp_path / "aside"
        file.rename(aside)
        assert audit(bag).alarms, f"{name} removed"
        renamed = file.with_name(file.name + "x")
        aside.rename(renamed)
        assert audit(bag).alarms, f"{name} renamed"
        renamed.rename(file)
        added = file.with_name("added-" + file.name)
        added.write_bytes(b"added")
        assert audit(bag).alarms, f"a file added beside {name}"
        added.unlink()
    for first, second in itertools.pairwise(names):
        one, two = (bag / first).read_bytes(), (bag / second).read_bytes()
        if one == two:
            continue
        forgery.write(bag / first, two)
        forgery.write(bag / second, one)
        assert audit(bag).alarms, f"{first} and {second} swapped"
        forgery.write(bag / first, one)
        forgery.write(bag / second, two)
    assert not audit(bag).alarms, "everything is back"


def test_a_file_twice_in_the_zip(sealed, tmp_path):
    """A second entry of the same name, which some programs prefer when they unpack."""
    path = tmp_path / "b.zip"
    path.write_bytes(sealed[0].read_bytes())
    with zipfile.ZipFile(path, "a") as archive:
        name = archive.namelist()[0]
        with pytest.warns(UserWarning, match="Duplicate name"):
            archive.writestr(name, b"another ledger")
    assert "container" in failing(audit(path))


@pytest.mark.parametrize(
    "name", ["top/../../out.txt", "top/..", "/abs.txt", "top\\..\\out.txt", "other/x.txt"]
)
def test_names_that_lead_elsewhere_are_refused(sealed, tmp_path, name):
    path = tmp_path / "b.zip"
    path.write_bytes(sealed[0].read_bytes())
    with zipfile.ZipFile(path, "a") as archive:
        archive.writestr(zipfile.ZipInfo(name), b"out")
    assert "container" in failing(audit(path))


def test_a_compressed_bomb_is_not_unpacked(tmp_path):
    path = tmp_path / "bomb.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("top/data/ledger.jsonl", b"\0" * 50_000_000)
    assert "container" in failing(audit(path))


def test_a_hundred_clean_bundles_raise_no_alarm(tmp_path, people_keys):
    """States of two growing pours, whole and in part, with odd names and sizes; the seed is fixed."""
    dice = random.Random(8493)
    names = [
        "IMG_0001.JPG",
        "fotografía ñ.jpg",
        "写真.heic",
        "a b\tc.png",
        "=1+1.csv",
        "..jpg",
        "x" * 200 + ".jpg",
    ]
    clean = 0
    for world in range(2):
        pour = open_pour(tmp_path / str(world), people_keys, pour=["L2-east", "étage 3/ouest"][world])
        for step in range(25):
            data = dice.randbytes(dice.choice([0, 1, 55, 64, 4096, 70_000]))
            digest = pour.add_photo(dice.choice(names), data + bytes([step, world]))
            pour.ledger.append(
                "remark",
                {"text": dice.choice(['"sig":"', "\\", "\u2028", "😀", ""])},
                pour.device,
                pour.tick(),
            )
            for part in (None, part_of_photo(pour.ledger.records(), digest)):
                path = write_bundle(
                    pour.ledger, tmp_path / "b.zip", pour.device, pour.tick(), part=part, program=False
                ).path
                outcome = audit(path, heads=[pour.note()])
                assert not outcome.alarms, outcome.alarms
                clean += 1
        pour.ledger.close()
    assert clean == 100
