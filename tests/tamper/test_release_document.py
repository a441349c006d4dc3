"""The release document on paper and on screen: complete, sealed, and readable by common tools (poppler, OpenCV, pyHanko)."""

from __future__ import annotations

import io
import random
import struct
from datetime import UTC, datetime, timedelta, timezone

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw
from pyhanko.pdf_utils.generic import NameObject, NumberObject
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.diff_analysis import ModificationLevel
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko.sign.validation.status import SignatureCoverageLevel
from pyhanko_certvalidator import ValidationContext
from record_world import run, tool

from verifier.errors import BadInput
from verifier.metrology.conformity import DecisionRule
from verifier.metrology.measurement import Measurand, Measurement, Trace
from verifier.record.people import release
from verifier.release.decision import decide
from verifier.report.assemble import release_sheet
from verifier.report.pdf_seal import pdf_seal_key, seal_pdf
from verifier.report.sheet import HeadLine, Line, ReleaseSheet, Table
from verifier.report.typeset import release_pdf
from verifier.rules.finding import find
from verifier.rules.requirement import Requirement, Source

AT = datetime(2026, 11, 25, 7, 10, tzinfo=UTC)
ZONE = timezone(timedelta(hours=1))


def picture() -> bytes:
    image = Image.new("RGB", (800, 500), "#8a857c")
    draw = ImageDraw.Draw(image)
    for x in range(60, 800, 75):
        draw.line((x, 0, x, 500), fill="#5a3a2a", width=8)
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def finding(spot: str, value: float, uncertainty: float, original: str, *, nominal: float = 150.0):
    asked = Requirement(
        key=f"S1/B1/mean-spacing/{spot}",
        element="S1",
        layer="B1",
        rule="mean-spacing",
        measurand=Measurand.MEAN_SPACING,
        asks="mean spacing of B1",
        lower=nominal - 20,
        upper=nominal + 20,
        nominal=nominal,
        sources=(Source(kind="drawing", document="pour.toml", clause="S1 B1 T10-150", status="as drawn"),),
    )
    trace = Trace(original_sha256=original, original_name=f"spot{spot}.jpg")
    measured = Measurement(
        measurand=Measurand.MEAN_SPACING,
        value=value,
        standard_uncertainty=uncertainty,
        unit="mm",
        element="S1",
        layer="B1",
        spot=spot,
        by="photo",
        method="m",
        method_version="1",
        trace=trace,
    )
    return find(asked, [measured] if value else [], spot=spot, rule=DecisionRule())


@pytest.fixture
def sheet(pour) -> ReleaseSheet:
    digest = pour.add_photo("p3.jpg", b"third original")
    release(pour.ledger, pour.approval(), pour.person("reviewer-1"), pour.tick())
    findings = [
        finding("1", 149.0, 0.8, digest),
        finding("2", 173.3, 1.1, digest),
        finding("3", 169.0, 3.0, digest),
        finding("4", 0.0, 0.0, digest),
    ]
    decision = decide(findings=findings, coverage=[], engineer_of_record=["eor-1"], at=AT)
    return release_sheet(
        title="Level 2, east bay",
        decision=decision,
        findings=findings,
        ledger=pour.ledger,
        device=pour.device,
        zone=ZONE,
        elements={"S1": ("slab 5.2 x 4.1 m, 150 mm", "B1 T10-150")},
        overlays={digest: picture(), "unused": picture()},
        tables=[Table(title="Concrete order", columns=("Grade", "Volume"), rows=(("M25", "3.4 m³"),))],
    )


@pytest.fixture
def ledger_lines(pour) -> bytes:
    return b"".join(r.line + b"\n" for r in pour.ledger.records())


def sealed(pdf: bytes, base) -> bytes:
    key, certificate = pdf_seal_key(base / "seal.key", "device-1")
    return seal_pdf(pdf, key, certificate, name="device-1", reason="Release document")


def text_of(pdf: bytes, base) -> str:
    path = base / "text.pdf"
    path.write_bytes(pdf)
    return " ".join(run(tool("pdftotext"), "-layout", str(path), "-").stdout.split())


def judged(pdf: bytes) -> str:
    """What pyHanko says of a document: 'sound' only if nothing at all was changed."""
    try:
        signature = PdfFileReader(io.BytesIO(pdf)).embedded_signatures[0]
        status = validate_pdf_signature(signature, ValidationContext(trust_roots=[]))
    except Exception as error:
        return f"unreadable: {type(error).__name__}"
    whole = status.coverage == SignatureCoverageLevel.ENTIRE_FILE
    same = status.modification_level == ModificationLevel.NONE
    return "sound" if status.intact and status.valid and whole and same and status.docmdp_ok else "changed"


def test_everything_decided_stands_on_it(sheet, ledger_lines, tmp_path):
    text = text_of(release_pdf(sheet, ledger_lines, AT), tmp_path)
    for words in (
        "NO-GO",
        "Level 2, east bay",
        "reviewer-1, record",
        "173.3 ± 2.2 mm",
        "Do not pour. A release by",
        "not conforming",
        "not decided",
        "not measured",
    ):
        assert words in text, words
    for line in (*sheet.reasons, *sheet.conditions):
        assert line.says.split()[0] in text
    assert sheet.statement[:60] in text
    assert "08:10+01:00" in text, "times are printed in the zone of the site"
    assert text.index("173.3") < text.index("169.0") < text.index("149.0"), "worst first"
    assert sheet.head.short in text
    assert "claimed, signed by device-" in text


def test_the_same_input_gives_the_same_bytes(sheet, ledger_lines):
    assert release_pdf(sheet, ledger_lines, AT) == release_pdf(sheet, ledger_lines, AT)


def test_chances_are_never_rounded_towards_the_better(sheet):
    lines = {f.place: f.probability for f in sheet.findings}
    assert lines["S1 B1, spot 1"] == "> 99 %"
    assert "not measured" in {f.measured for f in sheet.findings}
    # P(x < 170) for 169 +- 3 is 0.6306 by the table of the normal distribution
    assert lines["S1 B1, spot 3"] == "63 %"
    assert lines["S1 B1, spot 2"] == "< 1 %"


def test_the_ledger_is_attached_byte_for_byte(sheet, ledger_lines, tmp_path):
    path = tmp_path / "r.pdf"
    path.write_bytes(sealed(release_pdf(sheet, ledger_lines, AT), tmp_path))
    run(tool("pdfdetach"), "-saveall", "-o", str(tmp_path), str(path))
    assert (tmp_path / "ledger.jsonl").read_bytes() == ledger_lines
    assert (tmp_path / "checkpoint.txt").read_text(encoding="utf-8") == sheet.head.note


def test_it_claims_pdf_a_3b(sheet, ledger_lines):
    pdf = release_pdf(sheet, ledger_lines, AT)
    assert b"<pdfaid:part>3</pdfaid:part>" in pdf
    assert b"<pdfaid:conformance>B</pdfaid:conformance>" in pdf


def test_the_code_on_paper_carries_the_whole_head(sheet, ledger_lines, tmp_path):
    """OpenCV reads the printed page as a phone would."""
    path = tmp_path / "r.pdf"
    path.write_bytes(release_pdf(sheet, ledger_lines, AT))
    found = []
    for dpi in ("200", "300"):
        run(tool("pdftoppm"), "-r", dpi, "-l", "2", "-gray", str(path), str(tmp_path / f"page{dpi}"))
        for page in sorted(tmp_path.glob(f"page{dpi}*")):
            image = cv2.imdecode(np.frombuffer(page.read_bytes(), np.uint8), cv2.IMREAD_GRAYSCALE)
            found.append(cv2.QRCodeDetectorAruco().detectAndDecode(image)[0])
    assert sheet.head.note in found


def test_the_seal_holds_and_says_so(sheet, ledger_lines, tmp_path):
    pdf = sealed(release_pdf(sheet, ledger_lines, AT), tmp_path)
    path = tmp_path / "r.pdf"
    path.write_bytes(pdf)
    said = run(tool("pdfsig"), str(path)).stdout
    assert "Signature is Valid" in said
    assert "Total document signed" in said
    assert "ETSI.CAdES.detached" in said
    assert judged(pdf) == "sound"


def test_any_changed_byte_shows(sheet, ledger_lines, tmp_path):
    """120 places, the seed fixed; pyHanko judges. What it may pass over carries nothing: the case of a hexadecimal digit of
    the signature, and the blank room behind it. The record holds the hash of the whole file, so the audit sees these too."""
    pdf = sealed(release_pdf(sheet, ledger_lines, AT), tmp_path)
    start = pdf.index(b"/Contents <") + len(b"/Contents <")
    (length,) = struct.unpack(">H", bytes.fromhex(pdf[start + 4 : start + 8].decode()))
    blank = range(start + 2 * (4 + length), pdf.index(b">", start))
    assert pdf[start : start + 4] == b"3082"
    assert set(pdf[blank.start : blank.stop]) == {ord("0")}
    dice = random.Random(32000)
    for _ in range(120):
        place = dice.randrange(len(pdf))
        changed = bytearray(pdf)
        changed[place] ^= 1 << dice.randrange(8)
        if judged(bytes(changed)) == "sound" and place not in blank:
            now, then = bytes(changed[place : place + 1]), pdf[place : place + 1]
            assert start <= place < blank.start
            assert now.lower() == then.lower(), f"byte {place}"


def test_an_appended_change_shows(sheet, ledger_lines, tmp_path):
    """The signature itself stays valid; what tells is that it no longer covers the whole document."""
    pdf = sealed(release_pdf(sheet, ledger_lines, AT), tmp_path)
    writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
    page = writer.root["/Pages"]["/Kids"][0]
    page[NameObject("/Rotate")] = NumberObject(90)
    writer.update_container(page)
    out = io.BytesIO()
    writer.write(out)
    path = tmp_path / "r.pdf"
    path.write_bytes(out.getvalue())
    said = run(tool("pdfsig"), str(path)).stdout
    assert "Not total document signed" in said
    assert judged(out.getvalue()) == "changed"


HEAD = HeadLine(short="1-AAAA-AAAA-AAAA-AAAA", size=1, root="A" * 43 + "=", note="pour-record/P\n1\n")


def plain_sheet(**changes) -> ReleaseSheet:
    base = {
        "pour": "P",
        "title": "T",
        "answer": "go",
        "answer_words": "go",
        "decided_at": "d",
        "valid_until": "v",
        "head": HEAD,
        "statement": "s",
    }
    return ReleaseSheet(**{**base, **changes})


@pytest.mark.parametrize(
    "words", ['#panic("x")', "*bold* _it_ $x^2$", "<label> @ref", "\\ // /* */", "= heading", "[x](http://a)"]
)
def test_foreign_text_is_never_read_as_markup(tmp_path, words):
    text = text_of(release_pdf(plain_sheet(cautions=(Line(says=words),)), b"{}\n", AT), tmp_path)
    assert " ".join(words.split()) in text.replace("’", "'")


def test_letters_that_no_font_has_are_spelled_out(tmp_path):
    rare = "\U00010380 and \U0001f9f1"
    text = text_of(release_pdf(plain_sheet(cautions=(Line(says=rare),)), b"{}\n", AT), tmp_path)
    assert "[U+10380]" in text or "\U00010380" in text


def test_text_that_turns_the_direction_of_reading_is_spelled_out(tmp_path):
    words = "gap \u202e811 mm\u202c"
    text = text_of(release_pdf(plain_sheet(cautions=(Line(says=words),)), b"{}\n", AT), tmp_path)
    assert "gap [U+202E]811 mm[U+202C]" in text


def test_an_unreleased_sheet_says_so(tmp_path):
    assert "Nobody has released this pour" in text_of(release_pdf(plain_sheet(), b"{}\n", AT), tmp_path)


def test_a_picture_that_is_none_is_refused():
    with pytest.raises(BadInput, match="neither PNG nor JPEG"):
        release_pdf(plain_sheet(pictures={"x": b"GIF89a"}), b"{}\n", AT)


def test_half_a_key_pair_is_refused(tmp_path):
    key, certificate = pdf_seal_key(tmp_path / "seal.key", "device-1")
    assert key.stat().st_mode & 0o777 == 0o600
    assert pdf_seal_key(tmp_path / "seal.key", "device-1") == (key, certificate)
    certificate.unlink()
    with pytest.raises(BadInput, match="one is missing"):
        pdf_seal_key(tmp_path / "seal.key", "device-1")
