"""Rules of PDF/A-3b that a release document could break, looked up in the file by another library than the ones that write it.

No validator of the format can be installed here, so the rules are written out, each with its clause. The clauses are those of
ISO 19005-3:2012 and, where that refers to it, ISO 19005-2:2011, from memory. What is not looked at: that the glyphs of embedded
fonts have the widths that the file says, and colour inside of pictures.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator

import pikepdf
from pikepdf import Array, Dictionary, Name, Object, Stream

ALLOWED_SCHEMAS = {
    "http://purl.org/dc/elements/1.1/",
    "http://ns.adobe.com/xap/1.0/",
    "http://ns.adobe.com/xap/1.0/mm/",
    "http://ns.adobe.com/xap/1.0/t/pg/",
    "http://ns.adobe.com/xap/1.0/sType/ResourceEvent#",
    "http://ns.adobe.com/xap/1.0/sType/ResourceRef#",
    "http://ns.adobe.com/pdf/1.3/",
    "http://www.aiim.org/pdfa/ns/id/",
    "http://www.aiim.org/pdfa/ns/extension/",
    "http://www.aiim.org/pdfa/ns/schema#",
    "http://www.aiim.org/pdfa/ns/property#",
    "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "adobe:ns:meta/",
    "http://www.w3.org/XML/1998/namespace",
}
_ACTIONS_FORBIDDEN = {
    *("Launch", "Sound", "Movie", "ResetForm", "ImportData", "JavaScript", "Hide"),
    *("SetOCGState", "Rendition", "Trans", "GoTo3DView"),
}
_ANNOTATIONS_FORBIDDEN = {"3D", "Sound", "Screen", "Movie"}
_RELATIONS = {"Source", "Data", "Alternative", "Supplement", "Unspecified"}
_BLENDS = {
    *(
        "Normal",
        "Compatible",
        "Multiply",
        "Screen",
        "Overlay",
        "Darken",
        "Lighten",
        "ColorDodge",
        "ColorBurn",
    ),
    *("HardLight", "SoftLight", "Difference", "Exclusion", "Hue", "Saturation", "Color", "Luminosity"),
}


def faults(pdf: bytes) -> list[str]:
    """Say what speaks against a file being PDF/A-3b.

    Args:
        pdf: The file.

    Returns:
        A sentence for each fault, beginning with its clause.
    """
    with pikepdf.open(io.BytesIO(pdf)) as document:
        return [f"{clause}: {fault}" for clause, rule in _RULES.items() for fault in rule(document, pdf)]


def _header(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    lines = pdf[:1024].split(b"\n", 2)
    if not re.fullmatch(rb"%PDF-1\.[0-7]\r?", lines[0]):
        yield f"the header is {lines[0]!r}"
    if not (lines[1][:1] == b"%" and len(lines[1]) >= 5 and all(c > 127 for c in lines[1][1:5])):
        yield "the second line is no comment of four bytes above 127"
    version = document.Root.get("/Version")
    if version is not None and not re.fullmatch(r"/1\.[0-7]", str(version)):
        yield f"the catalogue declares version {version}"


def _trailer(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    if "/ID" not in document.trailer:
        yield "the trailer has no ID"
    if "/Encrypt" in document.trailer or document.is_encrypted:
        yield "the file is encrypted"
    if not re.search(rb"%%EOF(\r\n|\r|\n)?\Z", pdf):
        yield "bytes stand behind the last %%EOF"


def _streams(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    for one in _all_streams(document):
        if any(key in one for key in ("/F", "/FFilter", "/FDecodeParms")):
            yield "a stream lies in another file"
        filters = one.get("/Filter", Array([]))
        names = [str(f) for f in (filters if isinstance(filters, Array) else [filters])]
        if {"/LZWDecode", "/Crypt"} & set(names):
            yield f"a stream is packed with {names}"


def _permissions(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    perms = document.Root.get("/Perms")
    if perms is not None and not set(perms.keys()) <= {"/UR3", "/DocMDP"}:
        yield f"permissions of the kinds {list(perms.keys())}"


def _output_intent(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    intents = [i for i in document.Root.get("/OutputIntents", Array([])) if i.get("/S") == "/GTS_PDFA1"]
    if not intents:
        yield "there is no output intent of PDF/A"
    for intent in intents:
        profile = intent.get("/DestOutputProfile")
        data = profile.read_bytes() if isinstance(profile, Stream) else b""
        if data[36:40] != b"acsp" or data[8] > 4 or data[12:16] not in {b"mntr", b"prtr"}:
            yield "the output profile is no ICC profile of version 2 or 4 for an output device"
        elif {b"RGB ": 3, b"GRAY": 1, b"CMYK": 4}.get(data[16:20]) != profile.get("/N"):
            yield "the output profile has another number of components than it says"


def _colours(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    intents = document.Root.get("/OutputIntents", Array([]))
    spaces = {bytes(i.DestOutputProfile.read_bytes()[16:20]) for i in intents if "/DestOutputProfile" in i}
    rgb = b"RGB " in spaces
    for where, operands, operator in _operations(document):
        if operator in {"k", "K"} or (operator in {"cs", "CS"} and operands[:1] == ["/DeviceCMYK"]):
            yield f"{where} uses CMYK of the device"
        if not rgb and (
            operator in {"rg", "RG"} or (operator in {"cs", "CS"} and operands[:1] == ["/DeviceRGB"])
        ):
            yield f"{where} uses RGB of the device without a profile"
    for one in _all_streams(document):
        if one.get("/Subtype") == "/Image" and str(one.get("/ColorSpace")) == "/DeviceCMYK":
            yield "a picture is in CMYK of the device"
        if one.get("/Subtype") == "/Image" and str(one.get("/ColorSpace")) == "/DeviceRGB" and not rgb:
            yield "a picture is in RGB of the device without a profile"


def _graphics(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    for one in _all_dictionaries(document):
        if one.get("/Type") == "/ExtGState" or "/BM" in one:
            if "/TR" in one or one.get("/TR2", Name.Default) != Name.Default or "/HTP" in one:
                yield "a graphics state has a transfer function or a halftone phase"
            blend = one.get("/BM", Name.Normal)
            names = blend if isinstance(blend, Array) else [blend]
            if any(str(b)[1:] not in _BLENDS for b in names):
                yield f"a blend mode {blend}"
    for one in _all_streams(document):
        if one.get("/Subtype") == "/Image" and (
            one.get("/Interpolate", False) or "/Alternates" in one or "/OPI" in one
        ):
            yield "a picture is to be interpolated, or has alternates"
        if one.get("/Subtype") == "/PS" or (
            one.get("/Subtype") == "/Form" and ("/PS" in one or "/Ref" in one)
        ):
            yield "a PostScript or reference object"


def _operators(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    depth: dict[str, int] = {}
    for where, _, operator in _operations(document):
        if operator not in _KNOWN_OPERATORS:
            yield f"{where} holds the operator {operator}"
        depth[where] = depth.get(where, 0) + {"q": 1, "Q": -1}.get(operator, 0)
        if depth[where] > 28:
            yield f"{where} nests graphics states deeper than 28"


def _fonts(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    for one in _all_dictionaries(document):
        if one.get("/Type") != "/Font" or one.get("/Subtype") == "/Type3":
            continue
        name = str(one.get("/BaseFont"))
        if one.get("/Subtype") == "/Type0":
            if one.Encoding not in (Name("/Identity-H"), Name("/Identity-V")) and not isinstance(
                one.Encoding, Stream
            ):
                yield f"{name}: its encoding {one.Encoding} is not in the file"
            continue
        held = one.get("/FontDescriptor", Dictionary())
        if not any(isinstance(held.get(key), Stream) for key in ("/FontFile", "/FontFile2", "/FontFile3")):
            yield f"{name} is not embedded"
        if one.get("/Subtype") == "/CIDFontType2" and "/CIDToGIDMap" not in one:
            yield f"{name} has no map from characters to glyphs"
        if str(one.get("/Subtype")).startswith("/CIDFont") and "/CIDSystemInfo" not in one:
            yield f"{name} does not say its character collection"


def _annotations(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    for page in document.pages:
        for note in page.get("/Annots", Array([])):
            kind = str(note.Subtype)[1:]
            if kind in _ANNOTATIONS_FORBIDDEN:
                yield f"an annotation of the kind {kind}"
            flags = int(note.get("/F", 0))
            if kind != "Popup" and ("/F" not in note or not flags & 4 or flags & (1 | 2 | 32 | 256)):
                yield f"a {kind} that would not be printed, or is hidden"
            if kind == "Widget" and ("/A" in note or "/AA" in note):
                yield "a form field that does something"
            empty = note.Rect[0] == note.Rect[2] and note.Rect[1] == note.Rect[3]
            if (
                kind not in {"Popup", "Link"}
                and not empty
                and list(note.get("/AP", Dictionary()).keys()) != ["/N"]
            ):
                yield f"a {kind} without exactly one look"


def _forms(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    form = document.Root.get("/AcroForm", Dictionary())
    if form.get("/NeedAppearances", False):
        yield "the look of the form is left to the reader"
    if "/XFA" in form or document.Root.get("/NeedsRendering", False):
        yield "the form is in XML"


def _actions(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    for one in _all_dictionaries(document):
        kind = str(one.get("/S", ""))[1:]
        if kind in _ACTIONS_FORBIDDEN and (one.get("/Type", Name.Action) == Name.Action):
            yield f"an action of the kind {kind}"
    if "/AA" in document.Root or any("/AA" in page for page in document.pages):
        yield "something happens by itself when the document is opened or a page is turned"
    names = document.Root.get("/Names", Dictionary())
    if "/JavaScript" in names:
        yield "a program of the document"
    if "/AlternatePresentations" in names or any("/PresSteps" in page for page in document.pages):
        yield "a presentation"
    if "/Requirements" in document.Root:
        yield "requirements of the reader"


def _metadata(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    stream = document.Root.get("/Metadata")
    text = stream.read_bytes().decode("utf-8") if isinstance(stream, Stream) else ""
    if not re.search(r"pdfaid:part(>|=\")3\b", text):
        yield "the metadata do not name part 3"
    if not re.search(r"pdfaid:conformance(>|=\")[ABU]\b", text):
        yield "the metadata name no level of conformance"
    if re.search(r"<\?xpacket[^>]*(bytes|encoding)=", text):
        yield "the packet of the metadata has an attribute that is not allowed"
    described = set(re.findall(r"namespaceURI>([^<]+)<", text))
    strange = set(re.findall(r'xmlns:\w+="([^"]+)"', text)) - ALLOWED_SCHEMAS - described
    if strange:
        yield f"metadata of schemas that nobody describes: {sorted(strange)}"


def _attachments(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    associated = {one.objgen for one in document.Root.get("/AF", Array([]))}
    found = [one for one in _all_dictionaries(document) if one.get("/Type") == "/Filespec" or "/EF" in one]
    for spec in found:
        name = str(spec.get("/UF", "?"))
        if "/F" not in spec or "/UF" not in spec:
            yield f"{name}: not named both ways"
        if str(spec.get("/AFRelationship", ""))[1:] not in _RELATIONS:
            yield f"{name}: its relation to the document is not told"
        if spec.objgen not in associated:
            yield f"{name}: no part of the document is associated with it"
        held = spec.get("/EF", Dictionary()).get("/F")
        if not isinstance(held, Stream) or not re.fullmatch(
            r"/[\w.+-]+/[\w.+-]+", str(held.get("/Subtype", ""))
        ):
            yield f"{name}: its kind (MIME) is not told"
        elif "/ModDate" not in held.get("/Params", Dictionary()):
            yield f"{name}: its date is not told"


def _pages(document: pikepdf.Pdf, pdf: bytes) -> Iterator[str]:
    for number, page in enumerate(document.pages, 1):
        width, height = (float(page.mediabox[k + 2]) - float(page.mediabox[k]) for k in (0, 1))
        if not (3 <= width <= 14400 and 3 <= height <= 14400):
            yield f"page {number} is {width} x {height} points"


_RULES: dict[str, Callable[[pikepdf.Pdf, bytes], Iterator[str]]] = {
    "6.1.2 header": _header,
    "6.1.3 trailer": _trailer,
    "6.1.7 streams": _streams,
    "6.1.12 permissions": _permissions,
    "6.1.13 limits": _pages,
    "6.2.2 content": _operators,
    "6.2.3 output intent": _output_intent,
    "6.2.4 colour": _colours,
    "6.2.5 to 6.2.10 graphics": _graphics,
    "6.2.11 fonts": _fonts,
    "6.3 annotations": _annotations,
    "6.4 forms": _forms,
    "6.5 actions": _actions,
    "6.6 metadata": _metadata,
    "6.8 embedded files": _attachments,
}

# ISO 32000-1:2008, annex A.
_KNOWN_OPERATORS = frozenset(
    re.split(
        r"\s+",
        "b B b* B* BDC BI BMC BT BX c cm CS cs d d0 d1 Do DP EI EMC ET EX f F f* G g gs h i ID j J K k l m M MP n q Q re RG "
        "rg ri s S SC sc SCN scn sh T* Tc Td TD Tf Tj TJ TL Tm Tr Ts Tw Tz v w W W* y ' \" INLINE",
    )
)


def _all_dictionaries(document: pikepdf.Pdf) -> Iterator[Object]:
    """Every dictionary of the file, also those inside others, and those of streams."""

    def inside(one: Object) -> Iterator[Object]:
        if isinstance(one, Dictionary | Stream):
            yield one
            values = [one[key] for key in one.keys()]  # noqa: SIM118 - a stream is no mapping: going over it goes over nothing
        else:
            values = list(one) if isinstance(one, Array) else []
        for value in values:
            if isinstance(value, Object) and not value.is_indirect:
                yield from inside(value)

    for one in document.objects:
        if isinstance(one, Object):
            yield from inside(one)


def _all_streams(document: pikepdf.Pdf) -> Iterator[Stream]:
    yield from (one for one in document.objects if isinstance(one, Stream))


def _operations(document: pikepdf.Pdf) -> Iterator[tuple[str, list[str], str]]:
    """Where, operands and operator of every drawing instruction, on pages and in forms."""
    places: list[tuple[str, Object]] = [(f"page {n}", page.obj) for n, page in enumerate(document.pages, 1)]
    places += [
        (f"form {one.objgen}", one) for one in _all_streams(document) if one.get("/Subtype") == "/Form"
    ]
    for where, one in places:
        for operands, operator in pikepdf.parse_content_stream(one):
            yield where, [str(o) for o in operands], str(operator)
