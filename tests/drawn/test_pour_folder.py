"""A pour folder from files to a decision, with drawn measurements in place of measured photos: fast, and of known truth."""

from __future__ import annotations

import io
import os
import shutil
from datetime import datetime
from pathlib import Path

import pytest
from PIL import Image
from small_pour import cover_everywhere, cover_file, steel_alone

from verifier.errors import BadInput, RecordDamaged
from verifier.metrology.measurement import Measurand
from verifier.pipeline.concreting.ordering import quantities_of
from verifier.pipeline.decision.check import Check, check
from verifier.pipeline.folder.evidence import Placement, evidence_in, placed_by_name
from verifier.pipeline.intake.adding import add_photos, add_tape, new_folder
from verifier.pipeline.measurement import measuring
from verifier.pipeline.people.acting import Act, who_adds
from verifier.pipeline.sealing import recording
from verifier.pipeline.sealing.disclosing import seal_folder
from verifier.pipeline.sealing.recording import audit_bundle, record_check
from verifier.pipeline.sealing.telling import timeline_of
from verifier.record.keys import device_signer
from verifier.record.ledger import Ledger
from verifier.store import sha256_of
from verifier.vision.measure import METHOD_VERSION
from verifier.vision.photo_measurement import Bar, BoardSeen, Gap, Layer, Method, PhotoFacts, PhotoMeasurement

SAMPLE = Path(__file__).parents[2] / "sample_images"
AT = datetime.fromisoformat("2026-05-13T17:00:00+02:00")
LATER = datetime.fromisoformat("2026-05-13T19:00:00+02:00")


def layer(position: str, gaps: list[float], size_mm: float) -> Layer:
    bars = tuple(
        Bar(
            line_px=((0, 0), (1, 1)),
            offset_mm=sum(gaps[:i]),
            diameter_mm=size_mm,
            diameter_u_mm=0.3,
            nominal_mm=size_mm,
        )
        for i in range(len(gaps) + 1)
    )
    return Layer.model_validate(
        {
            "position": position,
            "mat": "only",
            "direction_deg": 0.0,
            "bars": bars,
            "gaps": tuple(
                Gap(
                    bars=(i, i + 1),
                    value_mm=g,
                    expanded_uncertainty_mm=2.0,
                    line_px=((10.0 * i, 0.0), (10.0 * i + 10, 0.0)),
                    from_board_mm=100.0,
                )
                for i, g in enumerate(gaps)
            ),
            "mean_spacing_mm": sum(gaps) / len(gaps),
            "mean_spacing_expanded_uncertainty_mm": 1.0,
        }
    )


class Drawn:
    """Stands in for measuring: what each photo shows, by its name, and which photos were asked for."""

    def __init__(self) -> None:
        self.b1: dict[str, list[float]] = {}
        self.asked: list[str] = []

    def measure(self, job: measuring.Job, settings: measuring.Settings) -> PhotoMeasurement:
        self.asked.append(job.name)
        sizes = (12.0, 10.0) if job.name.startswith("s2") else (10.0, 8.0)
        layers = (
            layer("upper", [200.0, 201.0, 199.0, 200.0], sizes[1]),
            layer("lower", self.b1.get(job.name, [150.0, 151.0, 149.0, 150.0]), sizes[0]),
        )
        facts = PhotoFacts(name=job.name, sha256=sha256_of(job.path), width_px=96, height_px=64)
        board = BoardSeen(
            number=1,
            tilt_deg=5,
            mm_per_px=0.5,
            reprojection_px=0.2,
            print_scale=settings.checks.scale_of(1).factor,
        )
        method = Method(version=METHOD_VERSION, labels="drawn")
        return PhotoMeasurement(photo=facts, usable=True, board=board, layers=layers, method=method)


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> Drawn:
    stand_in = Drawn()
    monkeypatch.setattr(measuring, "measure_one", stand_in.measure)
    return stand_in


@pytest.fixture
def pour(tmp_path: Path) -> Path:
    folder = tmp_path / "pour"
    folder.mkdir()
    for name in ("pour.toml", "boards.toml", "instruments.toml"):
        shutil.copy(SAMPLE / name, folder / name)
    steel_alone(folder)
    return folder


@pytest.fixture
def act(tmp_path: Path) -> Act:
    return Act("engineer-1", AT, device_signer(tmp_path / "device.key"))


def photo(folder: Path, name: str, taken: str = "2026:05:13 16:12:08") -> Path:
    """A small photo of its own random picture, with the time and place of the pour."""
    exif = Image.Exif()
    exif.update({271: "Maker", 272: "Phone 1", 274: 1, 306: taken})
    exif.get_ifd(0x8769).update({36867: taken, 36881: "+02:00"})
    exif.get_ifd(0x8825).update({1: "N", 2: (47.0, 3.0, 4.32), 3: "E", 4: (8.0, 18.0, 33.48), 31: 5.0})
    picture = Image.frombytes("L", (12, 8), os.urandom(96)).resize((96, 64), Image.Resampling.BICUBIC)
    out = io.BytesIO()
    picture.convert("RGB").save(out, "JPEG", exif=exif, quality=92)
    path = folder / name
    path.write_bytes(out.getvalue())
    return path


def all_spots(folder: Path) -> list[Path]:
    return [photo(folder, f"s{e}-spot{s}.jpg") for e in (1, 2) for s in (1, 2, 3, 4)]


def checked(folder: Path, at: datetime = AT) -> Check:
    return check(folder, at=at, workers=1)


def keys(found: Check) -> set[str]:
    return {r.key for r in found.decision.reasons}


def test_a_complete_pour_is_go_with_conditions(drawn: Drawn, pour: Path, act: Act, tmp_path: Path) -> None:
    added = add_photos(pour, all_spots(tmp_path), act, workers=1)
    assert all(a.in_record and a.seen is not None and a.seen.usable for a in added)
    cover_everywhere(pour, tmp_path, act)
    found = checked(pour)
    assert found.decision.answer == "go_with_conditions"
    assert not found.decision.reasons
    assert {c.kind for c in found.decision.conditions} == {"not-done", "to-sign"}
    sizes = [f for f in found.findings if f.requirement.measurand is Measurand.BAR_DIAMETER]
    assert {f.verdict for f in sizes} == {"inconclusive"}  # a photo only indicates a bar size
    assert {f.verdict for f in found.findings if f.measured and f not in sizes} == {"conforming"}


def test_the_chain_leads_from_a_finding_back_to_the_pixels(
    drawn: Drawn, pour: Path, act: Act, tmp_path: Path
) -> None:
    wide = photo(tmp_path, "s1-spot3.jpg")
    drawn.b1["s1-spot3.jpg"] = [150.0, 196.0, 209.0, 150.0]
    add_photos(pour, [wide], act, workers=1)
    finding = next(f for f in checked(pour).findings if f.key == "S1/B1/single-gap/3")
    assert finding.verdict == "non_conforming"
    worst = finding.worst
    assert worst is not None
    assert (worst.measurement.value, worst.measurement.index) == (209.0, 3)
    assert worst.measurement.trace.original_sha256 == sha256_of(wide)
    assert worst.measurement.trace.line_px == ((20.0, 0.0), (30.0, 0.0))
    assert any("75%" in c.words or "%" in c.words for c in finding.consequences)


def test_a_corrected_spot_takes_the_place_of_the_old_one_and_both_stay_in_sight(
    drawn: Drawn, pour: Path, act: Act, tmp_path: Path
) -> None:
    drawn.b1["s1-spot3.jpg"] = [150.0, 196.0, 209.0, 150.0]
    add_photos(pour, all_spots(tmp_path), act, workers=1)
    cover_everywhere(pour, tmp_path, act)
    assert checked(pour).decision.answer == "no_go"
    again = photo(tmp_path, "s1-spot3-corrected.jpg", "2026:05:13 18:41:10")
    add_photos(pour, [again], Act(act.person, LATER, act.signer), workers=1)
    found = checked(pour, LATER)
    assert found.decision.answer == "go_with_conditions"
    assert {s.measurement.value for s in found.superseded} >= {196.0, 209.0}
    assert [p.original.name for p in found.photos if p.state == "superseded"] == ["s1-spot3.jpg"]
    assert any("taken the place" in c.says for c in found.decision.cautions)


def test_recorded_measurements_are_not_made_again_until_the_board_is_known_better(
    drawn: Drawn, pour: Path, act: Act, tmp_path: Path
) -> None:
    add_photos(pour, all_spots(tmp_path)[:2], act, workers=1)
    asked = len(drawn.asked)
    checked(pour)
    assert len(drawn.asked) == asked
    text = (pour / "boards.toml").read_text(encoding="utf-8")
    (pour / "boards.toml").write_text(text.replace("200.0", "199.0"), encoding="utf-8")
    checked(pour)
    assert len(drawn.asked) == asked + 2


def test_photos_are_in_the_record_before_the_first_one_is_measured(
    drawn: Drawn, pour: Path, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def power_cut(job: measuring.Job, settings: measuring.Settings) -> PhotoMeasurement:
        raise KeyboardInterrupt

    files = all_spots(tmp_path)
    monkeypatch.setattr(measuring, "measure_one", power_cut)
    with pytest.raises(KeyboardInterrupt):
        add_photos(pour, files, act, workers=1)
    monkeypatch.setattr(measuring, "measure_one", drawn.measure)
    found = checked(pour)
    assert [p.original.sha256 for p in found.photos] == [sha256_of(f) for f in files]
    assert all(p.original.in_record for p in found.photos)


def test_a_photo_added_twice_is_counted_once_and_can_be_placed_anew(
    drawn: Drawn, pour: Path, act: Act, tmp_path: Path
) -> None:
    one = photo(tmp_path, "IMG_0001.jpg")
    assert add_photos(pour, [one], act, workers=1)[0].placement == Placement()
    assert "unplaced" in {p.state for p in checked(pour).photos}
    again = add_photos(pour, [one], act, workers=1)[0]
    assert "already" in again.says
    said = Placement(element="S1", spot="2", basis="said")
    assert add_photos(pour, [one], act, placement=said, workers=1)[0].says == "placed anew"
    (entry,) = checked(pour).photos
    assert (entry.state, entry.original.placement.spot) == ("counted", "2")
    ledger = Ledger.open(pour)
    assert len(ledger.records("photo")) == 2  # both words stay in the record
    ledger.close()


def test_one_picture_can_not_stand_for_two_spots(drawn: Drawn, pour: Path, tmp_path: Path) -> None:
    (pour / "photos").mkdir()
    first = photo(pour / "photos", "s1-spot1.jpg")
    shutil.copy(first, pour / "photos" / "s1-spot2.jpg")
    found = checked(pour)
    assert len(found.photos) == 1
    assert any("same bytes" in c.says for c in found.decision.cautions)
    with Image.open(first) as picture:
        picture.save(pour / "photos" / "s1-spot3.jpg", quality=70, exif=picture.getexif())
    found = checked(pour)
    assert any("same" in r.says.casefold() for r in found.decision.reasons if r.kind == "place-or-time")


def test_loose_files_count_but_are_a_condition(drawn: Drawn, pour: Path, act: Act) -> None:
    cover_file(pour / "tape", act)
    (pour / "photos").mkdir()
    all_spots(pour / "photos")
    found = checked(pour)
    assert found.decision.answer == "go_with_conditions"
    assert any(c.key == "record/loose" for c in found.decision.conditions)
    assert not (pour / "record").exists()


def test_a_photo_from_elsewhere_or_another_week_stops_the_pour(
    drawn: Drawn, pour: Path, act: Act, tmp_path: Path
) -> None:
    add_photos(pour, [photo(tmp_path, "s1-spot1.jpg", "2026:03:01 12:00:00")], act, workers=1)
    assert any(r.kind == "place-or-time" for r in checked(pour).decision.reasons)


def test_photo_and_tape_that_contradict_each_other_block_the_spot(
    drawn: Drawn, pour: Path, act: Act, tmp_path: Path
) -> None:
    add_photos(pour, all_spots(tmp_path), act, workers=1)
    (tmp_path / "tape.csv").write_text(
        "element,layer,what,n_gaps,reading_mm,instrument,person,time,spot\n"
        "S1,B1,mean_spacing,4,618,tape-II,engineer-1,2026-05-13 16:40,1\n",
        encoding="utf-8",
    )
    add_tape(pour, [tmp_path / "tape.csv"], act)
    found = checked(pour)
    assert found.decision.answer == "no_go"
    assert [a.agrees for a in found.agreements] == [False]
    blocked = [f for f in found.findings if f.blocked_by]
    assert {f.requirement.measurand for f in blocked} == {Measurand.SINGLE_GAP, Measurand.MEAN_SPACING}
    assert {f.verdict for f in blocked} == {"inconclusive"}


def test_a_bar_size_is_decided_by_a_reading_and_a_photo_that_looks_otherwise_is_told(
    drawn: Drawn, pour: Path, act: Act, tmp_path: Path
) -> None:
    add_photos(pour, all_spots(tmp_path), act, workers=1)
    (tmp_path / "tape.csv").write_text(
        "element,layer,what,reading_mm,reading_2_mm,reading_3_mm,instrument,person,time,spot\n"
        "S1,B1,diameter,10.0,10.1,9.9,caliper,engineer-1,2026-05-13 16:40,1\n"
        "S1,B2,diameter,6.1,6.0,6.0,caliper,engineer-1,2026-05-13 16:40,1\n",
        encoding="utf-8",
    )
    add_tape(pour, [tmp_path / "tape.csv"], act)
    found = checked(pour)
    verdicts = {f.key: f.verdict for f in found.findings}
    assert verdicts["S1/B1/diameter/1"] == "conforming"
    assert verdicts["S1/B2/diameter/1"] == "non_conforming"
    conditions = {c.key for c in found.decision.conditions}
    assert "S1/B1/diameter/open" not in conditions  # read once, and every photo fits
    assert "S2/B1/diameter/open" in conditions  # nobody has read it
    assert keys(found) == {"S1/B2/diameter/1", "S1/coverage/cover", "S2/coverage/cover"}


HEADING = "element,layer,what,n_gaps,reading_mm,instrument,person,time,spot\n"


def test_a_tape_file_put_right_and_added_again_takes_the_place_of_the_first(
    pour: Path, act: Act, tmp_path: Path
) -> None:
    path = tmp_path / "readings.csv"
    path.write_text(
        HEADING + "S1,B1,mean_spacing,9,135,tape-II,engineer-1,2026-05-13 16:40,1\n", encoding="utf-8"
    )
    (first,) = add_tape(pour, [path], act)
    assert first.in_record
    assert "Was it" in first.asks[0]
    assert any(r.kind == "not-decided" for r in checked(pour).decision.reasons)
    path.write_text(
        HEADING + "S1,B1,mean_spacing,9,1350,tape-II,engineer-1,2026-05-13 16:40,1\n", encoding="utf-8"
    )
    assert add_tape(pour, [path], act)[0].asks == ()
    found = checked(pour)
    assert [m.value for m in found.measurements] == [150.0]
    assert not any(r.kind == "not-decided" for r in found.decision.reasons)
    assert any("both stay in the record" in c.says for c in found.decision.cautions)


def test_a_cover_read_again_after_correction_counts_and_the_first_reading_stays_in_sight(
    pour: Path, act: Act, tmp_path: Path
) -> None:
    for name, mm, at in (("first.csv", 15, "16:40"), ("second.csv", 24, "18:40")):
        row = f"S1,B1,cover,,{mm},steel-rule,engineer-1,2026-05-13 {at},1\n"
        (tmp_path / name).write_text(HEADING + row, encoding="utf-8")
    add_tape(pour, [tmp_path / "first.csv"], act)
    assert "S1/bottom/cover" in keys(checked(pour))
    add_tape(pour, [tmp_path / "second.csv"], act)
    found = checked(pour)
    assert "S1/bottom/cover" not in keys(found)
    assert [s.measurement.value for s in found.superseded] == [15.0]


def test_changed_bytes_in_the_record_stop_everything(
    drawn: Drawn, pour: Path, act: Act, tmp_path: Path
) -> None:
    add_photos(pour, [photo(tmp_path, "s1-spot1.jpg")], act, workers=1)
    ledger = Ledger.open(pour)
    result = ledger.store.objects.path_of(str(ledger.records("measurement")[0].body["result_sha256"]))
    ledger.close()
    result.chmod(0o640)
    result.write_bytes(result.read_bytes().replace(b"150.0", b"151.0", 1))
    with pytest.raises(RecordDamaged, match="changed"):
        checked(pour)


def test_an_original_that_was_changed_after_recording_is_found(
    drawn: Drawn, pour: Path, act: Act, tmp_path: Path
) -> None:
    one = photo(tmp_path, "s1-spot1.jpg")
    add_photos(pour, [one], act, workers=1)
    ledger = Ledger.open(pour)
    stored = ledger.store.objects.path_of(sha256_of(one))
    ledger.close()
    stored.chmod(0o640)
    stored.write_bytes(photo(tmp_path, "other.jpg").read_bytes())
    found = checked(pour)
    assert found.decision.reasons[0].kind == "evidence-damaged"
    assert [p.state for p in found.photos] == ["damaged"]
    assert not any(f.measured for f in found.findings)


def test_a_check_in_the_record_tells_what_changed_and_seals_into_a_bundle_that_holds(
    drawn: Drawn, pour: Path, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn.b1["s1-spot3.jpg"] = [150.0, 196.0, 209.0, 150.0]
    add_photos(pour, all_spots(tmp_path)[:4], act, workers=1)
    assert record_check(pour, checked(pour), act) > 4
    assert record_check(pour, checked(pour), act) == 0  # nothing has changed
    again = photo(tmp_path, "s1-spot3-corrected.jpg", "2026:05:13 18:41:10")
    later = Act(act.person, LATER, act.signer)
    add_photos(pour, [again], later, workers=1)
    assert record_check(pour, checked(pour, LATER), later) == 2  # gap and mean spacing of B1 at spot 3
    assert [e.what for e in timeline_of(pour)].count("the pour was checked as a whole") == 3
    sealed = seal_folder(pour, tmp_path / "bundle.zip", LATER, act.signer)
    with pytest.raises(BadInput, match="never written over"):
        seal_folder(pour, tmp_path / "bundle.zip", LATER, act.signer)
    monkeypatch.setattr(recording, "measure_one", drawn.measure)
    outcome = audit_bundle(sealed.path, heads=[sealed.checkpoint], replay=True)
    assert outcome.alarms == ()
    drawn.b1["s1-spot1.jpg"] = [150.0, 150.0, 150.0, 160.0]  # a method that gives other numbers is found
    (alarm,) = audit_bundle(sealed.path, replay=True).alarms
    assert (alarm.topic, len(alarm.details)) == ("replay", 1)


def test_a_bundle_or_record_that_is_not_there(pour: Path, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no record yet"):
        timeline_of(pour)
    with pytest.raises(BadInput, match="no record yet"):
        seal_folder(pour, tmp_path / "bundle.zip", AT)
    with pytest.raises(BadInput, match="no such bundle"):
        audit_bundle(tmp_path / "bundle.zip")


def test_the_concrete_of_the_sample_pour(pour: Path) -> None:
    """By hand: (5.2 x 4.1 + 4.6 x 4.1) x 0.15 = 6.027 m3; with 3 % waste 6.21, rounded up to half a cubic metre 6.5."""
    found = quantities_of(pour, truck_m3=6.0)
    assert found.take_off.net_m3 == pytest.approx(6.027)
    assert (found.order.order_m3, found.order.loads) == (6.5, 2)
    assert found.missing == ()


@pytest.mark.parametrize(
    ("name", "placement"),
    [
        ("s1-spot3-as-found.jpg", ("S1", "3", None)),
        ("S1_Spot 07.JPG", ("S1", "7", None)),
        ("s12-spot1.jpg", ("S12", "1", None)),
        ("s1-spot2-top.jpg", ("S1", "2", "top")),
        ("s1-spot2-stopped.jpg", ("S1", "2", None)),
        ("decke ost-spot2.jpg", ("Decke Ost", "2", None)),
        ("s13-spot1.jpg", (None, None, None)),
        ("IMG_2041.jpg", (None, None, None)),
        ("xs1-spot1.jpg", (None, None, None)),
    ],
)
def test_a_file_name_places_a_photo_only_where_it_is_plain(
    name: str, placement: tuple[str | None, str | None, str | None]
) -> None:
    found = placed_by_name(name, ["S1", "S12", "S2", "Decke Ost"])
    assert (found.element, found.spot, found.mat) == placement
    assert found.basis == ("none" if placement[0] is None else "file name")


def test_a_new_folder_has_what_it_needs(tmp_path: Path) -> None:
    made = new_folder(tmp_path / "neu" / "Geschoß 2")
    assert all(path.exists() for path in made)
    assert evidence_in(tmp_path / "neu" / "Geschoß 2", []).photos == ()


def test_only_people_of_the_pour_add_evidence(pour: Path) -> None:
    from verifier.drawing.read import read_pour

    read = read_pour(pour)
    assert who_adds(read, None) == "engineer-1"
    with pytest.raises(BadInput, match="not among the people"):
        who_adds(read, "somebody")


class Deadly(type(Path())):  # type: ignore[misc]
    """A path that ends the process which reads it, as a picture that eats all memory would."""

    def read_bytes(self) -> bytes:
        os._exit(9)


def test_a_photo_that_ends_its_worker_is_refused_and_the_others_go_on(tmp_path: Path) -> None:
    for name in ("a.jpg", "b.jpg", "c.jpg"):
        (tmp_path / name).write_bytes(b"no photo")
    jobs = [measuring.Job(tmp_path / "a.jpg", "a.jpg"), measuring.Job(Deadly(tmp_path / "b.jpg"), "b.jpg")]
    jobs.append(measuring.Job(tmp_path / "c.jpg", "c.jpg"))
    answers = list(measuring.measure_photos(jobs, measuring.Settings(), workers=2))
    assert [a.refusals[0].reason for a in answers] == ["unreadable", "worker-lost", "unreadable"]
