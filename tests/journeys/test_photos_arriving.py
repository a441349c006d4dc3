"""Forty photos from a camera roll on a phone: counted, answered one by one, none lost, none stopping the others."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from browser_page import PHONE, SAMPLE, Serve, Visit, keep

from verifier.pipeline.folder.evidence import Placement, evidence_in
from verifier.pipeline.intake.arriving import SAID_FILE, WAITING, Arrivals, Said, file_name
from verifier.pipeline.measurement.measuring import Settings, StandingWorkers, measure_one
from verifier.pipeline.measurement.photos import PhotoEntry, placed

NOW = "2026-05-13T16:00:00+02:00"


class HereAtOnce(StandingWorkers):
    """Measures in this process: the tests need no other ones."""

    def __call__(self, jobs: Any, settings: Settings) -> Any:
        for job in jobs:
            yield measure_one(job, settings)


@pytest.fixture
def small(tmp_path: Path) -> Callable[[int], tuple[Path, ...]]:
    """Small pictures without a board: each is refused in a moment, and each is another file."""

    def make(count: int) -> tuple[Path, ...]:
        paths = []
        for number in range(count):
            path = tmp_path / f"IMG_{number:04d}.jpg"
            picture = np.full((120, 160, 3), 120, np.uint8)
            picture[:, :: 3 + number] = 80
            cv2.imwrite(str(path), picture)
            paths.append(path)
        return tuple(paths)

    return make


def test_bad_files_stop_no_other_and_every_photo_has_an_answer(pour: Path, small: Any) -> None:
    arrivals = Arrivals(pour, HereAtOnce())
    files = [(p.name, p.read_bytes()) for p in small(3)]
    files[1:1] = [("bad.jpg", b"no photo"), ("empty.jpg", b""), ("../../up.jpg", files[0][1][:200])]
    arrivals.receive(files, None, "engineer-1")
    assert arrivals.wait(60)
    told = {a.name: a for a in arrivals.photos()}
    assert [a.says for a in told.values() if a.state == "held"] == []
    assert [told[n].state for n in ("bad.jpg", "empty.jpg", "up.jpg")] == ["not taken"] * 3
    assert all(told[n].says for n in ("bad.jpg", "empty.jpg", "up.jpg"))
    for name in ("IMG_0000.jpg", "IMG_0001.jpg", "IMG_0002.jpg"):
        entry = told[name].entry
        assert entry is not None
        assert entry.state == "refused"
        assert entry.seen.refusals[0].say
    assert not list((pour / WAITING).iterdir())


def test_photos_left_by_a_page_that_was_stopped_are_taken_in_by_the_next(pour: Path, small: Any) -> None:
    place = pour / WAITING / "000007"
    place.mkdir(parents=True)
    (place / "IMG_0000.jpg").write_bytes(small(1)[0].read_bytes())
    said = Said(
        person="engineer-1", received_at=NOW, placement=Placement(element="S2", spot="4", basis="said")
    )  # type: ignore[arg-type]  # pydantic reads the text
    (place / SAID_FILE).write_text(said.model_dump_json())
    (pour / WAITING / ".000008").mkdir()  # half written: not there
    arrivals = Arrivals(pour, HereAtOnce())
    assert arrivals.wait(60)
    assert [a.state for a in arrivals.photos()] == ["answered"]
    newest = evidence_in(pour, ("S1", "S2")).photos[-1]
    assert (newest.name, newest.placement.element, newest.placement.spot) == ("IMG_0000.jpg", "S2", "4")


def test_what_cannot_be_recorded_now_is_kept_and_tried_again(pour: Path, small: Any) -> None:
    arrivals = Arrivals(pour, HereAtOnce())
    toml = (pour / "pour.toml").read_text(encoding="utf-8")
    go = threading.Event()

    class Breaks(HereAtOnce):
        def __call__(self, jobs: Any, settings: Settings) -> Any:
            if not go.is_set():
                raise OSError(28, "No space left on device")
            yield from super().__call__(jobs, settings)

    arrivals = Arrivals(pour, Breaks())
    arrivals.receive([(p.name, p.read_bytes()) for p in small(1)], None, "engineer-1")
    assert arrivals.wait(60)
    held = arrivals.photos()[0]
    assert held.state == "held"
    assert "No space left" in held.says
    assert len(list((pour / WAITING).iterdir())) == 1
    arrivals.clear()
    assert arrivals.photos() == (held,)
    go.set()
    arrivals.again()
    assert arrivals.wait(60)
    assert arrivals.photos()[0].state == "answered"
    assert not list((pour / WAITING).iterdir())
    assert (pour / "pour.toml").read_text(encoding="utf-8") == toml


def test_a_name_from_a_browser_is_only_a_name() -> None:
    assert file_name("C:\\photos\\a.jpg", 1) == "a.jpg"
    assert file_name("../../etc/passwd", 1) == "passwd"
    assert file_name("..", 3) == "photo-3"
    assert file_name(SAID_FILE, 4) == "photo-4"
    assert len(file_name("ä" * 300 + ".jpg", 1).encode()) <= 200
    assert file_name("ä" * 300 + ".jpg", 1).endswith(".jpg")


def test_the_board_in_the_picture_tells_the_place(as_found: Path) -> None:
    from datetime import datetime

    from verifier.drawing.pour import Spot
    from verifier.pipeline.decision.check import check

    found = check(as_found, at=datetime.now().astimezone())
    entry = next(p for p in found.photos if p.original.name == "s1-spot1.jpg")
    assert entry.seen.board is not None
    number = entry.seen.board.number

    def here(placement: Placement, **board: Any) -> PhotoEntry:
        kept = found.pour.model_copy(
            update={
                "slabs": tuple(
                    s.model_copy(update={"board": board["element"]}) if s.mark == "S2" else s
                    for s in found.pour.slabs
                ),
                "spots": board.get("spots", ()),
            }
        )
        original = entry.original.model_copy(update={"placement": placement})
        return placed(entry.model_copy(update={"original": original}), kept)[0]

    by_element = here(Placement(), element=number)
    assert by_element.original.placement == Placement(element="S2", basis="board")
    assert by_element.state == "unplaced"  # which spot of S2 is still to be said
    spot = Spot(element="S2", spot="4", board=number)
    by_spot = here(Placement(), element=None, spots=(spot,))
    assert (by_spot.original.placement.spot, by_spot.state) == ("4", "counted")
    said = here(Placement(element="S1", spot="1", basis="said"), element=number)
    assert said.original.placement.element == "S1"  # a person's word stands, the contradiction is told
    assert "kept for S2" in said.remarks[0]
    assert here(Placement(), element=None).state == "unplaced"


@pytest.mark.browser
def test_forty_photos_from_a_phone(
    serve: Serve, visit: Visit, pour: Path, small: Any, tmp_path: Path
) -> None:
    bad = tmp_path / "bad.jpg"
    bad.write_text("no photo")
    unplaced = tmp_path / "IMG_9000.jpg"
    unplaced.write_bytes((SAMPLE / "photos" / "s2-spot3.jpg").read_bytes())
    right = SAMPLE / "photos" / "s1-spot3-corrected.jpg"
    page = visit(serve(pour), PHONE)
    page.set_input_files("input[type=file]", [bad, unplaced, right, *small(37)])
    page.get_by_role("button", name="Send photos (40)").click()
    page.get_by_text("of 40").wait_for()
    page.get_by_text(
        "could not be measured: take it again"
    ).first.wait_for()  # answers come before the last is done
    page.reload()  # in the middle: nothing sent is lost by it
    page.get_by_text("All answered: 40").wait_for()
    assert page.get_by_text("not in the record yet").count() == 0, page.inner_text("body")
    page.get_by_text("counts for S1, spot 3").wait_for()
    page.get_by_text("not taken; the other photos went on").wait_for()
    page.get_by_text("Where was this taken?").first.wait_for()
    keep(page, "phone-forty-photos")
    page.get_by_role("button", name="S2, spot 3").first.click()
    page.get_by_text("3 of 4").first.wait_for()
    page.wait_for_selector("[data-test-script-state=notRunning]")
    assert page.get_by_text("Where was this taken?").count() == 0
    photos = evidence_in(pour, ("S1", "S2")).photos
    assert len(photos) == 7 + 39
    placement = next(p.placement for p in photos if p.name == "IMG_9000.jpg")
    assert (placement.element, placement.spot) == ("S2", "3")
    assert not list((pour / WAITING).iterdir())
