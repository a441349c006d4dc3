"""Photos on their way into the record: kept on disk at once, then taken in one by one while the person goes on working.

FOLDER/drafts/photos/NUMBER/   one photo that has arrived and is not yet in the record, with what was said about it

What lies there is taken in even if the page was closed, the connection dropped or the machine started anew in between.
"""

from __future__ import annotations

import logging
import shutil
import time
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from queue import SimpleQueue
from threading import Condition, Thread
from typing import Literal

from pydantic import AwareDatetime, BaseModel

from verifier.drawing.read import read_pour
from verifier.errors import VerifierError
from verifier.metrology.conformity import DecisionRule
from verifier.pipeline.folder.asked import asked_of
from verifier.pipeline.folder.evidence import Original, Placement
from verifier.pipeline.intake.adding import Added, add_photos
from verifier.pipeline.measurement.measuring import WORKERS, StandingWorkers
from verifier.pipeline.measurement.photos import PhotoEntry, placed
from verifier.pipeline.measurement.pictures import keep_pictures
from verifier.pipeline.people.acting import Act, open_record
from verifier.pipeline.people.permissions import Action, demand
from verifier.pipeline.review.reviewing import say
from verifier.pipeline.review.said import About, Remark, review_of
from verifier.record.ledger import Ledger
from verifier.rules.finding import Finding
from verifier.rules.judge import findings_of
from verifier.vision.photo_measurement import PhotoMeasurement

WAITING = Path("drafts") / "photos"
SAID_FILE = "said.json"
TOLD_AT_MOST = 200
"""So many answered photos are remembered; the record has them all."""

State = Literal["waiting", "measuring", "answered", "not taken", "held"]


class Answering(BaseModel, frozen=True, extra="forbid"):
    """The word of the review that a photo answers, by the number of its record, and what is said with it."""

    record: int
    text: str


class Said(BaseModel, frozen=True, extra="forbid"):
    """What was said about a photo when it arrived."""

    person: str
    received_at: AwareDatetime
    placement: Placement | None = None
    answers: Answering | None = None


@dataclass(frozen=True, slots=True)
class Arrival:
    """One photo and how far it has come.

    Attributes:
        number: In the order of arrival.
        name: As received, without any folder.
        person: Who sent it.
        state: ``not taken`` is no readable photo; ``held`` could not be recorded now and stays here to be tried again.
        says: What became of it, where there is no entry.
        entry: The photo with what was measured in it.
        findings: What it says by itself of the drawing's requirements, worst first; the check weighs it with all others.
        seconds: From arrival to answer.
    """

    number: int
    name: str
    person: str
    state: State
    says: str = ""
    entry: PhotoEntry | None = None
    findings: tuple[Finding, ...] = ()
    seconds: float | None = None

    @property
    def done(self) -> bool:
        """Whether nothing more will be heard of it without a person."""
        return self.state in ("answered", "not taken", "held")


class Arrivals:
    """All photos on their way into the record of one pour, for every visitor of the page alike."""

    def __init__(self, folder: Path, measure: StandingWorkers, *, threads: int = WORKERS) -> None:
        self._folder = folder
        self._measure = measure
        self._threads = threads
        self._changed = Condition()
        self._queue: SimpleQueue[int] = SimpleQueue()
        self._photos: dict[int, Arrival] = {}
        self._begun: dict[int, float] = {}
        self._undrawn: list[PhotoMeasurement] = []
        self._working = 0
        self._next = 1
        self._resume()

    def receive(
        self,
        files: Iterable[tuple[str, bytes]],
        placement: Placement | None,
        person: str,
        answers: Answering | None = None,
    ) -> None:
        """Keep photos on disk and take them in.

        Args:
            files: Name and bytes of each; the next is asked for once the one before is kept.
            placement: What all of them show, None where file names, boards or a later word tell.
            person: Who sends them.
            answers: What of the review they answer; said in the record once a photo is in it.

        Raises:
            BadInput: If the pour's file can't be read, or the record can't be written.
            NotAllowed: If the person may not send photos.
            OSError: If the disk is full; photos before the one that did not fit are on their way.
        """
        now = datetime.now().astimezone()
        said = Said(person=person, received_at=now, placement=placement, answers=answers)
        pour = read_pour(self._folder)
        demand(pour, person, Action.SEND_PHOTOS)
        open_record(
            self._folder, pour, Act(person, said.received_at)
        ).close()  # once, before several threads do
        for name, data in files:
            with self._changed:
                number, self._next = self._next, self._next + 1
            place = self._folder / WAITING / f"{number:06d}"
            fresh = place.with_name(f".{place.name}")
            shutil.rmtree(fresh, ignore_errors=True)
            fresh.mkdir(parents=True)
            (fresh / file_name(name, number)).write_bytes(data)
            (fresh / SAID_FILE).write_text(said.model_dump_json(), encoding="utf-8")
            fresh.rename(place)  # in one step: a photo that is half there is not there
            self._enqueue(number, file_name(name, number), person)

    def photos(self) -> tuple[Arrival, ...]:
        """All photos since the list was last cleared, in the order of arrival."""
        with self._changed:
            return tuple(self._photos[n] for n in sorted(self._photos))

    def busy(self) -> bool:
        """Whether photos are being taken in."""
        return any(not a.done for a in self.photos())

    def clear(self) -> None:
        """Take answered photos off the list; those held stay."""
        with self._changed:
            self._photos = {n: a for n, a in self._photos.items() if a.state not in ("answered", "not taken")}

    def again(self) -> None:
        """Try those that are held once more."""
        for arrival in self.photos():
            if arrival.state == "held":
                self._enqueue(arrival.number, arrival.name, arrival.person)

    def wait(self, timeout_s: float) -> bool:
        """Wait until nothing is on its way.

        Args:
            timeout_s: Longest time to wait, s.

        Returns:
            True if all are answered.
        """
        with self._changed:
            return self._changed.wait_for(lambda: all(a.done for a in self._photos.values()), timeout_s)

    def at_rest(self, timeout_s: float) -> bool:
        """Wait until all are answered and their pictures are drawn, too.

        Args:
            timeout_s: Longest time to wait, s.

        Returns:
            True if nobody works any more.
        """
        with self._changed:
            return self._changed.wait_for(lambda: self._working == 0, timeout_s)

    def _resume(self) -> None:
        """Take up what was left when the page was last stopped."""
        places = sorted((self._folder / WAITING).glob("[0-9]*")) if (self._folder / WAITING).is_dir() else []
        for place in places:
            number = int(place.name)
            self._next = max(self._next, number + 1)
            name = next((p.name for p in place.iterdir() if p.name != SAID_FILE), None)
            if name is not None and (place / SAID_FILE).is_file():
                said = Said.model_validate_json((place / SAID_FILE).read_bytes())
                self._enqueue(number, name, said.person)

    def _enqueue(self, number: int, name: str, person: str) -> None:
        with self._changed:
            self._photos[number] = Arrival(number, name, person, "waiting")
            self._begun[number] = time.monotonic()
            self._queue.put(number)
            if self._working < self._threads:
                self._working += 1
                Thread(target=self._work, name=f"arrivals-{self._working}", daemon=True).start()

    def _work(self) -> None:
        while True:
            with self._changed:
                if not self._queue.empty():
                    number = self._queue.get()
                    self._photos[number] = replace(self._photos[number], state="measuring")
                elif self._undrawn:
                    number, seen = None, self._undrawn.pop(0)
                else:
                    self._working -= 1
                    self._changed.notify_all()
                    return
            if number is None:
                self._draw(seen)
                continue
            answer = self._taken_in(self._photos[number])
            with self._changed:
                seconds = time.monotonic() - self._begun.pop(number)
                self._photos[number] = replace(answer, seconds=seconds)
                if answer.entry is not None:
                    self._undrawn.append(answer.entry.seen)
                for old in sorted(self._photos)[:-TOLD_AT_MOST]:
                    if self._photos[old].state in ("answered", "not taken"):
                        del self._photos[old]
                self._changed.notify_all()

    def _draw(self, seen: PhotoMeasurement) -> None:
        """Once everybody has an answer: the reviewer's pictures, so that nobody waits for them later."""
        try:
            ledger = Ledger.open(self._folder)
            try:
                keep_pictures([(ledger.store.objects.path_of(seen.photo.sha256), seen)])
            finally:
                ledger.close()
        except Exception:  # it is drawn when somebody looks at it; the log has the trace
            logging.getLogger("arrivals").exception("the pictures of a photo could not be drawn")

    def _taken_in(self, arrival: Arrival) -> Arrival:
        place = self._folder / WAITING / f"{arrival.number:06d}"
        try:
            said = Said.model_validate_json((place / SAID_FILE).read_bytes())
            act = Act(said.person, datetime.now().astimezone())
            added = add_photos(
                self._folder, [place / arrival.name], act, placement=said.placement, measure=self._measure
            )[0]
            answer = self._answered(arrival, added, said)
            if added.in_record and said.answers is not None:
                self._reply(added, said.answers, act)
        except VerifierError as error:
            return replace(arrival, state="held", says=f"{error.wrong} {error.todo}")
        except OSError as error:
            return replace(arrival, state="held", says=f"It could not be recorded ({error.strerror}).")
        except (
            Exception
        ) as error:  # one photo must not stop the others; it stays on disk, the log has the trace
            logging.getLogger("arrivals").exception("a photo could not be taken in")
            return replace(arrival, state="held", says=f"It could not be recorded ({type(error).__name__}).")
        shutil.rmtree(place, ignore_errors=True)
        return answer

    def _reply(self, added: Added, answers: Answering, act: Act) -> None:
        """Say in the record which word of the review this photo answers; a photo sent twice answers once."""
        if any(
            isinstance(e.word, Remark)
            and e.word.answers == answers.record
            and e.word.about.original_sha256 == added.sha256
            for e in review_of(self._folder).entries
        ):
            return
        placed_at = added.placement
        marks = read_pour(self._folder).marks
        about = About(
            original_sha256=added.sha256,
            element=placed_at.element if placed_at.element in marks else None,
            spot=placed_at.spot,
        )
        say(self._folder, Remark(text=answers.text, about=about, answers=answers.record), act)

    def _answered(self, arrival: Arrival, added: Added, said: Said) -> Arrival:
        if not added.in_record or added.seen is None or added.sha256 is None:
            return replace(arrival, state="not taken", says=added.says)
        pour, asked = asked_of(self._folder)
        original = Original(
            kind="photo",
            name=added.name,
            sha256=added.sha256,
            path=self._folder,  # where it lies is the store's business and of no use here
            placement=added.placement,
            received_at=said.received_at,
            person=said.person,
        )
        entry, found = placed(PhotoEntry(original=original, intake=added.intake, seen=added.seen), pour)
        findings, _ = findings_of(asked, found, (), rule=DecisionRule())
        judged = tuple(f for f in findings if f.measured and not f.indication)
        return replace(arrival, state="answered", says=added.says, entry=entry, findings=judged)


def file_name(name: str, number: int) -> str:
    """The name of a photo as sent, without any folder; one too long for the disk is cut in front of its ending.

    Args:
        name: As the browser tells it.
        number: Used where nothing of the name is left.

    Returns:
        A name for one file.
    """
    plain_name = name.replace("\\", "/").rsplit("/", 1)[-1].replace("\0", "")
    if plain_name in ("", ".", "..", SAID_FILE):
        return f"photo-{number}"
    stem, dot, ending = plain_name.rpartition(".")
    while len(plain_name.encode()) > 200 and len(stem) > 1:
        stem = stem[:-1]
        plain_name = f"{stem}{dot}{ending}"
    return plain_name
