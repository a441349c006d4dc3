"""The records that a bundle shows: their form, their chain, the originals they name, and the head over them."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from .container import Bag
from .facts import FAILS, HOLDS, OPEN, Fact, fact
from .proofs import (
    Head,
    grown,
    head_signers,
    leaf,
    named_objects,
    parsed_record,
    public_pem,
    read_head,
    read_proof,
    root_over,
    root_through,
    signed_part,
    sound,
    unbase64,
)

_SHORT_FORM = re.compile(r"(\d+)-([A-Z2-7]{4}-[A-Z2-7]{4}-[A-Z2-7]{4}-[A-Z2-7]{4})")
_COPIED = (
    ("release", "statement", "data/approvals/{}.txt"),
    ("release", "statement_signature", "data/approvals/{}.sig"),
    ("seal", "statement", "data/approvals/{}.txt"),
    ("seal", "statement_signature", "data/approvals/{}.sig"),
    ("token", "checkpoint", "data/tokens/{}.checkpoint"),
)
_LISTS = {"data/keys/people.txt", "data/keys/allowed_signers"}
_SHELVES = {"originals", "results", "drawings", "rules", "tokens"}


class Shown:
    """The ledger in a bundle, whole or in part, read from its bytes.

    Args:
        bag: The bundle.

    Attributes:
        records: Every readable record with its ``line``.
        head: The checkpoint, or None if there is none.
        whole: True if all records up to the head are here.
    """

    def __init__(self, bag: Bag) -> None:
        self.bag = bag
        raw = bag.read("data/ledger.jsonl")
        self._form_faults = [] if raw.endswith(b"\n") else ["ledger.jsonl does not end with a line break"]
        self.records: list[dict[str, Any]] = []
        for place, line in enumerate(raw.split(b"\n")[:-1], 1):
            record = parsed_record(line)
            if record is None:
                self._form_faults.append(f"line {place} is no canonical record")
            else:
                self.records.append(record | {"line": line})
        self.leaves = [leaf(record["line"]) for record in self.records]
        self.checkpoint = bag.text("data/checkpoint.txt")
        self.head = read_head(self.checkpoint)
        size = self.head.size if self.head else 0
        self.whole = [r["seq"] for r in self.records] == list(range(1, len(self.records) + 1))
        self.whole = self.whole and size <= len(self.records)

    def belongs(self, size: Any, root: bytes) -> bool:
        """Say whether an earlier head belongs to this record, by the records or by a proof in the bundle.

        Args:
            size: Number of records under the earlier head.
            root: Its root, 32 bytes.

        Returns:
            True if it does.
        """
        if not isinstance(size, int) or self.head is None or not 0 < size <= self.head.size:
            return False
        if self.whole:
            return root_over(self.leaves[:size]) == root
        proof = [unbase64(line) for line in self._proof_from(size).split()]
        return grown(size, root, self.head.size, self.head.root, proof)

    def chain_fact(self) -> Fact:
        """Say whether every record follows from the one before it."""
        faults = list(self._form_faults)
        pours = sorted({record["pour"] for record in self.records})
        if len(pours) > 1:
            faults.append(f"records of several pours: {', '.join(pours)}")
        number, digest = 0, "0" * 64
        for record in self.records:
            if record["seq"] <= number:
                faults.append(f"record {record['seq']} stands after record {number}")
            elif record["seq"] == number + 1 and record["prev"] != digest:
                faults.append(f"record {record['seq']} does not follow from the one before it")
            number, digest = record["seq"], hashlib.sha256(record["line"]).hexdigest()
        if not self.records:
            faults.append("there is no readable record")
        if not self.whole and "\nRecord-Extent: whole," in self.bag.text("bag-info.txt"):
            faults.append("records are missing, though the bundle says that it is whole")
        if faults or self.whole:
            return fact(
                "chain",
                faults,
                f"All {len(self.records)} records follow one another.",
                "The chain is broken.",
            )
        total = self.head.size if self.head else 0
        missing = _spans([r["seq"] for r in self.records], total)
        return Fact(
            "chain",
            OPEN,
            f"{len(self.records)} of {total} records are shown; the others can't be judged here.",
            (f"this bundle does not hold records {missing}",),
        )

    def originals_fact(self) -> Fact:
        """Say whether every original that a record names is here with its bytes."""
        there = set(self.bag.sha256.values())
        named = {name: record["seq"] for record in self.records for name in named_objects(record["body"])}
        held_back = set() if self.whole else set(self.bag.text("data/withheld.txt").split())
        faults = [
            f"record {seq} names {name}, which is not here"
            for name, seq in named.items()
            if name not in there | held_back
        ]
        for name in self.bag.names("data/"):
            shelf, stem = name.split("/")[1], name.rpartition("/")[2].partition(".")[0]
            if shelf in _SHELVES and len(stem) == 64 and stem != self.bag.sha256[name]:
                faults.append(f"{name} has other bytes than its name says")
        absent = [
            f"record {seq} names {name}, which is held back"
            for name, seq in named.items()
            if name not in there
        ]
        if absent and not faults:
            say = f"Originals named: {len(named) - len(absent)} here, unchanged; {len(absent)} held back, so not judged."
            return Fact("originals", OPEN, say, tuple(absent))
        return fact(
            "originals",
            faults,
            f"All {len(named)} originals named are here, unchanged.",
            "Originals are amiss.",
        )

    def signature_fact(self, keys: Mapping[str, bytes]) -> Fact:
        """Say whether every record carries a sound signature of the key it names.

        Args:
            keys: Key id -> public key.

        Returns:
            The fact.
        """
        faults = [] if self.records else ["there is no readable record"]
        for record in self.records:
            public = keys.get(record["by"])
            if public is None:
                faults.append(f"record {record['seq']}: no key {record['by'][:16]} in this record")
            elif not sound(public, unbase64(record["sig"]), signed_part(record["line"])):
                faults.append(f"record {record['seq']}: its signature is not sound")
        return fact(
            "signatures", faults, f"All {len(self.records)} signatures are sound.", "Signatures fail."
        )

    def head_fact(self, keys: Mapping[str, bytes]) -> Fact:
        """Say whether the head is the one over these records, and signed.

        Args:
            keys: Key id -> public key.

        Returns:
            The fact.
        """
        if self.head is None:
            return Fact("head", FAILS, "checkpoint.txt is no checkpoint.")
        faults = self._whole_faults(self.head) if self.whole else self._proof_faults(self.head)
        signers, clean = head_signers(self.head, keys)
        if not signers or not clean:
            faults.append("a signature under the head is not a sound one of an enrolled key")
        say = f"The head over {self.head.size} records is theirs, and signed."
        return fact("head", faults, say, "The head and the records do not agree.")

    def copies_fact(self, keys: Mapping[str, bytes]) -> Fact:
        """Say whether the files laid out for openssl and ssh-keygen say what the records say.

        Args:
            keys: Key id -> public key.

        Returns:
            The fact.
        """
        expected: dict[str, bytes] = {
            f"data/keys/{ident}.pem": public_pem(key) for ident, key in keys.items()
        }
        if self.head is not None and self.head.stamps:
            expected["data/checkpoint.body"] = self.head.signed
            expected["data/checkpoint.sig"] = unbase64(self.head.stamps[0].rpartition(" ")[2])[4:]
        for record in self.records:
            for kind, field, name in _COPIED:
                if record["type"] == kind and field in record["body"]:
                    expected[name.format(record["seq"])] = str(record["body"][field]).encode()
        present = self.bag.names("data/keys/") + self.bag.names("data/approvals/")
        faults = [
            f"{name} is not what the records say"
            for name in expected
            if self.bag.read(name) != expected[name]
        ]
        faults += [
            f"{name} belongs to no record" for name in present if name not in expected and name not in _LISTS
        ]
        say = "The copies for other tools (keys, texts, signatures) say what the records say."
        return fact("copies", faults, say, "A copy for other tools differs from the records.")

    def seal_fact(self, keys: Mapping[str, bytes]) -> Fact:
        """Say whether an enrolled key signed the list of all files.

        Args:
            keys: Key id -> public key.

        Returns:
            The fact.
        """
        named = re.search(r"^Sealed-By-Key: ([0-9a-f]{64})$", self.bag.text("bag-info.txt"), re.MULTILINE)
        public = keys.get(named[1]) if named else None
        signature, data = self.bag.read("seal.sig"), self.bag.read("tagmanifest-sha256.txt")
        faults = (
            []
            if public and sound(public, signature, data)
            else ["seal.sig does not fit tagmanifest-sha256.txt"]
        )
        return fact(
            "seal", faults, "The list of all files is signed by an enrolled key.", "The seal does not hold."
        )

    def held_fact(self, heads: Sequence[str]) -> Fact:
        """Compare with heads held outside.

        Args:
            heads: Texts of heads, each a whole checkpoint or the short form ``size-XXXX-XXXX-XXXX-XXXX`` as printed.

        Returns:
            Open if there are none, or if a part of a record holds no proof for one of them; failing if one can't be read or
            contradicts this record.
        """
        if not heads:
            say = "No head from outside was given. Compare the print in the site office, or ask the reviewer."
            return Fact("held head", OPEN, say)
        found = {text.strip()[:60]: self._held(text) for text in heads}
        faults = [f"{text!r} contradicts this record" for text, state in found.items() if state == FAILS]
        unproven = [text for text, state in found.items() if state == OPEN]
        if unproven and not faults:
            say = "This part of the record holds no proof for a head held outside; compare it with the whole record."
            return Fact("held head", OPEN, say, tuple(f"{text!r} can't be compared" for text in unproven))
        say = f"Heads held outside that belong to this record: {len(heads)}."
        return fact("held head", faults, say, "A head held outside contradicts this record.")

    def _held(self, text: str) -> str:
        """Whether a head held outside belongs to this record, contradicts it, or can't be compared with the part shown."""
        short, head = _SHORT_FORM.fullmatch(text.strip()), read_head(text.strip() + "\n")
        size = int(short[1]) if short else head.size if head is not None else 0
        if self.head is None or not 0 < size <= self.head.size:
            return FAILS
        if short is not None:
            root = self._root_at(size)
            comparable = root is not None
            same = root is not None and base64.b32encode(root[:10]).decode() == short[2].replace("-", "")
        else:
            comparable = self.whole or size == self.head.size or bool(self._proof_from(size))
            comparable = comparable or head is None or head.origin != self.head.origin
            same = head is not None and head.origin == self.head.origin and self.belongs(size, head.root)
        return HOLDS if same else FAILS if comparable else OPEN

    def _root_at(self, size: int) -> bytes | None:
        """The root over the first records, as far as what is shown proves it."""
        if self.whole:
            return root_over(self.leaves[:size])
        if self.head is not None and size == self.head.size:
            return self.head.root
        named = (root for record in self.records for root in _roots_named(record["body"], size))
        return next((root for root in named if self.belongs(size, root)), None)

    def _proof_from(self, size: int) -> str:
        return self.bag.text(f"data/proofs/consistency-{size}.txt")

    def _whole_faults(self, head: Head) -> list[str]:
        faults = []
        if head.size != len(self.records) or root_over(self.leaves) != head.root:
            faults.append("the head is not the one over these records")
        if not self.records or hashlib.sha256(self.records[-1]["line"]).hexdigest() != head.chain:
            faults.append("the chain value in the head is not that of the last record")
        return faults

    def _proof_faults(self, head: Head) -> list[str]:
        faults = []
        for record, start in zip(self.records, self.leaves, strict=True):
            seq = record["seq"]
            proof = read_proof(self.bag.text(f"data/proofs/{seq}.tlog-proof"), self.checkpoint)
            if proof is None or proof[0] != seq - 1:
                faults.append(f"record {seq} has no proof under this head")
            elif root_through(start, seq - 1, head.size, proof[1]) != head.root:
                faults.append(f"record {seq} is not under this head")
        return faults


def _roots_named(body: Any, size: int) -> Iterator[bytes]:
    """Roots that a record names for a size: in a release, an issued board or the head that a time stamp is over."""
    if not isinstance(body, Mapping):
        return
    if body.get("size") == size:
        yield unbase64(body.get("root"))
    stamped = read_head(str(body.get("checkpoint")))
    if stamped is not None and stamped.size == size:
        yield stamped.root
    for part in body.values():
        yield from _roots_named(part, size)


def _spans(shown: Sequence[int], total: int) -> str:
    """The numbers up to a total that are not shown, runs of them as ``4 to 9``."""
    found, before = [], 0
    for seq in (*sorted(shown), total + 1):
        if seq - before > 1:
            found.append(f"{before + 1}" if seq - before == 2 else f"{before + 1} to {seq - 1}")
        before = seq
    return ", ".join(found)
