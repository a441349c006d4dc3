"""The release document and the other sheets keep the rules of PDF/A-3b, sealed or not, and each rule looked up can fail."""

from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pdf_a
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name
from PIL import Image

from verifier.report.figures import Limits, Reading, tolerance_bar
from verifier.report.pdf_seal import pdf_seal_key, seal_pdf
from verifier.report.sheet import (
    ElementLine,
    FindingLine,
    HeadLine,
    Line,
    PersonLine,
    PhotoLine,
    ReleaseSheet,
    Table,
)
from verifier.report.typeset import release_pdf

AT = datetime(2026, 11, 25, 7, 10, tzinfo=UTC)
pytestmark = pytest.mark.source("ISO 19005-3:2012 (from memory)")


def picture() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (320, 200), "#8a857c").save(out, "JPEG")
    return out.getvalue()


def sheet() -> ReleaseSheet:
    """A release document with one of everything that can stand on it."""
    bar = tolerance_bar(Reading(173.3, 2.2, "non_conforming"), Limits(130.0, 170.0, 150.0, "mm"))
    wrong = FindingLine(
        place="S1 B1, spot 2",
        asked="mean spacing of B1",
        limits="130 to 170 mm",
        source="drawing, T10-150",
        measured="173.3 ± 2.2 mm, by photo, p.jpg",
        probability="< 1 %",
        verdict="non_conforming",
        next_step="Move the bar.",
        picture="a" * 64,
        bar=bar,
    )
    right = wrong.model_copy(
        update={"verdict": "conforming", "picture": "", "bar": "", "place": "S1 B1, spot 1"}
    )
    return ReleaseSheet(
        pour="L2-east",
        title="Level 2, east bay",
        answer="no_go",
        answer_words="no-go",
        decided_at="2026-11-25 08:10+01:00",
        valid_until="2026-11-26 08:10+01:00",
        reasons=(
            Line(says="A gap is too wide: ½ · “quoted” — ×", clears="Move the bar.", owner="site engineer"),
        ),
        cautions=(Line(says="No font has this one: \U00010380"),),
        elements=(
            ElementLine(mark="S1", what="slab, 150 mm", asked="B1 T10-150", conforming=1, non_conforming=1),
        ),
        findings=(wrong, right),
        photos=(
            PhotoLine(
                name="p.jpg",
                sha256="a" * 64,
                shows="S1, spot 2",
                not_before="?",
                not_after="?",
                bounds="b",
                claims="c",
            ),
        ),
        people=(
            PersonLine(
                name="engineer-1", role="site engineer", did="a photo was received", known_by="own key"
            ),
        ),
        tables=(Table(title="Concrete order", columns=("field", "ordered"), rows=(("Grade", "M25"),)),),
        versions={"software": "verifier"},
        head=HeadLine(
            short="1-AAAA-AAAA-AAAA-AAAA", size=1, root="A" * 43 + "=", note="pour-record/L2-east\n1\n"
        ),
        statement="It decides nothing.",
        pictures={"a" * 64: picture()},
    )


@pytest.fixture(scope="module")
def plain() -> bytes:
    return release_pdf(sheet(), b'{"n":1}\n', AT)


@pytest.fixture(scope="module")
def sealed(plain: bytes, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    key, certificate = pdf_seal_key(tmp_path_factory.mktemp("seal") / "key", "device-1")
    return seal_pdf(plain, key, certificate, name="device-1", reason="Release document")


def test_the_release_document_is_pdf_a_3b(plain: bytes) -> None:
    assert pdf_a.faults(plain) == []


def test_it_still_is_when_it_is_sealed(sealed: bytes) -> None:
    assert pdf_a.faults(sealed) == []


@pytest.mark.parametrize("which", ["plain", "sealed"])
def test_a_second_reader_finds_nothing_to_mend(
    which: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    """Ghostscript reads every page and stops at the first thing that it would have to guess. Of the seal, which nobody sees on
    a page, it says that it has no look; the format allows that."""
    path = tmp_path / "r.pdf"
    path.write_bytes(request.getfixturevalue(which))
    if shutil.which("gs") is None:
        pytest.skip("ghostscript is not installed")
    command = ["gs", "-q", "-dNOPAUSE", "-dBATCH", "-dPDFSTOPONERROR", "-sDEVICE=nullpage", str(path)]
    found = subprocess.run(command, capture_output=True, text=True, check=False)
    said = (found.stdout + found.stderr).splitlines()
    assert found.returncode == 0, said
    assert [line for line in said if "field 'Sig' with no AP" not in line] == []


def annotation(document: pikepdf.Pdf, **entries: object) -> None:
    page = document.pages[0]
    entries = {"Type": Name.Annot, "Rect": Array([0, 0, 9, 9]), "F": 4, **entries}
    page.obj["/Annots"] = Array([document.make_indirect(Dictionary(**entries))])


def fonts(document: pikepdf.Pdf) -> list[pikepdf.Object]:
    return [o for o in document.objects if isinstance(o, Dictionary) and o.get("/Type") == "/FontDescriptor"]


def without_program(document: pikepdf.Pdf) -> None:
    for font in fonts(document):
        for key in ("/FontFile2", "/FontFile3"):
            if key in font:
                del font[key]


def packed_otherwise(document: pikepdf.Pdf) -> None:
    stream = pikepdf.Stream(document, b"x")
    stream["/Filter"] = Name.LZWDecode
    document.Root["/X"] = stream


def other_metadata(old: bytes, new: bytes) -> Callable[[pikepdf.Pdf], None]:
    def change(document: pikepdf.Pdf) -> None:
        held = document.Root.Metadata
        text = held.read_bytes()
        assert old in text
        held.write(text.replace(old, new))

    return change


def spec(document: pikepdf.Pdf) -> pikepdf.Object:
    return document.Root.AF[0]


def drawn(content: bytes) -> Callable[[pikepdf.Pdf], None]:
    return lambda document: document.pages[0].contents_add(content)


BREAKING: dict[str, tuple[str, Callable[[pikepdf.Pdf], object]]] = {
    "declares PDF 2.0": ("6.1.2", lambda d: d.Root.__setitem__("/Version", Name("/2.0"))),
    "a stream packed otherwise": ("6.1.7", packed_otherwise),
    "other permissions": ("6.1.12", lambda d: d.Root.__setitem__("/Perms", Dictionary(X=1))),
    "a huge page": ("6.1.13", lambda d: d.pages[0].obj.__setitem__("/MediaBox", Array([0, 0, 9, 20000]))),
    "an unknown operator": ("6.2.2", drawn(b"1 2 zz")),
    "deep nesting": ("6.2.2", drawn(b"q " * 29 + b"Q " * 29)),
    "no output intent": ("6.2.3", lambda d: d.Root.__delitem__("/OutputIntents")),
    "no profile": ("6.2.3", lambda d: d.Root.OutputIntents[0].DestOutputProfile.write(b"no profile")),
    "CMYK": ("6.2.4", drawn(b"0 0 0 1 k")),
    "a transfer function": (
        "6.2.5",
        lambda d: d.Root.__setitem__(
            "/X", d.make_indirect(Dictionary(Type=Name.ExtGState, TR=Name.Identity))
        ),
    ),
    "a blend mode of nobody": (
        "6.2.5",
        lambda d: d.Root.__setitem__("/X", d.make_indirect(Dictionary(Type=Name.ExtGState, BM=Name.Glow))),
    ),
    "fonts that are not embedded": ("6.2.11", without_program),
    "a film": ("6.3", lambda d: annotation(d, Subtype=Name.Movie)),
    "a hidden note": ("6.3", lambda d: annotation(d, Subtype=Name.Text, F=2)),
    "a note without a look": ("6.3", lambda d: annotation(d, Subtype=Name.Text)),
    "a form without looks": (
        "6.4",
        lambda d: d.Root.__setitem__("/AcroForm", Dictionary(NeedAppearances=True)),
    ),
    "a program": (
        "6.5",
        lambda d: d.Root.__setitem__("/OpenAction", Dictionary(S=Name.JavaScript, JS=pikepdf.String("x"))),
    ),
    "another program is started": (
        "6.5",
        lambda d: annotation(d, Subtype=Name.Link, A=Dictionary(S=Name.Launch, F=pikepdf.String("x"))),
    ),
    "something on opening": ("6.5", lambda d: d.Root.__setitem__("/AA", Dictionary())),
    "another part": ("6.6", other_metadata(b"<pdfaid:part>3", b"<pdfaid:part>4")),
    "no level": ("6.6", other_metadata(b"pdfaid:conformance", b"pdfaid:conformancy")),
    "an unknown schema": (
        "6.6",
        other_metadata(b"http://purl.org/dc/elements/1.1/", b"http://example.org/own/"),
    ),
    "no relation": ("6.8", lambda d: spec(d).__delitem__("/AFRelationship")),
    "not associated": ("6.8", lambda d: d.Root.__setitem__("/AF", Array([]))),
    "one name only": ("6.8", lambda d: spec(d).__delitem__("/UF")),
    "no kind": ("6.8", lambda d: spec(d).EF.F.__delitem__("/Subtype")),
    "no date": ("6.8", lambda d: spec(d).EF.F.__delitem__("/Params")),
}


@pytest.mark.parametrize("what", BREAKING)
def test_each_rule_can_fail(plain: bytes, what: str) -> None:
    clause, broken = BREAKING[what]
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(plain)) as document:
        broken(document)
        document.save(
            out,
            static_id=True,
            compress_streams=False,
            stream_decode_level=pikepdf.StreamDecodeLevel.none,
        )
    found = pdf_a.faults(out.getvalue())
    assert found, what
    assert any(fault.startswith(clause) for fault in found), found


def test_encryption_and_bytes_behind_the_end_fail(plain: bytes) -> None:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(plain)) as document:
        document.save(out, encryption=pikepdf.Encryption(owner="x", user="", R=4, aes=True, metadata=False))
    assert any("encrypted" in fault for fault in pdf_a.faults(out.getvalue()))
    assert pdf_a.faults(plain + b"more") == ["6.1.3 trailer: bytes stand behind the last %%EOF"]
