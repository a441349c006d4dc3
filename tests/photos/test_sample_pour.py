"""The sample pour from photos to decision: no-go as found, go with conditions once the steel is corrected.

The photos are rendered scenes; what each shows (which zone was fixed too wide, which photo was shaken) was set when they
were made, so the story has a truth of its own.
"""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path

import pytest
from rich.console import Console

from verifier.cli import demo
from verifier.pipeline.decision.check import Check
from verifier.pipeline.sealing.disclosing import seal_folder
from verifier.pipeline.sealing.recording import audit_bundle
from verifier.record.audit import HOLDS
from verifier.record.bundle import write_bundle
from verifier.record.keys import device_signer
from verifier.record.ledger import Ledger
from verifier.record.part import part_of_photo


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[Check], str]:
    """The checks after each step, and what the terminal showed."""
    checks: list[Check] = []
    shown = io.StringIO()
    show = demo._show

    def keep(console: Console, checked: Check) -> None:
        checks.append(checked)
        show(console, checked)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(demo, "_show", keep)
        folder = tmp_path_factory.mktemp("sample") / "L2-east"
        demo.tell_story(Console(file=shown, width=240), Path(folder))
    return checks, shown.getvalue()


def test_as_found_it_is_no_go_for_the_wide_zone_and_the_missing_spots(story: tuple[list[Check], str]) -> None:
    found = story[0][0]
    assert found.decision.answer == "no_go"
    wrong = {f.key for f in found.findings if f.verdict == "non_conforming"}
    assert wrong == {
        f"S1/{layer}/{rule}/3" for layer in ("B1", "B2") for rule in ("single-gap", "mean-spacing")
    }
    missing = {(c.element, c.layer): c.missing for c in found.coverage if c.what == "spacing"}
    assert missing == {("S1", "B1"): (), ("S1", "B2"): (), ("S2", "B1"): ("3", "4"), ("S2", "B2"): ("3", "4")}
    assert [r.kind for r in found.decision.reasons] == ["non-conforming"] * 4 + ["not-covered"] * 3 + [
        "not-done"
    ]
    assert "rounds-not-begun" in {r.key for r in found.decision.reasons}
    assert not [r for r in found.decision.reasons if r.room == "order"], (
        "ordered and confirmed the day before"
    )


def test_the_wide_zone_is_measured_where_it_is(story: tuple[list[Check], str]) -> None:
    """The gaps were drawn with 193 to 212 mm (T10-150) and 260 to 273 mm (T8-200)."""
    by_key = {f.key: f for f in story[0][0].findings}
    for layer, low, high in (("B1", 190, 215), ("B2", 257, 276)):
        judged = by_key[f"S1/{layer}/single-gap/3"].judged
        wide = [j.measurement.value for j in judged if j.probability < 0.05]
        assert len(wide) == 3
        assert all(low < value < high for value in wide)


def test_the_shaken_photo_is_refused_and_its_retake_counts(story: tuple[list[Check], str]) -> None:
    states = {p.original.name: p.state for p in story[0][0].photos}
    assert states["s2-spot2-shaken.jpg"] == "refused"
    assert states["s2-spot2.jpg"] == "counted"


def test_photos_straight_from_the_phone_raise_no_doubt_about_place_and_time(
    story: tuple[list[Check], str],
) -> None:
    assert not any(r.kind == "place-or-time" for checked in story[0] for r in checked.decision.reasons)


def test_photo_and_tape_agree(story: tuple[list[Check], str]) -> None:
    assert len(story[0][1].agreements) == 5
    assert all(a.agrees for a in story[0][1].agreements)


def test_after_correction_only_the_rounds_stop_it(story: tuple[list[Check], str]) -> None:
    found = story[0][1]
    assert found.decision.answer == "no_go"
    assert [r.key for r in found.decision.reasons] == ["rounds-not-begun"]
    assert all(c.complete for c in found.coverage)


def test_with_rounds_walked_and_hold_points_released_it_is_go_with_conditions(
    story: tuple[list[Check], str],
) -> None:
    found = story[0][2]
    assert found.decision.answer == "go_with_conditions"
    keys = {c.key for c in found.decision.conditions}
    assert {"rounds-at-start-CL-05", "rounds-at-start-FW-16", "signature/engineer-of-record"} <= keys
    assert found.decision.engineer_of_record == ("eor-1",)


def test_the_release_in_the_record_is_the_engineers_own(story: tuple[list[Check], str]) -> None:
    folder = Path(story[1].rsplit("The pour lies in ", 1)[1].strip().rstrip("."))
    ledger = Ledger.open(folder)
    try:
        (release,) = ledger.records("release")
        actor = ledger.standing.actor(release)
    finally:
        ledger.close()
    assert actor is not None
    assert (actor.name, actor.person) == ("eor-1", True)
    assert list(folder.glob("release-*.pdf"))


def test_the_released_pour_is_audited_and_one_photo_of_it_measured_again(
    story: tuple[list[Check], str], tmp_path: Path
) -> None:
    """Years later: the whole bundle without an alarm, and of a part with one photo every digit the same."""
    folder = Path(story[1].rsplit("The pour lies in ", 1)[1].strip().rstrip("."))
    at = datetime(2026, 5, 14, 12, 0, tzinfo=UTC)
    whole = seal_folder(folder, tmp_path / "whole.zip", at)
    assert audit_bundle(whole.path, heads=[whole.checkpoint]).alarms == ()
    ledger = Ledger.open(folder)
    try:
        photo = next(r for r in ledger.records("photo") if r.body["name"] == "s1-spot1.jpg")
        chosen = part_of_photo(ledger.records(), photo.body["sha256"])
        part = write_bundle(ledger, tmp_path / "part.zip", device_signer(), at, part=chosen)
    finally:
        ledger.close()
    outcome = audit_bundle(part.path, heads=[whole.checkpoint], replay=True)
    assert outcome.alarms == ()
    (again,) = (fact for fact in outcome.facts if fact.topic == "replay")
    assert (again.state, again.say) == (
        HOLDS,
        "Originals measured again: 1. Every printed digit is the same.",
    )


def test_the_values_as_found_stay_in_view(story: tuple[list[Check], str]) -> None:
    found = story[0][1]
    assert {s.measurement.trace.original_name for s in found.superseded} == {"s1-spot3-as-found.jpg"}
    assert max(s.measurement.value for s in found.superseded) > 257


def test_the_terminal_tells_it(story: tuple[list[Check], str]) -> None:
    text = story[1]
    assert text.index("NO-GO") < text.index("After correction") < text.index("GO WITH CONDITIONS")
    assert "does not replace the engineer of record" in " ".join(text.replace("│", " ").split())
