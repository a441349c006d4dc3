"""The table of roles and actions, cell by cell, against the functions that act; and against what the record asks by itself."""

from __future__ import annotations

import ast
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from small_pour import cover_everywhere, steel_alone

from verifier.drawing.heading import Role
from verifier.drawing.read import read_pour
from verifier.errors import BadInput, NotAllowed, RecordDamaged, VerifierError
from verifier.pipeline.approval import accepting, signed_elsewhere
from verifier.pipeline.approval import releasing as room
from verifier.pipeline.concreting import closing, orders, pouring
from verifier.pipeline.decision.check import check
from verifier.pipeline.folder.evidence import Placement
from verifier.pipeline.inspection import round_entries
from verifier.pipeline.intake import arriving, boards
from verifier.pipeline.intake.adding import add_photos, add_tape
from verifier.pipeline.papers.release_document import seal_by_person, seal_given_out, seal_handed_in
from verifier.pipeline.people import clock, enrolling, introducing
from verifier.pipeline.people.acting import Act
from verifier.pipeline.people.enrolling import OwnKey
from verifier.pipeline.people.permissions import MAY, ROLES, Action, demand, may, who_may
from verifier.pipeline.review import handing_over, reviewing
from verifier.pipeline.sealing import recording
from verifier.record import kinds
from verifier.record.approval import Approval, HeldHead
from verifier.record.keys import make_person_key
from verifier.record.ledger import Ledger
from verifier.rounds.answers import Answer, HoldReleased, PutRight, RoundSigned, Word

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_images"
AT = datetime.fromisoformat("2026-05-13T17:00:00+02:00")
WORDS = "four plain garden words"
PEOPLE: dict[str, Role | None] = {
    "engineer-1": "site_engineer",
    "quality-1": "quality_engineer",
    "reviewer-1": "reviewer",
    "eor-1": "engineer_of_record",
    "reader-1": "reader",
    "nobody-1": None,
}


@dataclass(frozen=True)
class World:
    """A pour with everybody on it, whose keys are enrolled where the record takes them."""

    folder: Path
    keys: Path

    def key(self, person: str) -> OwnKey:
        return OwnKey(self.keys / person, WORDS)

    def act(self, person: str) -> Act:
        return Act(person, AT + timedelta(hours=1))


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> World:
    place = tmp_path_factory.mktemp("permissions")
    patch = pytest.MonkeyPatch()
    patch.setenv("XDG_CONFIG_HOME", str(place / "settings"))
    folder, keys = place / "pour", place / "keys"
    folder.mkdir()
    keys.mkdir()
    for name in ("pour.toml", "boards.toml", "instruments.toml"):
        shutil.copy(SAMPLE / name, folder)
    with (folder / "pour.toml").open("a", encoding="utf-8") as stream:
        stream.write('quality_engineer = ["quality-1"]\nreader = ["reader-1"]\n')
    steel_alone(folder)
    cover_everywhere(folder, place, Act("engineer-1", AT))
    for person in PEOPLE:
        make_person_key(keys / person, WORDS, rounds=1)
    world = World(folder, keys)
    enrolling.enrol_person(folder, "reviewer-1", (), world.key("reviewer-1"), Act("reviewer-1", AT))
    for person in ("engineer-1", "quality-1", "eor-1"):
        enrolling.enrol_person(
            folder, person, (), world.key(person), Act(person, AT), by=world.key("reviewer-1")
        )
    yield world
    patch.undo()


def approval(w: World, person: str) -> Approval:
    zero = "0" * 64
    held = HeldHead(size=1, root="AA==", holder=person, kept="on paper")
    return Approval(
        pour="L2-east", person=person, decision="go", verdict="go", drawing_sha256=zero, rules_sha256=zero, size=1,
        root="AA==", held=held, software="test",
    )  # fmt: skip


def standing(w: World) -> accepting.Standing:
    checked = check(w.folder, at=AT)
    return accepting.Standing(checked, checked.decision, {})


def event(w: World, person: str, make: Callable[[datetime], object]) -> object:
    return round_entries.record_round_event(
        w.folder, make(w.act(person).at), w.act(person), own_key=w.key(person).opened()
    )  # type: ignore[arg-type]


def answer(w: World, person: str) -> object:
    at = w.act(person).at
    said = Answer(item="FW-01", round=2, word=Word.CANNOT_TELL, by=person, at=at, remark="a test")
    return round_entries.record_answers(w.folder, [said], w.act(person))


def seal_handed(w: World, person: str) -> object:
    text = w.folder.parent / f"handed-{person}.txt"
    text.write_text(f"SEAL UNDER THE RECORD OF A POUR\nsealed by: {person}\n", encoding="utf-8")
    signature = text.with_name(f"{text.name}.sig")
    signature.write_text("none", encoding="utf-8")
    return seal_handed_in(w.folder, signature, w.act(person).at)


ABOUT = reviewing.About(element="S1")
ATTEMPTS: dict[str, tuple[Action, Callable[[World, str], object]]] = {
    "see": (Action.SEE, lambda w, p: demand(read_pour(w.folder), p, Action.SEE)),
    "photos": (Action.SEND_PHOTOS, lambda w, p: add_photos(w.folder, [], w.act(p))),
    "place": (
        Action.PLACE_PHOTO,
        lambda w, p: add_photos(
            w.folder, [], w.act(p), placement=Placement(element="S1", spot="1", basis="said")
        ),
    ),
    "tape": (Action.TYPE_READINGS, lambda w, p: add_tape(w.folder, [], w.act(p))),
    "board": (
        Action.ISSUE_BOARD,
        lambda w, p: boards.enter_check_length(w.folder, paper="A4", number=1, measured_mm=200.0, person=p),
    ),
    "answer": (Action.ANSWER_ITEM, answer),
    "put right": (
        Action.CLOSE_DEFECT,
        lambda w, p: event(w, p, lambda at: PutRight(item="FW-01", by=p, at=at, remark="a test")),
    ),
    "sign round": (
        Action.SIGN_ROUND,
        lambda w, p: event(
            w, p, lambda at: RoundSigned(round=2, by=p, at=at, list_version="0" * 64, revision="B")
        ),
    ),
    "hold": (
        Action.RELEASE_HOLD,
        lambda w, p: event(w, p, lambda at: HoldReleased(item="FW-17", by=p, at=at)),
    ),
    "send order": (Action.ORDER, lambda w, p: orders.send_order(w.folder, w.act(p))),
    "confirm order": (Action.ORDER, lambda w, p: orders.confirm_order(w.folder, {}, w.act(p))),
    "log": (Action.LOG_POUR, lambda w, p: pouring.record_log(w.folder, {"kind": "truck"}, w.act(p))),
    "after": (Action.WRITE_CLOSING, lambda w, p: closing.record_after(w.folder, {"kind": "?"}, w.act(p))),
    "check": (
        Action.RECORD_CHECK,
        lambda w, p: recording.record_check(w.folder, check(w.folder, at=AT), w.act(p)),
    ),
    "clock": (
        Action.PUT_CLOCK_RIGHT,
        lambda w, p: clock.clock_put_right(w.folder, Act(p, AT - timedelta(days=1))),
    ),
    "hand over": (Action.HAND_OVER, lambda w, p: handing_over.hand_over(w.folder, w.act(p))),
    "take back": (Action.HAND_OVER, lambda w, p: handing_over.take_back(w.folder, w.act(p))),
    "remark": (
        Action.REMARK,
        lambda w, p: reviewing.say(w.folder, reviewing.Remark(text="a test"), w.act(p)),
    ),
    "measure": (
        Action.MEASURE,
        lambda w, p: reviewing.measure_personally(
            w.folder, w.folder / "none.jpg", ((0, 0), (1, 1)), "board", w.act(p), what="x", about=ABOUT
        ),
    ),
    "return": (
        Action.RETURN,
        lambda w, p: reviewing.send_back(
            w.folder, reviewing.SentBack(text="a test", about=ABOUT), w.act(p), w.key(p).opened()
        ),
    ),
    "ask spot": (
        Action.ASK_SPOT,
        lambda w, p: reviewing.say(
            w.folder, reviewing.AskedSpot(element="S1", spot="9", text="a test"), w.act(p)
        ),
    ),
    "accept": (
        Action.ACCEPT,
        lambda w, p: accepting.stands(
            w.folder, check(w.folder, at=AT), w.act(p), accept=[accepting.ToAccept("none", "x")], key=w.key(p)
        ),
    ),
    "may release": (Action.RELEASE, lambda w, p: room.may_release(w.folder, p)),
    "bind": (
        Action.RELEASE,
        lambda w, p: room.bind(w.folder, standing(w), w.act(p), heads=None, looked_from=0),
    ),
    "sign": (
        Action.RELEASE,
        lambda w, p: room.sign_here(w.folder, approval(w, p), w.key(p).opened(), w.act(p).at),
    ),
    "hand in": (
        Action.RELEASE,
        lambda w, p: signed_elsewhere.hand_in(w.folder, standing(w), approval(w, p), "", w.act(p)),
    ),
    "refuse": (
        Action.REFUSE,
        lambda w, p: room.refuse(w.folder, standing(w), "a test", w.act(p), w.key(p).opened()),
    ),
    "close": (
        Action.CLOSE,
        lambda w, p: closing.close_record(w.folder, [closing_gap()], w.act(p), w.key(p).opened()),
    ),
    "seal": (Action.SEAL, lambda w, p: seal_by_person(w.folder, w.key(p).opened(), w.act(p).at)),
    "seal elsewhere": (
        Action.SEAL,
        lambda w, p: seal_given_out(w.folder, p, w.folder.parent / f"seal-of-{p}.txt"),
    ),
    "seal handed in": (Action.SEAL, seal_handed),
    "enrol": (
        Action.ENROL_KEY,
        lambda w, p: enrolling.enrol_person(w.folder, p, (), w.key(p), w.act(p), by=w.key("reviewer-1")),
    ),
    "ask to be enrolled": (
        Action.ENROL_KEY,
        lambda w, p: introducing.ask_to_be_enrolled(w.folder, p, w.key(p), w.act(p)),
    ),
    "revoke": (
        Action.REVOKE_KEY,
        lambda w, p: enrolling.revoke_key(w.folder, "nobody-2", "a test", w.key(p), w.act(p).at),
    ),
}
"""What a person tries. What they may do and lacks something else - a file, an order - ends with another error."""


def closing_gap() -> closing.ToClose:
    return closing.ToClose(key="a-test", says="something", who="somebody")


def size(w: World) -> int:
    ledger = Ledger.open(w.folder)
    try:
        return len(ledger.records())
    finally:
        ledger.close()


@pytest.mark.parametrize("person", PEOPLE)
@pytest.mark.parametrize("attempt", ATTEMPTS)
def test_every_cell_is_asked_by_the_function_that_acts(world: World, attempt: str, person: str) -> None:
    action, tries = ATTEMPTS[attempt]
    role = PEOPLE[person]
    before = size(world)
    told = ""
    try:
        tries(world, person)
    except (BadInput, NotAllowed, RecordDamaged) as error:
        told = f"{error.wrong} {error.todo}"
    refused = f"may not {action}" in told
    if role in MAY[action]:
        assert not refused, told
        return
    # Who is on no list of the rounds and who has no role for a key is told so even before the table is asked.
    earlier = "not named for the rounds" in told or "does not name" in told
    # A photo placed is a photo sent first.
    earlier = earlier or (action is Action.PLACE_PHOTO and f"may not {Action.SEND_PHOTOS}" in told)
    # Whose key the record doesn't know is nobody to it.
    assert refused or earlier or "not among the people" in told, told or "it was let through"
    assert size(world) == before


def test_every_action_is_tried() -> None:
    assert {action for action, _ in ATTEMPTS.values()} == set(Action) == set(MAY)


def test_photos_that_arrive_on_the_page_ask_the_table_too(world: World) -> None:
    folder = world.folder
    with pytest.raises(NotAllowed, match="may not send photos"):
        arriving.Arrivals(folder, lambda *_: None).receive([("a.jpg", b"x")], None, "reader-1")


def test_a_refusal_names_those_who_may(world: World) -> None:
    pour = read_pour(world.folder)
    with pytest.raises(NotAllowed) as refused:
        demand(pour, "reader-1", Action.ACCEPT)
    assert refused.value.wrong == "reader-1 is reader of this pour and may not accept a deviation."
    assert refused.value.todo == "These may: eor-1 (engineer of record)."
    assert who_may(pour, Action.RELEASE) == ("reviewer-1", "eor-1")
    assert not may(pour, "", Action.SEE)


def test_somebody_with_two_roles_may_what_either_may(world: World, tmp_path: Path) -> None:
    text = (world.folder / "pour.toml").read_text(encoding="utf-8")
    (tmp_path / "pour.toml").write_text(
        text.replace('["reader-1"]', '["reader-1", "eor-1"]'), encoding="utf-8"
    )
    pour = read_pour(tmp_path)
    assert may(pour, "eor-1", Action.ACCEPT)
    assert may(pour, "eor-1", Action.SEE)


@pytest.mark.parametrize(
    ("kind", "action"),
    [
        ("return", Action.RETURN),
        ("acceptance", Action.ACCEPT),
        ("refusal", Action.REFUSE),
        ("release", Action.RELEASE),
    ],
)
def test_the_record_asks_for_the_same_roles(kind: str, action: Action) -> None:
    assert kinds.KINDS[kind].roles == MAY[action]


def test_whoever_signs_with_an_own_key_may_have_one() -> None:
    own = (
        Action.RELEASE_HOLD,
        Action.RETURN,
        Action.ACCEPT,
        Action.RELEASE,
        Action.REFUSE,
        Action.CLOSE,
        Action.SEAL,
    )
    for action in own:
        assert MAY[action] <= MAY[Action.ENROL_KEY] == set(kinds.ROLES)
    assert set(kinds.ROLES) < set(ROLES)


def test_a_reader_changes_nothing() -> None:
    assert [action for action in Action if "reader" in MAY[action]] == [Action.SEE]


ASKED_ELSEWHERE = {
    "acting.open_record": "opens the record for a function that has asked",
    "acting.record_event": "writes for a function that has asked",
    "closing.sign_closing": "asks for the post that signs, which is finer than a role",
    "pour_card.pour_card": "prints what anybody may see",
    "release_document.release_document": "sets the document of a release that was signed before",
}
"""Function of the pipeline that acts for a person -> why neither it nor one that it hands on to asks the table."""


def test_every_function_that_acts_for_a_person_asks_the_table() -> None:
    acts: dict[str, set[str]] = {}
    for path in sorted((ROOT / "verifier" / "pipeline").rglob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if not isinstance(node, ast.FunctionDef) or node.name.startswith("_"):
                continue
            types = {
                ast.unparse(a.annotation) for a in (*node.args.args, *node.args.kwonlyargs) if a.annotation
            }
            if types & {"Act", "OwnKey", "PersonSigner"}:
                calls = {
                    ast.unparse(c.func).rpartition(".")[2] for c in ast.walk(node) if isinstance(c, ast.Call)
                }
                acts[f"{path.stem}.{node.name}"] = calls
    asking = {name for name, calls in acts.items() if "demand" in calls}
    names = {name.rpartition(".")[2] for name in asking}
    silent = [name for name, calls in acts.items() if name not in asking and not calls & names]
    assert sorted(silent) == sorted(ASKED_ELSEWHERE)
    assert len(asking) > 15


def test_an_error_of_permission_is_one_that_a_person_can_meet() -> None:
    assert issubclass(NotAllowed, VerifierError)
