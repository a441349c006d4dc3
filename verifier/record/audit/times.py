"""Time stamps, issued boards, and the bracket of time around each photo."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from .canonical_form import unbase64
from .facts import FAILS, HOLDS, OPEN, Bracket, Fact, fact
from .policy import BOARD_IDS_NEEDED, CLOCK_MAY_BE_OFF_S
from .shown import Shown
from .timestamp import read_token
from .tree import read_head

NO_BOARD = "nothing: no board issued from this record is seen in it"
BOARD_BY_STAMP = "the board in it was made after this time stamp"
BOARD_BY_CLOCK = "the board in it was made after this, by a device's clock"
STAMPED = "time stamp over its record"
RECEIVED = "receipt, by a device's clock"
UNVOUCHED = ", by an authority that nobody vouched for here"
"""What bounds the time of a photo, as its bracket says it."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """A sound time stamp: recorded as number ``seq``, it says that ``size`` records existed at ``instant`` (UTC).

    ``trusted`` tells whether the checker vouches for the authority; if not, anybody may have played one.
    """

    seq: int
    size: int
    instant: str
    authority: str
    trusted: bool


def stamps_of(shown: Shown, trusted: Sequence[bytes]) -> tuple[Fact, list[Stamp]]:
    """Check every time stamp in a bundle.

    Args:
        shown: The records.
        trusted: Certificates (PEM) of authorities that the checker trusts; if none, those in the bundle are used.

    Returns:
        The fact about them, and the sound ones.
    """
    bag = shown.bag
    places = {digest: name for name, digest in bag.sha256.items()}
    asked = [(record["seq"], record["body"]) for record in shown.records if record["type"] == "token"]
    if "data/tokens/head.tsr" in bag.sha256:
        beside = {
            "response_sha256": bag.sha256["data/tokens/head.tsr"],
            "chain_sha256": bag.sha256.get("data/tokens/head-chain.pem"),
        }
        asked.append((len(shown.records) + 1, {"checkpoint": shown.checkpoint, **beside}))
    if not asked:
        return Fact(
            "time stamps", OPEN, "No time stamp by an authority; times rest on the clocks of devices."
        ), []
    faults, stamps = [], []
    for seq, body in asked:
        response = bag.read(places.get(str(body.get("response_sha256")), ""))
        chain = bag.read(places.get(str(body.get("chain_sha256")), ""))
        head = read_head(str(body.get("checkpoint")))
        try:
            instant, authority = read_token(
                response, str(body.get("checkpoint")).encode(), trusted or [chain]
            )
        except ValueError as error:
            faults.append(f"record {seq}: {error}")
            continue
        if head is None or not shown.belongs(head.size, head.root):
            faults.append(f"record {seq}: the head stamped is not of this record")
        else:
            stamps.append(Stamp(seq, head.size, instant, authority, bool(trusted)))
    if faults:
        return Fact("time stamps", FAILS, "A time stamp does not hold.", tuple(faults)), stamps
    details = tuple(f"{s.instant}: records 1 to {s.size} existed, says {s.authority}" for s in stamps)
    if not trusted:
        say = (
            "Time stamps fit, but the authority's certificate came with the bundle, and anybody can make one. "
            "Name the certificate of an authority that you trust."
        )
        return Fact("time stamps", OPEN, say, details), stamps
    return Fact(
        "time stamps", HOLDS, "Time stamps are sound, of an authority that you trust.", details
    ), stamps


def clocks_fact(shown: Shown, stamps: Sequence[Stamp]) -> Fact:
    """Hold the times that devices claim against the time stamps around them.

    What lies under a stamp existed by its instant, and what was recorded after it did not exist before: a clock that says
    otherwise was wrong or was set wrong on purpose.

    Args:
        shown: The records.
        stamps: Sound time stamps.

    Returns:
        The fact.
    """
    if not stamps:
        return Fact("device clocks", OPEN, "No time stamp holds the clocks of devices to account.")
    faults = []
    for record in shown.records:
        seq, claims = record["seq"], str(record["at"])
        later = min((s.instant for s in stamps if s.size >= seq), default=None)
        earlier = max((s.instant for s in stamps if s.seq < seq), default=None)
        if later is not None and claims > _moved(later, CLOCK_MAY_BE_OFF_S):
            faults.append(f"record {seq} claims {claims}, but a time stamp shows that it existed at {later}")
        if earlier is not None and claims < _moved(earlier, -CLOCK_MAY_BE_OFF_S):
            faults.append(f"record {seq} claims {claims}, but stands behind a time stamp of {earlier}")
    say = f"No device's clock contradicts a time stamp by more than {CLOCK_MAY_BE_OFF_S // 60} minutes."
    if not faults and not all(stamp.trusted for stamp in stamps):
        return Fact("device clocks", OPEN, f"{say} You vouch for no authority, so this proves little.")
    return fact("device clocks", faults, say, "Times claimed in the record contradict a time stamp.")


def _moved(instant: str, seconds: int) -> str:
    form = "%Y-%m-%dT%H:%M:%SZ"
    return (datetime.strptime(instant, form) + timedelta(seconds=seconds)).strftime(form)  # noqa: DTZ007 - UTC by form


def bracket(
    photo: Mapping[str, Any], records: Sequence[Mapping[str, Any]], stamps: Sequence[Stamp]
) -> Bracket:
    """Bound the time of a photo from both sides.

    The markers of an issued board follow from a head, so a photo that shows them is younger than that head; and a photo is
    older than the first stamp over its record. Bounds by a device's clock are named as such.

    Args:
        photo: The photo's record.
        records: All records shown.
        stamps: Sound time stamps.

    Returns:
        The bracket.
    """
    body = photo["body"]
    measured = _measured_in(photo, records)
    sizes = [
        record["body"]["head"]["size"]
        for record in records
        if record["type"] == "board"
        and isinstance(record["body"].get("head"), dict)
        and isinstance(record["body"]["head"].get("size"), int)
        and any(_shows(told, record) for told in measured)
    ]
    clocks = {record["seq"]: str(record["at"]) for record in records}
    before, before_by = None, NO_BOARD
    below, above = False, False
    if sizes:
        size = max(sizes)
        earlier = [stamp for stamp in stamps if stamp.seq <= size]
        if earlier:
            stamp = max(earlier, key=lambda one: one.instant)
            before, before_by = stamp.instant, BOARD_BY_STAMP + _vouched(stamp)
            below = stamp.trusted
        elif known := [seq for seq in clocks if seq <= size]:
            # In a part of a record an earlier record stands in for the one that the board follows from.
            before, before_by = clocks[max(known)], BOARD_BY_CLOCK
    later = [stamp for stamp in stamps if stamp.size >= photo["seq"]]
    after, after_by = str(photo["at"]), RECEIVED
    if later:
        stamp = min(later, key=lambda one: one.instant)
        after, after_by = stamp.instant, STAMPED + _vouched(stamp)
        above = stamp.trusted
    return Bracket(
        seq=int(photo["seq"]),
        name=str(body.get("name", "")),
        sha256=str(body.get("sha256", "")),
        not_before=before,
        not_before_by=before_by,
        not_after=after,
        not_after_by=after_by,
        claims=body.get("claims") or {},
        stamped=below and above,
        impossible=any(size >= photo["seq"] for size in sizes),
    )


def _vouched(stamp: Stamp) -> str:
    return "" if stamp.trusted else UNVOUCHED


def _measured_in(photo: Mapping[str, Any], records: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """What was measured in the bytes of a photo; what its own record may say of boards is nobody's measurement."""
    digest = photo["body"].get("sha256")
    return [
        record["body"]
        for record in records
        if record["type"] == "measurement" and digest and record["body"].get("sha256") == digest
    ]


def _shows(measured: Mapping[str, Any], board: Mapping[str, Any]) -> bool:
    """Whether the markers of an issued board were seen in their places on one board in a picture.

    Markers gathered from several boards prove nothing: a picture of every standing board shows every marker there is.
    Records from before boards were told apart name markers only.
    """
    issued = board["body"]
    told = measured.get("boards_seen")
    if told is None:
        told = [{"number": issued.get("number"), "ids": measured.get("ids_seen")}]
    return isinstance(told, list) and any(
        isinstance(one, dict)
        and one.get("number") == issued.get("number")
        and one.get("pour", board["pour"]) == board["pour"]
        and len(_whole_numbers(one.get("ids")) & _whole_numbers(issued.get("ids"))) >= BOARD_IDS_NEEDED
        for one in told
    )


def _whole_numbers(told: Any) -> set[int]:
    return {i for i in told if isinstance(i, int)} if isinstance(told, list) else set()


def bracket_fact(brackets: Sequence[Bracket]) -> Fact:
    """Say for how many photos the time is bounded from both sides.

    Args:
        brackets: One for each photo.

    Returns:
        The fact.
    """
    if not brackets:
        return Fact("time brackets", OPEN, "The records shown hold no photo.")
    crossed = [
        f"{b.name}: from {b.not_before} to {b.not_after}"
        for b in brackets
        if b.impossible or (b.not_before or "") > (b.not_after or "")
    ]
    if crossed:
        return Fact(
            "time brackets", FAILS, "A photo shows a board made after the photo was received.", tuple(crossed)
        )
    closed = sum(b.not_before is not None for b in brackets)
    details = tuple(
        f"{b.name}: not before {b.not_before or '?'} ({b.not_before_by}), not after {b.not_after} ({b.not_after_by})"
        for b in brackets
    )
    stamped = sum(b.stamped for b in brackets)
    state = HOLDS if stamped == len(brackets) else OPEN
    say = (
        f"Photos bounded in time from both sides: {closed} of {len(brackets)}, {stamped} of them by time stamps of an authority "
        "that you trust; that a board is seen in a photo is what the record says, unless it is measured again."
    )
    return Fact("time brackets", state, say, details)


def board_fact(shown: Shown, derive: Callable[[str, str, int], Sequence[int]] | None) -> Fact:
    """Say whether the marker ids of issued boards follow from heads of this record.

    Args:
        shown: The records.
        derive: Root in base64, pour id, board number -> marker ids; None if it isn't at hand.

    Returns:
        The fact.
    """
    issued = [r for r in shown.records if r["type"] == "board" and isinstance(r["body"].get("head"), dict)]
    if not issued:
        return Fact(
            "boards",
            OPEN,
            "No board was issued from a head of this record: nothing bounds photos from below.",
        )
    faults = []
    for record in issued:
        body, head = record["body"], record["body"]["head"]
        if not shown.belongs(head.get("size"), unbase64(head.get("root"))):
            faults.append(f"record {record['seq']}: the board's head is not of this record")
        elif derive and list(derive(head["root"], record["pour"], body["number"])) != list(
            body.get("ids") or ()
        ):
            faults.append(f"record {record['seq']}: the marker ids do not follow from the head")
    if derive is None and not faults:
        return Fact(
            "boards",
            OPEN,
            "Boards name heads of this record; that their ids follow from them was not recomputed.",
        )
    say = "The marker ids of every issued board follow from a head of this record."
    return fact("boards", faults, say, "A board was not issued from this record.")
