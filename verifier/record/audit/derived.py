"""Derived pictures: whether each says truly from which records it was drawn. What it shows proves nothing."""

from __future__ import annotations

from .canonical_form import named_objects
from .facts import OPEN, Fact, fact
from .shown import Shown

_FOLDER = "data/derived/"
_INDEX = "data/derived/WHAT-THIS-IS.txt"


def derived_fact(shown: Shown) -> Fact:
    """Say whether each derived picture names an original and a measurement that the records shown hold.

    Args:
        shown: The records, and the bundle that they lie in.

    Returns:
        The fact; open where there is no such picture.
    """
    names = [name for name in shown.bag.names(_FOLDER) if name != _INDEX]
    if not names:
        return Fact("derived pictures", OPEN, "The bundle holds no derived picture.")
    records = {f"record {record['seq']}": record for record in shown.records}
    rows = [line.split("\t") for line in shown.bag.text(_INDEX).splitlines() if "\t" in line]
    told = {_FOLDER + row[0]: row for row in rows if len(row) == 5}
    faults = [f"{name} is in no line of the index" for name in names if name not in told]
    faults += [f"{name} is named and not here" for name in told if name not in names]
    for name, (_, _, brought, drawn, sha256) in told.items():
        photo, measured = records.get(brought), records.get(drawn)
        if photo is None or photo["type"] != "photo" or photo["body"].get("sha256") != sha256:
            faults.append(f"{name}: {brought} does not bring the original that it names")
        if (
            measured is None
            or measured["type"] != "measurement"
            or sha256 not in named_objects(measured["body"])
        ):
            faults.append(f"{name}: {drawn} measures nothing on that original")
    say = (
        f"Pictures named as drawn from originals and measurements of this record: {len(names)}; "
        "such a picture is for reading and proves nothing."
    )
    return fact("derived pictures", faults, say, "A derived picture is not tied to this record.")
