"""A heading stays on the page of what follows it, wherever on the page it comes to stand: common practice of setting, no source.

Each document is set with more and more lines in front of its headings, so that they move down over the foot of a page, and read
back by poppler.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from verifier.report.sheet import FindingLine, HeadLine, Line, PersonLine, PhotoLine, ReleaseSheet, Table
from verifier.report.story import EventLine, StorySheet, story_pdf
from verifier.report.typeset import release_pdf

AT = datetime(2026, 5, 13, tzinfo=UTC)
HEAD = HeadLine(short="AAAA-AAAA", size=3, root="root", note="note\n")
LONG = "; ".join(["a version of the drawing values came into force"] * 9)
PEOPLE = tuple(
    PersonLine(name=f"person-{n}", role="reviewer", did=did, known_by="own key")
    for n, did in enumerate(("a device joined", LONG, "a photo was received"))
)
LEAST_LINES = 2
"""Of a table its headings and a row; of people a name and what they are."""


def story(lines: int) -> bytes:
    events = tuple(
        EventLine(seq=n, at="2026-05-13 17:00", who="engineer-1", how_known="own key", what="a photo came", about="S1")
        for n in range(5)
    )  # fmt: skip
    sheet = StorySheet(
        pour="L2",
        title="L2",
        lead=(("Records", "3"),),
        head=HEAD,
        statement="statement",
        questions=(),
        limits=tuple(f"line {n}" for n in range(lines)),
        originals=(),
        people=PEOPLE,
        events=events,
    )
    return story_pdf(sheet, AT)


def finding(n: int, verdict: str) -> FindingLine:
    return FindingLine(
        place=f"S1 B1, spot {n}", asked="single gap", limits="130 to 170 mm", source="the drawing",
        measured="151.0 ± 2.0 mm", probability="0.99", verdict=verdict,
    )  # fmt: skip


def release(lines: int) -> bytes:
    words = {"pour": "L2", "title": "L2", "answer_words": "Go", "decided_at": "now", "valid_until": "then"}
    sheet = ReleaseSheet(
        **words,
        answer="go_with_conditions",
        cautions=tuple(Line(says=f"caution {n}") for n in range(lines)),
        findings=tuple(finding(n, "inconclusive" if n < 6 else "conforming") for n in range(12)),
        photos=tuple(
            PhotoLine(name=f"p{n}.jpg", sha256="0" * 64, shows="S1", not_before="1", not_after="2", bounds="clock", claims="none")
            for n in range(5)
        ),
        people=PEOPLE,
        tables=(Table(title="Concrete order", columns=("What", "Value"), rows=(("Mix", "M25\nof the plant"),) * 4),),
        head=HEAD,
        statement="statement",
    )  # fmt: skip
    return release_pdf(sheet, b"{}\n", AT)


HEADINGS = {
    story: {"What is proven, and what is not", "What no record can prove", "People", "What happened", "How to check"},
    release: {
        "Cautions",
        "The record behind this sheet",
        "Findings that are open, worst first",
        "Findings that conform",
        "Sources of what is asked",
        "Originals and their time",
        "People",
        "Concrete order",
        "How to check this sheet",
    },
}  # fmt: skip


def pages(pdf: bytes, place: Path) -> Iterator[list[str]]:
    """Lines of each page without its header and footer."""
    place.write_bytes(pdf)
    done = subprocess.run(["pdftotext", "-layout", str(place), "-"], capture_output=True, text=True, check=True)  # fmt: skip
    for page in done.stdout.split("\f")[:-1]:
        yield [line.strip() for line in page.splitlines() if line.strip()][1:-1]


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="needs pdftotext of poppler-utils")
@pytest.mark.parametrize("made", [story, release])
def test_a_heading_stays_with_what_follows_it(made, tmp_path: Path) -> None:
    met, wrong = set(), []
    for lines in range(4, 48, 2):
        told = list(pages(made(lines), tmp_path / "made.pdf"))
        for number, page in enumerate(told):
            headings = [n for n, line in enumerate(page) if line in HEADINGS[made]]
            met |= {page[n] for n in headings}
            after = told[number + 1][0] if number + 1 < len(told) else None
            if headings and after not in (*HEADINGS[made], None):
                below = len(page) - 1 - headings[-1]
                if below < LEAST_LINES:
                    wrong.append((lines, number + 1, page[headings[-1]], below))
    assert met == HEADINGS[made]
    assert wrong == []
