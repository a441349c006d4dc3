"""What a reviewer says about a pour, in the record and in the decision; and the pour handed over to be reviewed."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from small_pour import cover_everywhere, steel_alone
from test_pour_folder import AT, LATER, SAMPLE, Drawn, all_spots, checked, photo

from verifier.errors import BadInput, NotAllowed
from verifier.pipeline.decision.asked_back import wanted_of
from verifier.pipeline.decision.check import check
from verifier.pipeline.decision.queue import standing_of
from verifier.pipeline.folder.evidence import Placement, evidence_in
from verifier.pipeline.intake.adding import add_photos
from verifier.pipeline.intake.arriving import Answering, Arrivals
from verifier.pipeline.measurement import measuring
from verifier.pipeline.people.acting import Act
from verifier.pipeline.people.enrolling import OwnKey, enrol_person
from verifier.pipeline.review.handing_over import hand_over, take_back
from verifier.pipeline.review.reviewing import measure_personally, say, send_back
from verifier.pipeline.review.said import (
    About,
    AskedSpot,
    OwnMeasurement,
    Remark,
    SentBack,
    WaivedSpot,
    review_of,
)
from verifier.pipeline.sealing.telling import timeline_of
from verifier.record.keys import device_signer
from verifier.store import sha256_of

BY_REVIEWER = Act("reviewer-1", LATER)
ENGINEER = Act("engineer-1", LATER)
HERE = SAMPLE / "photos" / "s1-spot1.jpg"


@pytest.fixture
def pour(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory, tmp_path: Path) -> Path:
    """A complete pour with its people enrolled."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    monkeypatch.setattr(measuring, "measure_one", Drawn().measure)
    folder = tmp_path / "pour"
    folder.mkdir()
    for name in ("pour.toml", "boards.toml", "instruments.toml"):
        shutil.copy(SAMPLE / name, folder / name)
    steel_alone(folder)
    cover_everywhere(folder, tmp_path, Act("engineer-1", AT, device_signer()))
    add_photos(folder, all_spots(tmp_path), Act("engineer-1", AT, device_signer()), workers=1)
    introducer = None
    for person in ("reviewer-1", "eor-1"):
        enrol_person(folder, person, (), key(folder, person), Act(person, AT), by=introducer)
        introducer = introducer or key(folder, person)
    return folder


def key(folder: Path, person: str) -> OwnKey:
    return OwnKey(folder.parent / person, "four plain words here")


def first_photo(folder: Path):
    return evidence_in(folder, ["S1", "S2"]).photos[0]


def stops(folder: Path) -> dict[str, str]:
    return {r.key: r.says for r in checked(folder, LATER).decision.reasons}


def test_a_remark_on_a_place_is_seen_and_answered(pour: Path) -> None:
    original = first_photo(pour)
    about = About(original_sha256=original.sha256, point_px=(40.5, 22.25), element="S1", spot="1")
    seq = say(pour, Remark(text="Is this bar tied?", about=about), BY_REVIEWER)
    assert any("Remarks without an answer: 1" in c.says for c in checked(pour, LATER).decision.cautions)
    say(pour, Remark(text="Tied now, see photo.", answers=seq), Act("engineer-1", LATER))
    assert not any("Remarks without" in c.says for c in checked(pour, LATER).decision.cautions)
    (entry,) = review_of(pour).on(original.sha256)
    assert (entry.seq, entry.person, entry.own_key) == (seq, "reviewer-1", False)
    assert isinstance(entry.word, Remark)
    assert entry.word.about == about
    told = [e for e in timeline_of(pour) if e.what == "a remark was made"]
    assert [e.who for e in told] == ["reviewer-1", "engineer-1"]
    assert "Is this bar tied?" in told[0].about


def test_an_item_sent_back_stops_the_pour_until_it_is_lifted_under_the_own_key(pour: Path) -> None:
    assert stops(pour) == {}
    word = SentBack(text="Blocks are missing under B1.", about=About(element="S1", spot="2"))
    signer = key(pour, "reviewer-1")
    seq = send_back(pour, word, BY_REVIEWER, signer.opened())
    assert stops(pour) == {
        f"review/return/{seq}": "reviewer-1 sent back element S1, spot 2: Blocks are missing under B1."
    }
    assert review_of(pour).open_returns[0].own_key
    with pytest.raises(BadInput, match="not an item sent back that is still open"):
        send_back(pour, SentBack(text="Seen.", lifts=seq + 5), BY_REVIEWER, signer.opened())
    later = replace(BY_REVIEWER, at=LATER + timedelta(minutes=5))
    send_back(pour, SentBack(text="Seen: blocks are there.", lifts=seq), later, signer.opened())
    assert stops(pour) == {}
    with pytest.raises(BadInput, match="Open ones: none"):
        send_back(pour, SentBack(text="Again.", lifts=seq), later, signer.opened())


def test_a_further_spot_is_asked_for_like_those_of_the_drawing(pour: Path, tmp_path: Path) -> None:
    asked = AskedSpot(element="S1", spot="9", layers=("B1",), at_m=(0.8, 3.2), text="Corner near the shaft.")
    seq = say(pour, asked, BY_REVIEWER)
    found = {(c.layer, c.what): c for c in checked(pour, LATER).coverage if c.element == "S1"}
    assert found["B1", "spacing"].missing == ("9",)
    assert "asked for in the review" in found["B1", "spacing"].asked_by
    assert found["B2", "spacing"].complete
    assert checked(pour, LATER).decision.answer == "no_go"
    add_photos(pour, [photo(tmp_path, "s1-spot9.jpg")], Act("engineer-1", LATER, device_signer()), workers=1)
    assert checked(pour, LATER).coverage[0].complete
    # A spot that was asked for does not stand in for one of the drawing's own.
    assert len(found["B1", "spacing"].there) == 4
    send_back(
        pour, WaivedSpot(asked=seq, text="Seen on site."), BY_REVIEWER, key(pour, "reviewer-1").opened()
    )
    assert review_of(pour).asked_spots == ()


def test_an_own_measurement_is_kept_with_its_doubt_and_decides_nothing(pour: Path) -> None:
    # Any two points of a real sample photo; the truth of such distances is tested in test_real_sheets.
    add_photos(pour, [HERE], Act("engineer-1", LATER, device_signer()), workers=1)
    original = next(o for o in evidence_in(pour, ["S1", "S2"]).photos if o.sha256 == sha256_of(HERE))
    before = {f.key: f.verdict for f in checked(pour, LATER).findings}
    about = About(original_sha256=original.sha256, element="S1", spot="1")
    points = ((1100.0, 800.0), (1300.0, 900.0))
    found = measure_personally(
        pour, original.path, points, "upper", BY_REVIEWER, what="gap beside the conduit", about=about
    )
    assert found.distance_mm is not None
    (entry,) = review_of(pour).on(original.sha256)
    assert isinstance(entry.word, OwnMeasurement)
    assert entry.word.distance_mm == pytest.approx(found.distance_mm, abs=0.01)
    assert entry.word.expanded_uncertainty_mm > 0
    assert {f.key: f.verdict for f in checked(pour, LATER).findings} == before


def test_what_is_refused_says_why(pour: Path) -> None:
    with pytest.raises(NotAllowed, match="may not ask for a spot"):
        say(pour, AskedSpot(element="S1", spot="9", text="x"), Act("engineer-1", LATER))
    with pytest.raises(BadInput, match="S7 is not on the drawing"):
        say(pour, AskedSpot(element="S7", spot="9", text="x"), BY_REVIEWER)
    with pytest.raises(BadInput, match="holds no original 00000000"):
        say(pour, Remark(text="x", about=About(original_sha256="0" * 64)), BY_REVIEWER)
    with pytest.raises(BadInput, match="Answer one that the record holds"):
        say(pour, Remark(text="x", answers=999), BY_REVIEWER)
    with pytest.raises(NotAllowed):  # the device of the site can't send back in the reviewer's name
        send_back(pour, SentBack(text="x"), BY_REVIEWER, device_signer().on_behalf_of("reviewer-1"))  # type: ignore[arg-type]
    assert check(pour, at=LATER, workers=1).review.entries == ()


def handed(folder: Path):
    return review_of(folder).handed


def test_a_hand_over_names_who_and_when_and_stands_in_the_queue(pour: Path) -> None:
    assert handed(pour).state == "none"
    seq = hand_over(pour, ENGINEER, "Access from the north only.")
    found = standing_of(pour, checked(pour, LATER)).handed
    assert (found.state, found.person, found.at, found.record) == ("waits", "engineer-1", LATER, seq)
    assert found.text == "Access from the north only."
    assert stops(pour) == {}
    (told,) = [e for e in timeline_of(pour) if e.what == "the pour was handed over for review"]
    assert told.who == "engineer-1"
    with pytest.raises(BadInput, match="nothing has changed since"):
        hand_over(pour, ENGINEER)


def test_new_evidence_ends_it_and_looking_does_not(pour: Path, tmp_path: Path) -> None:
    hand_over(pour, ENGINEER)
    original = first_photo(pour)
    say(pour, Remark(text="Seen.", about=About(original_sha256=original.sha256)), BY_REVIEWER)
    assert handed(pour).state == "waits"
    add_photos(pour, [photo(tmp_path, "s1-spot9.jpg")], ENGINEER, workers=1)
    assert handed(pour).state == "changed"
    assert handed(pour).since == ("a photo was received",)
    hand_over(pour, replace(ENGINEER, at=LATER + timedelta(minutes=3)))
    assert handed(pour).state == "waits"
    text = (pour / "pour.toml").read_text(encoding="utf-8")
    (pour / "pour.toml").write_text(text + "# another revision\n", encoding="utf-8")
    say(pour, Remark(text="A new revision is here."), replace(ENGINEER, at=LATER + timedelta(minutes=4)))
    assert handed(pour).state == "changed"


def test_taken_back_it_stops_the_pour_until_it_is_handed_over_again(pour: Path) -> None:
    with pytest.raises(BadInput, match="does not lie with the reviewer"):
        take_back(pour, ENGINEER)
    hand_over(pour, ENGINEER)
    take_back(pour, ENGINEER, "A bar was moved.")
    assert [says for k, says in stops(pour).items() if k == "review/taken-back"] == [
        f"engineer-1 took the pour back from review (record {handed(pour).record}). A bar was moved."
    ]
    with pytest.raises(BadInput):
        take_back(pour, ENGINEER)
    hand_over(pour, ENGINEER)
    assert stops(pour) == {}


def test_the_reviewer_answers_and_lifting_is_no_answer(pour: Path) -> None:
    hand_over(pour, ENGINEER)
    signer = key(pour, "reviewer-1")
    seq = send_back(pour, SentBack(text="Blocks are missing."), BY_REVIEWER, signer.opened())
    assert handed(pour).state == "answered"
    hand_over(pour, ENGINEER)
    send_back(pour, SentBack(text="They are there.", lifts=seq), BY_REVIEWER, signer.opened())
    assert handed(pour).state == "waits"


def test_nobody_else_hands_over(pour: Path) -> None:
    with pytest.raises(NotAllowed, match="may not hand the pour over for review"):
        hand_over(pour, BY_REVIEWER)


def test_what_the_reviewer_wants_is_listed_answered_by_a_photo_and_waits_to_be_seen(
    pour: Path,
    tmp_path: Path,
) -> None:
    original = first_photo(pour)
    about = About(original_sha256=original.sha256, point_px=(40.0, 20.0))
    asked = say(pour, Remark(text="Tied?", about=about), BY_REVIEWER)
    spot = say(pour, AskedSpot(element="S1", spot="9", text="Corner."), BY_REVIEWER)
    back = send_back(
        pour,
        SentBack(text="Blocks are missing.", about=About(element="S1", spot="2")),
        BY_REVIEWER,
        key(pour, "reviewer-1").opened(),
    )
    say(pour, Remark(text="Formwork was oiled."), ENGINEER)  # the site's own words are not wanted from it
    wanted = wanted_of(checked(pour, LATER))
    assert [(w.kind, w.entry.seq) for w in wanted] == [
        ("return", back),
        ("spot.ask", spot),
        ("remark", asked),
    ]
    assert wanted[0].placement == Placement(element="S1", spot="2", basis="said")
    assert (wanted[2].original_sha256, wanted[2].point_px) == (original.sha256, (40.0, 20.0))
    assert wanted[2].placement is not None
    assert wanted[2].placement.spot == original.placement.spot  # that of the photo, since the words name none

    def here(jobs, settings):
        for job in jobs:
            yield measuring.measure_one(job, settings)

    arrivals = Arrivals(pour, here, threads=1)  # type: ignore[arg-type]
    for number, one in enumerate(wanted):
        data = photo(tmp_path, f"answer-{number}.jpg").read_bytes()
        arrivals.receive(
            [(f"answer-{number}.jpg", data)],
            one.placement,
            "engineer-1",
            Answering(record=one.entry.seq, text="Answered with a new photo."),
        )
    assert arrivals.wait(30)
    assert [a.state for a in arrivals.photos()] == ["answered"] * 3, [a.says for a in arrivals.photos()]
    left = wanted_of(checked(pour, LATER + timedelta(hours=1)))
    assert [(w.kind, w.answered) for w in left] == [("return", True)]
    said = {
        e.word.answers: e for e in review_of(pour).entries if isinstance(e.word, Remark) and e.word.answers
    }
    assert set(said) == {asked, spot, back}
    assert said[back].word.about.spot == "2"  # type: ignore[union-attr]
