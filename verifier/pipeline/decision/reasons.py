"""Reasons that follow from the evidence itself: photos, files, the record, open points of the drawing."""

from __future__ import annotations

from collections.abc import Sequence

from verifier.photo.observations import Observation
from verifier.pipeline.folder.evidence import Evidence, damaged
from verifier.pipeline.measurement.photos import PhotoEntry
from verifier.release.reason import Reason
from verifier.rules.placing import Superseded
from verifier.rules.spacing import OpenPoint
from verifier.wording import counted


def reasons_of_photos(photos: Sequence[PhotoEntry]) -> tuple[Reason, ...]:
    """Say what is wrong with the photos.

    Args:
        photos: All photos of the pour.

    Returns:
        A photo with an observation that must be answered stops the pour, if anything rests on it; a refused or unplaced
        photo is a caution, unless a usable one of its spot is there.
    """
    there = {
        (p.original.placement.element, p.original.placement.spot) for p in photos if p.state == "counted"
    }
    found: list[Reason] = []
    for p in photos:
        name = p.original.name
        place = (p.original.placement.element, p.original.placement.spot)
        if p.state == "counted" and p.intake is not None:
            found += [
                Reason(
                    key=f"photo/{p.original.sha256[:12]}/{o.key.value}",
                    room="evidence",
                    weight="stops",
                    kind="place-or-time",
                    says=f"{name}: {o.says} {_against_limit(o)}",
                    clears=o.todo,
                    about=(name,),
                )
                for o in p.intake.warnings
            ]
        elif p.state == "damaged":
            found.append(damaged(p.original))
        elif p.state == "refused" and place not in there:
            found.append(_refused(p))
        elif p.state == "unplaced":
            found.append(
                _know(f"photo/{p.original.sha256[:12]}/unplaced", p.remarks[0], "Say element and spot.", name)
            )
    return (*found, *_claimed_by_names(photos))


def _against_limit(o: Observation) -> str:
    found, limit = f"{o.value} {o.unit}".strip(), f"{o.limit} {o.unit}".strip()
    return f"Found {found}, limit {limit}."


def _claimed_by_names(photos: Sequence[PhotoEntry]) -> tuple[Reason, ...]:
    """One caution for all photos whose place only their file names tell."""
    names = [p.original.name for p in photos if p.original.placement.basis == "file name"]
    if not names:
        return ()
    says = f"Element and spot of {counted(len(names), 'photo')} are read from file names: {_some(names)}."
    return (_know("photo/file-names", says, "See on the photos that the names are right.", ", ".join(names)),)


def _refused(p: PhotoEntry) -> Reason:
    why = p.seen.refusals[0] if p.seen.refusals else None
    because = f": {why.reason.replace('-', ' ')}" if why else ""
    return _know(
        f"photo/{p.original.sha256[:12]}/refused",
        f"{p.original.name} could not be measured{because}.",
        why.say if why else "Take it again.",
        p.original.name,
    )


def _know(key: str, says: str, clears: str, about: str) -> Reason:
    return Reason(
        key=key, room="evidence", weight="caution", kind="to-know", says=says, clears=clears, about=(about,)
    )


def reasons_of_record(evidence: Evidence) -> tuple[Reason, ...]:
    """Say which evidence is not in the record yet, and which records somebody wrote around its rules.

    Args:
        evidence: All files of evidence.

    Returns:
        A stop where a record has no right to be there; one condition where loose files are counted.
    """
    around = tuple(
        Reason(
            key=f"record/{seq}/unfit",
            room="evidence",
            weight="stops",
            kind="evidence-damaged",
            says=f"Record {seq} was written around the rules of the record: {why}.",
            clears="Keep the folder as it is, find out who could write to it, and go on from a copy made before.",
        )
        for seq, why in evidence.unfit
    )
    return (*around, *_loose_files(evidence))


def _loose_files(evidence: Evidence) -> tuple[Reason, ...]:
    loose = [o.name for o in (*evidence.photos, *evidence.tapes) if not o.in_record]
    if not loose:
        return ()
    return (
        Reason(
            key="record/loose",
            room="evidence",
            weight="condition",
            kind="not-done",
            says=f"{counted(len(loose), 'file')} not yet in the record: {_some(loose)}.",
            clears="Send them, so that the record holds them and nobody can change them unseen.",
            command="verifier add FOLDER photos/, verifier tape FOLDER FILE.csv",
            about=tuple(loose),
        ),
    )


def reasons_of_boards(photos: Sequence[PhotoEntry]) -> tuple[Reason, ...]:
    """Say which printed boards nobody has checked with a rule.

    Args:
        photos: All photos of the pour.

    Returns:
        One condition where a photo that counts rests on an unchecked print.
    """
    names = [
        p.original.name
        for p in photos
        if p.state == "counted" and any("check length" in caution for caution in p.seen.cautions)
    ]
    if not names:
        return ()
    numbers = sorted(
        {str(p.seen.board.number) for p in photos if p.original.name in names and p.seen.board is not None}
    )
    return (
        Reason(
            key="board/unchecked",
            room="evidence",
            weight="condition",
            kind="not-done",
            says=f"The check length of board {', '.join(numbers)} has not been measured: a wrong print scale would shift every gap.",
            clears="Measure the check line of the board with a steel rule and enter it.",
            command="verifier board --number N --measured MM --pour FOLDER",
            about=tuple(names),
        ),
    )


def reasons_of_open_points(points: Sequence[OpenPoint], notes: Sequence[OpenPoint]) -> tuple[Reason, ...]:
    """Bring in what nobody has settled, and where the drawing asks less than the code.

    Args:
        points: What can't be judged for lack of a limit; each stops the pour.
        notes: What the engineer of record should know; each is a caution.

    Returns:
        The reasons.
    """
    open_points = tuple(
        Reason(
            key=f"{p.element}/{p.layer}/open",
            room="findings",
            weight="stops",
            kind="not-decided",
            says=p.says,
            clears=p.clears,
            owner="engineer of record",
        )
        for p in points
    )
    told = tuple(
        Reason(
            key=f"{n.element}/{n.layer}/drawing/{i}",
            room="findings",
            weight="caution",
            kind="to-know",
            says=n.says,
            clears=n.clears,
            owner="engineer of record",
        )
        for i, n in enumerate(notes)
    )
    return open_points + told


def reasons_of_superseded(gone: Sequence[Superseded]) -> tuple[Reason, ...]:
    """Keep in sight that earlier evidence of a spot was replaced.

    Args:
        gone: Measurements whose place a newer photo took.

    Returns:
        One caution for each photo or tape file replaced.
    """
    pairs = dict.fromkeys(
        (s.measurement.trace.original_name, s.by_name, s.measurement.element, s.measurement.spot)
        for s in gone
    )
    return tuple(
        _know(
            f"superseded/{old}/{new}",
            f"{element}, spot {spot}: {new} has taken the place of {old}; the older values stay in view.",
            "See on the two photos that it is the same place and what was corrected.",
            old,
        )
        for old, new, element, spot in pairs
    )


def reasons_of_remarks(remarks: Sequence[str]) -> tuple[Reason, ...]:
    """Bring in remarks, so that nothing is skipped in silence.

    Args:
        remarks: What was found and not used, in words.

    Returns:
        One caution each.
    """
    return tuple(_know(f"remark/{i}", text, "Look at it.", "") for i, text in enumerate(remarks))


def _some(names: Sequence[str], most: int = 4) -> str:
    shown = ", ".join(names[:most])
    return shown + (f" and {len(names) - most} more" if len(names) > most else "")
