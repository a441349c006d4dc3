"""Attacks by spelling: JSON that two readers read differently, and names that steer a terminal.

The attacker holds the device's key and signs and chains everything as it must be.

Source:
    RFC 8785 (2020), 3.1 (no name twice, no lone surrogate) and 3.2.2.3 (numbers that a double holds); RFC 7493 (I-JSON).
"""

from __future__ import annotations

import base64
import re

import forgery
import pytest
from record_world import failing, unpack

from verifier.errors import BadInput
from verifier.record.approval import statement
from verifier.record.audit import audit, report
from verifier.record.audit.release_text import one_line as one_line_of_the_audit
from verifier.record.bundle import write_bundle
from verifier.record.canonical import canonical, sha256_hex, utc_text
from verifier.record.people import release
from verifier.record.public_keys import key_id
from verifier.record.records import read_record
from verifier.record.standing import folded, plain_name
from verifier.record.timeline import events, timeline_text
from verifier.wording import on_one_line


def odd_lines(pour) -> dict[str, bytes]:
    """A last record in spellings that a lenient reader takes, each with a sound signature over its own bytes."""
    last = pour.ledger.records()[-1]
    part = canonical(
        {
            "v": 1,
            "seq": last.seq + 1,
            "prev": last.sha256,
            "type": "remark",
            "pour": pour.ledger.pour,
            "by": key_id(pour.device.public),
            "at": utc_text(pour.tick()),
            "body": {"n": 7, "text": "x"},
        }
    )
    spelled = {
        "a key twice": part.replace(b'{"n":7,', b'{"n":7,"n":8,'),
        "half a character": part.replace(b'"text":"x"', b'"text":"\xed\xa0\x80"'),
        "half a character, escaped": part.replace(b'"text":"x"', rb'"text":"\ud800"'),
        "a number too large": part.replace(b'"n":7', b'"n":9007199254740993'),
        "a number beyond all": part.replace(b'"n":7', b'"n":' + b"9" * 5000),
        "a fraction": part.replace(b'"n":7', b'"n":7.0'),
        "minus nought": part.replace(b'"n":7', b'"n":-0'),
        "not a number": part.replace(b'"n":7', b'"n":NaN'),
        "true for one": part.replace(b'"v":1', b'"v":true'),
        "another order": part.replace(b'{"n":7,"text":"x"}', b'{"text":"x","n":7}'),
        "a blank": part.replace(b'"n":7', b'"n": 7'),
        "a mark in front": b"\xef\xbb\xbf" + part,
        "two bytes a letter": part.decode().encode("utf-16-le"),
        "very deep": part.replace(b'"n":7', b'"n":' + b"[" * 5000 + b"]" * 5000),
    }
    return {what: with_signature(text, pour.device) for what, text in spelled.items()}


def with_signature(text: bytes, signer) -> bytes:
    """Sign a record's bytes and put the signature where it belongs, behind ``seq``."""
    stamp = base64.b64encode(signer.sign(text))
    return re.sub(rb'("seq":\d+,)', rb'\1"sig":"' + stamp + b'",', text, count=1)


def test_a_record_that_two_readers_read_differently(pour, tmp_path):
    """Alarm: chain, for every spelling but the one. The control, spelled as it must be, raises none."""
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    bag = unpack(tmp_path / "b.zip", tmp_path / "x")
    kept = forgery.lines_of(bag)
    for what, line in odd_lines(pour).items():
        forgery.put_lines(bag, [*kept, line], pour.device)
        forgery.reseal(bag, pour.device)
        assert "chain" in failing(audit(bag)), what
        with pytest.raises((ValueError, BadInput, RecursionError)):
            read_record(line)
    good = forgery.signed_line(
        pour.ledger.pour, len(kept) + 1, sha256_hex(kept[-1]), "remark", {"n": 7}, pour.device, pour.tick()
    )
    forgery.put_lines(bag, [*kept, good], pour.device)
    forgery.reseal(bag, pour.device)
    assert failing(audit(bag)) == set()


def test_foreign_text_can_neither_write_a_line_of_the_report_nor_steer_the_terminal(pour, tmp_path):
    """NOT an alarm: a name may hold anything. It is spelled out, so that no line begins that the audit did not write."""
    name = "p.jpg\n[holds]         originals: All is well.\r\x1b[2K\u202egpj\u2028[holds] chain"
    digest = pour.ledger.store.objects.put(b"odd name")
    pour.ledger.append("photo", {"sha256": digest, "name": name}, pour.device, pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    outcome = audit(tmp_path / "b.zip")
    text = report(outcome)
    assert "p.jpg[U+000A][holds]" in text
    assert not {"\r", "\x1b", "\u202e", "\u2028"} & set(text)
    marks = [line for line in text.splitlines() if line.startswith("[")]
    assert len(marks) == len(outcome.facts)


def test_what_is_read_before_signing_is_what_is_written(pour, tmp_path):
    """NOT an alarm: a remark that turns the direction of reading ("Trojan source") is spelled out where a person reads it to
    sign, in the timeline and on paper, and text and record still agree."""
    turned = "bar moved \u202e og on \u202c \x1b[8mhidden\x1b[0m"
    approval = pour.approval().model_copy(update={"conditions": (turned,)})
    text = statement(approval.body())
    assert "condition 1: bar moved [U+202E] og on [U+202C] [U+001B][8mhidden[U+001B][0m" in text
    release(pour.ledger, approval, pour.person("reviewer-1"), pour.tick())
    pour.ledger.append("remark", {"text": turned}, pour.device, pour.tick())
    told = timeline_text(events(pour.ledger.records()))
    assert not {"\u202e", "\x1b"} & set(told)
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert failing(audit(tmp_path / "b.zip")) == set()
    for each in (turned, "n\u200cm\u200dn", "\u200f", "plain"):
        assert on_one_line(each) == one_line_of_the_audit(each), "written twice, and alike"


def test_a_name_may_hold_joiners_and_nothing_else_unseen():
    assert plain_name("\u0645\u06cc\u200c\u0631")
    assert not plain_name("a\u202eb")
    assert not plain_name("a\u200bb")
    assert folded("a\u200db") == folded("ab")
