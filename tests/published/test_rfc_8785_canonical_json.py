"""Canonical JSON: the examples of RFC 8785 and of its public test data (cyberphone/json-canonicalization, testdata)."""

from __future__ import annotations

import json
import math

import pytest

from verifier.errors import BadInput
from verifier.record.audit.canonical_form import canonical_bytes, parsed_record
from verifier.record.canonical import canonical, signable

WEIRD_IN = (
    '{"\\u20ac":"Euro Sign","1":"One","\\u0080":"Control\\u007f","\\ud83d\\ude02":"Smiley",'
    '"\\u00f6":"Latin Small Letter O With Diaeresis","\\ufb33":"Hebrew Letter Dalet With Dagesh",'
    '"</script>":"Browser Challenge"}'
)
WEIRD_OUT = (
    '{"1":"One","</script>":"Browser Challenge","\u0080":"Control\u007f","ö":"Latin Small Letter O With Diaeresis",'
    '"€":"Euro Sign","\U0001f602":"Smiley","\ufb33":"Hebrew Letter Dalet With Dagesh"}'
)


@pytest.mark.source("RFC 8785 (2020), section 3.2.2 and 3.2.4, from memory")
def test_numbers_strings_and_literals():
    given = (
        '{"numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],'
        '"string": "\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/", "literals": [null, true, false]}'
    )
    expected = (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
    assert canonical(json.loads(given)).decode() == expected


@pytest.mark.source("RFC 8785 test data, weird.json (read)")
@pytest.mark.parametrize("write", [canonical, canonical_bytes], ids=["record", "audit"])
def test_keys_are_sorted_by_utf_16_code_units(write):
    assert write(json.loads(WEIRD_IN)).decode() == WEIRD_OUT


@pytest.mark.source("RFC 8785 test data, french.json, from memory")
@pytest.mark.parametrize("write", [canonical, canonical_bytes], ids=["record", "audit"])
def test_no_locale(write):
    given = {
        "péché": "is wrong according to French",
        "sin": "ignore locale",
        "peach": "This sorting order",
        "pêche": "but canonicalization MUST",
    }
    expected = (
        '{"peach":"This sorting order","péché":"is wrong according to French",'
        '"pêche":"but canonicalization MUST","sin":"ignore locale"}'
    )
    assert write(given).decode() == expected


@pytest.mark.source("RFC 8785 (2020), section 3.2.2.2")
@pytest.mark.parametrize("code", [*range(0x20), 0x22, 0x5C, 0x7F, 0x80, 0x2028, 0x1F602])
def test_both_writers_escape_alike(code):
    assert canonical({"x": chr(code)}) == canonical_bytes({"x": chr(code)})


@pytest.mark.source("RFC 8785 (2020), sections 3.2.2.2 and 3.2.2.3: what has no canonical form is refused")
@pytest.mark.parametrize("value", [math.nan, math.inf, 2**53, "\ud800", b"bytes"])
def test_refusals(value):
    with pytest.raises(BadInput, match=r"can't"):
        canonical({"x": signable(value)})


@pytest.mark.source(
    "RFC 8785 (2020), appendix B: numbers are IEEE 754 doubles, so this record keeps them as decimal text"
)
def test_a_record_holds_no_binary_fraction():
    assert signable({"a": 148.9, "b": 1e-7, "c": -0.5, "d": 150.0, "e": 3}) == {
        "a": "148.9",
        "b": "0.0000001",
        "c": "-0.5",
        "d": "150.0",
        "e": 3,
    }
    line = b'{"at":"2026-11-25T06:00:00Z","body":{"x":1.5},"by":"k","pour":"P","prev":"0","seq":1,"sig":"s","type":"t","v":1}'
    assert parsed_record(line) is None
    assert parsed_record(line.replace(b"1.5", b'"1.5"')) is not None
    assert parsed_record(line.replace(b"1.5", b'"1.5"').replace(b'"body":{', b'"body": {')) is None
