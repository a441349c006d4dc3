"""The pour card: one page, also where everything is open; what doesn't fit is counted."""

from __future__ import annotations

import io
import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest
from pyhanko.pdf_utils.reader import PdfFileReader

from verifier.pipeline.decision.check import check
from verifier.pipeline.inspection.round_entries import record_answers
from verifier.pipeline.papers.pour_card import pour_card
from verifier.pipeline.people.acting import Act
from verifier.record.keys import device_signer
from verifier.rounds.answers import Answer, Word
from verifier.rounds.items import load_list

SAMPLE = Path(__file__).parents[2] / "sample_images"
AT = datetime(2026, 5, 13, 16, 0, tzinfo=UTC)


@pytest.mark.parametrize("defects", [0, 30])
def test_the_card_is_one_page_even_with_thirty_defects(tmp_path: Path, defects: int) -> None:
    pour = tmp_path / "pour"
    pour.mkdir()
    shutil.copy(SAMPLE / "pour.toml", pour / "pour.toml")
    act = Act("engineer-1", AT, device_signer(tmp_path / "device.key"))
    items = [i for i in load_list().item if 2 in i.rounds][:defects]
    bad = [
        Answer(
            item=i.id, round=2, word=Word.NOT_CONFORMING, by=act.person, at=AT, remark="seen at " + "x" * 300
        )
        for i in items
    ]
    if bad:
        record_answers(pour, bad, act)
    checked = check(pour, at=AT)
    assert sum(r.kind == "non-conforming" for r in checked.decision.reasons) == defects
    pdf = PdfFileReader(io.BytesIO(pour_card(pour, checked, act)))
    assert pdf.root["/Pages"]["/Count"] == 1
