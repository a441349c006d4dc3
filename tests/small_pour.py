"""The sample's drawing values as those of a small pour whose tests are about steel and record alone.

Rounds are set off with a reason and the concrete is mixed on site, so that neither hold points nor an order stop it.
"""

from __future__ import annotations

from pathlib import Path

from verifier.pipeline.intake.adding import add_tape
from verifier.pipeline.people.acting import Act

SET_OFF = (
    '[pour.rounds]\nwalk = []\nbecause = "a test of the steel alone"\n\n[pour.concrete]\nsupply = "site"\n'
)
HEADING = "element,layer,what,reading_mm,reading_2_mm,reading_3_mm,instrument,person,time,spot\n"


def steel_alone(folder: Path) -> None:
    """Let pour.toml say that no round is walked and no concrete is ordered.

    Args:
        folder: A folder with the sample's pour.toml.
    """
    path = folder / "pour.toml"
    text = path.read_text(encoding="utf-8")
    assert text.count("[pour.concrete]\n") == 1
    path.write_text(text.replace("[pour.concrete]\n", SET_OFF), encoding="utf-8")


def cover_file(place: Path, act: Act) -> Path:
    """Write a file with a cover reading at every spot of the sample's two slabs.

    Args:
        place: Folder to write it into; made if it is not there.
        act: Who reads, and when.

    Returns:
        The file.
    """
    when = f"{act.at:%Y-%m-%d %H:%M}"
    rows = "".join(
        f"S{e},B1,cover,22,22,23,steel-rule,{act.person},{when},{s}\n" for e in (1, 2) for s in (1, 2, 3, 4)
    )
    place.mkdir(exist_ok=True)
    path = place / "cover-everywhere.csv"
    path.write_text(HEADING + rows, encoding="utf-8")
    return path


def cover_everywhere(folder: Path, scratch: Path, act: Act) -> None:
    """Add a cover reading at every spot of the sample's two slabs.

    Args:
        folder: The pour folder.
        scratch: Where the file of readings may be written.
        act: Who reads, and when.
    """
    (added,) = add_tape(folder, [cover_file(scratch, act)], act)
    assert added.in_record, added
