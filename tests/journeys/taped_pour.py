"""A pour whose steel is taped at every spot, made in a moment: for journeys about people and not about photos."""

from __future__ import annotations

import shutil
from datetime import datetime, timedelta
from pathlib import Path

from browser_page import SAMPLE
from small_pour import cover_everywhere, steel_alone

from verifier.pipeline.intake.adding import add_tape
from verifier.pipeline.people.acting import Act
from verifier.pipeline.people.pours import accounts_of
from verifier.record.keys import device_signer

PASSPHRASE = "four plain garden words"
HEADING = "element,layer,what,n_gaps,reading_mm,reading_2_mm,reading_3_mm,instrument,person,time,spot\n"
SPACINGS = (("B1", 150), ("B2", 200))


def taped_pour(place: Path, *, wide_at: str | None = None, people: str = "") -> None:
    """Make the sample's slabs as a pour that is to start tomorrow, with cover and spacing taped an hour ago.

    Args:
        place: Folder to be made.
        wide_at: Spot of S1 whose lower bars lie too wide, None for none.
        people: Further lines of ``[people]``.
    """
    now = datetime.now().astimezone()
    place.mkdir(parents=True)
    for name in ("pour.toml", "boards.toml", "instruments.toml"):
        shutil.copy(SAMPLE / name, place)
    drawing = place / "pour.toml"
    text = drawing.read_text(encoding="utf-8").replace(
        "2026-05-14T06:30:00+02:00", (now + timedelta(days=1)).isoformat(timespec="seconds")
    )
    drawing.write_text(text.replace('id = "L2-east"', f'id = "{place.name}"') + people, encoding="utf-8")
    steel_alone(place)
    act = Act("engineer-1", now - timedelta(hours=1), device_signer(place.parent.parent / "site.key"))
    scratch = place.parent.parent / f"scratch-{place.name}"
    cover_everywhere(place, scratch, act)
    rows = ""
    for element in ("S1", "S2"):
        for layer, spacing in SPACINGS:
            for spot in "1234":
                wide = 20 if (element, layer, spot) == ("S1", "B1", wide_at) else 0
                read = 5 * (spacing + wide)
                rows += f"{element},{layer},mean_spacing,5,{read},{read + 1},{read},tape-II,engineer-1,{act.at:%Y-%m-%d %H:%M},{spot}\n"
    file = scratch / "spacing.csv"
    file.write_text(HEADING + rows, encoding="utf-8")
    (added,) = add_tape(place, [file], act)
    assert added.in_record, added


def with_accounts(home: Path, *people: str) -> None:
    """Make accounts, all with the passphrase of these tests.

    Args:
        home: The folder of pours.
        people: Names.
    """
    book = accounts_of(home)
    for name in people:
        book.add(name, PASSPHRASE, datetime.now().astimezone())
