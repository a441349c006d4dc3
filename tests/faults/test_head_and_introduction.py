"""A head typed wrongly or of another record, a request to be enrolled that was changed, and the order of pours in a list."""

from __future__ import annotations

import json
import shutil
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from small_pour import cover_everywhere, steel_alone

from verifier.errors import BadInput, NotAllowed, RecordDamaged
from verifier.pipeline.approval.decided import decided
from verifier.pipeline.approval.held_heads import head_to_keep, held_from_file, held_from_short
from verifier.pipeline.decision.queue import Standing, in_order
from verifier.pipeline.people.acting import Act
from verifier.pipeline.people.enrolling import OwnKey
from verifier.pipeline.people.introducing import REQUESTS, Request, ask_to_be_enrolled, introduce, keys_of
from verifier.pipeline.review.handing_over import HandOver
from verifier.record.heads import notes_in
from verifier.record.keys import make_person_key
from verifier.record.ledger import Ledger, Record
from verifier.record.people import enrolment

SAMPLE = Path(__file__).parents[2] / "sample_images"
AT = datetime.fromisoformat("2026-05-13T17:00:00+02:00")
WORDS = "four plain garden words"


@pytest.fixture
def pour(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    folder = tmp_path / "pour"
    folder.mkdir()
    for name in ("pour.toml", "boards.toml", "instruments.toml"):
        shutil.copy(SAMPLE / name, folder)
    steel_alone(folder)
    cover_everywhere(folder, tmp_path, Act("engineer-1", AT))
    return folder


def key(pour: Path, person: str) -> OwnKey:
    path = pour.parent / "keys" / person
    path.parent.mkdir(exist_ok=True)
    if not path.exists():
        make_person_key(path, WORDS, rounds=1)
    return OwnKey(path, WORDS)


def test_a_head_that_is_kept_is_taken_in_any_usual_writing(pour: Path) -> None:
    short, note, drawn = head_to_keep(pour, AT)
    assert note.splitlines()[1] == short.split("-")[0]
    assert drawn.startswith("<svg")
    for typed in (short, short.lower(), short.replace("-", " "), f"  {short}\n"):
        assert held_from_short(pour, typed, "eor-1").holder == "eor-1"


def test_an_earlier_head_still_fits_when_the_record_has_grown(pour: Path) -> None:
    short, _, _ = head_to_keep(pour, AT)
    cover_everywhere(pour, pour.parent, Act("engineer-1", AT + timedelta(minutes=1)))
    held = held_from_short(pour, short, "eor-1")
    ledger = Ledger.open(pour)
    assert held.size < len(ledger.records())
    ledger.close()


@pytest.mark.parametrize(
    "typed", ["", "41", "41-ABCD-EFGH", "41-ABCD-EFGH-IJKL-MN0P", "٤-ABCD-EFGH-IJKL-MNOP", "x" * 5000]
)
def test_what_is_no_head_is_told_so(pour: Path, typed: str) -> None:
    with pytest.raises(BadInput, match="no short form"):
        held_from_short(pour, typed, "eor-1")


@pytest.mark.parametrize("change", ["letter", "too long", "nothing"])
def test_a_head_of_another_record_stops_the_release(pour: Path, change: str) -> None:
    short, _, _ = head_to_keep(pour, AT)
    size, rest = short.split("-", 1)
    other = {
        "letter": f"{size}-{'B' if rest[0] == 'A' else 'A'}{rest[1:]}",
        "too long": f"{int(size) + 1}-{rest}",
        "nothing": f"0-{rest}",
    }[change]
    with pytest.raises(RecordDamaged, match="does not continue the head"):
        held_from_short(pour, other, "eor-1")


def grow(pour: Path, minutes: int) -> None:
    cover_everywhere(pour, pour.parent, Act("engineer-1", AT + timedelta(minutes=minutes)))


def test_an_own_file_of_heads_grows_with_every_look(pour: Path) -> None:
    """The first head comes as it was taken down; from then on each look asks the record to continue all heads seen before."""
    _, note, _ = head_to_keep(pour, AT)
    file = note.encode()
    for look in range(1, 4):
        seen_last = notes_in(file.decode(), where="heads")[-1] if look > 1 else note
        grow(pour, look)
        held, file = held_from_file(pour, file, "eor-1", AT + timedelta(minutes=look))
        assert held.root in seen_last, "what is bound is what was kept before, not what the page shows now"
        assert len(notes_in(file.decode(), where="heads")) == look + 1
    short, now, _ = head_to_keep(pour, AT + timedelta(minutes=4))
    assert notes_in(file.decode(), where="heads")[-1].splitlines()[:3] == now.splitlines()[:3]
    again = held_from_file(pour, file, "eor-1", AT + timedelta(minutes=5))
    assert again == (held_from_file(pour, file, "eor-1", AT + timedelta(minutes=5)))
    assert str(again[0].size) == short.split("-")[0]
    assert again[1] == file, "looking again without anything new adds no line"


def test_a_record_that_does_not_continue_every_head_in_the_file_is_not_released(
    pour: Path, tmp_path: Path
) -> None:
    """Alarm: also if only an early head is contradicted and the newest one fits, and if the record was cut."""
    _, early, _ = head_to_keep(pour, AT)
    shutil.copytree(pour, tmp_path / "twin")
    grow(pour, 1)
    _, file = held_from_file(pour, early.encode(), "eor-1", AT + timedelta(minutes=1))
    with pytest.raises(RecordDamaged, match="does not continue the head"):
        held_from_file(tmp_path / "twin", file, "eor-1", AT + timedelta(minutes=2))
    lines = file.decode().splitlines()
    forged = json.loads(lines[0])
    root = forged["note"].split("\n")[2]
    forged["note"] = forged["note"].replace(root, "A" * 43 + "=")
    both = "\n".join((json.dumps(forged), lines[1])) + "\n"
    with pytest.raises(RecordDamaged, match="does not continue the head"):
        held_from_file(pour, both.encode(), "eor-1", AT + timedelta(minutes=2))


@pytest.mark.parametrize("content", [b"", b"\xff\xfe", b"{}\n", b"no head", b"{" * 3_000_000])
def test_what_is_no_file_of_heads_is_told_so(pour: Path, content: bytes) -> None:
    with pytest.raises(BadInput):
        held_from_file(pour, content, "eor-1", AT)


def test_a_file_with_heads_of_other_pours_only_holds_nothing(pour: Path) -> None:
    _, note, _ = head_to_keep(pour, AT)
    with pytest.raises(NotAllowed, match="holds no head of this record"):
        held_from_file(pour, note.replace("L2-east", "L3-west").encode(), "eor-1", AT)


def test_the_first_introduces_itself_and_the_next_wait_for_somebody(pour: Path) -> None:
    first = ask_to_be_enrolled(pour, "reviewer-1", key(pour, "reviewer-1"), Act("reviewer-1", AT))
    assert isinstance(first, Record)
    asked = ask_to_be_enrolled(pour, "eor-1", key(pour, "eor-1"), Act("eor-1", AT))
    assert isinstance(asked, Request)
    keys = keys_of(pour)
    assert (list(keys.valid), [r.person for r in keys.asking]) == (["reviewer-1"], ["eor-1"])
    introduce(pour, keys.asking[0], key(pour, "reviewer-1"), Act("reviewer-1", AT))
    keys = keys_of(pour)
    assert (sorted(keys.valid), keys.asking) == (["eor-1", "reviewer-1"], ())
    assert keys.valid["eor-1"] == asked.mark
    assert decided(pour) == ()


@pytest.mark.parametrize("change", ["torn", "other key", "other roles", "roles signed but not shown"])
def test_a_request_that_shows_something_else_than_it_says_enrols_nobody(pour: Path, change: str) -> None:
    ask_to_be_enrolled(pour, "reviewer-1", key(pour, "reviewer-1"), Act("reviewer-1", AT))
    asked = ask_to_be_enrolled(pour, "engineer-1", key(pour, "engineer-1"), Act("engineer-1", AT))
    assert isinstance(asked, Request)
    path = pour / REQUESTS / "engineer-1.json"
    text = path.read_text(encoding="utf-8")
    request = json.loads(text)
    if change == "torn":
        path.write_text(text[: len(text) // 2], encoding="utf-8")
    elif change == "other key":
        other = ask_to_be_enrolled(pour, "eor-1", key(pour, "eor-1"), Act("eor-1", AT))
        assert isinstance(other, Request)
        request["body"]["public_key"] = other.body["public_key"]
    elif change == "other roles":
        request["body"]["roles"] = ["engineer_of_record"]
    else:  # the person itself signs for more than the introducing person gets to read
        own = key(pour, "engineer-1").opened()
        request["body"] = enrolment("L2-east", "engineer-1", ["engineer_of_record"], own)
    if change != "torn":
        path.write_text(json.dumps(request), encoding="utf-8")
    assert "engineer-1" not in [r.person for r in keys_of(pour).asking]
    with pytest.raises((NotAllowed, BadInput)):
        introduce(
            pour,
            asked.model_copy(
                update={"body": request["body"], "mark": "" if change == "torn" else asked.mark}
            ),
            key(pour, "reviewer-1"),
            Act("reviewer-1", AT),
        )
    assert list(keys_of(pour).valid) == ["reviewer-1"]


def test_pours_come_up_in_the_order_of_their_start() -> None:
    def at(name: str, hours: int) -> Standing:
        return Standing(Path(name), name, AT + timedelta(hours=hours), "go", 0, 0, None, (), HandOver(), None)

    listed = in_order([at("gone", -30), at("next week", 160), at("just gone", -1), at("tomorrow", 13)], AT)
    assert [s.title for s in listed] == ["tomorrow", "next week", "just gone", "gone"]
