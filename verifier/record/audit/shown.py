"""The records that a bundle shows: their form, their chain, the originals they name, and the head over them."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

from .canonical_form import named_objects, parsed_record, signed_part, unbase64
from .container import Bag
from .facts import FAILS, OPEN, Fact, fact
from .signatures import sound
from .tree import Head, grown, head_signers, leaf, read_head, read_proof, root_over, root_through

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
        return self._grew(size, root)

    def chain_fact(self) -> Fact:
        """Say whether every record follows from the one before it.

        Returns:
            The fact; open for a part of a record, with the numbers that it leaves out.
        """
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
        if not self.whole and self._said_in_front("Record-Extent").startswith("whole,"):
            faults.append("records are missing, though the bundle says that it is whole")
        if faults or self.whole:
            return fact(
                "chain",
                faults,
                f"Records: {len(self.records)}, each where it belongs in the chain.",
                "The chain is broken.",
            )
        total = self.head.size if self.head else 0
        missing = _spans([r["seq"] for r in self.records], total)
        return Fact(
            "chain",
            OPEN,
            f"Records shown: {len(self.records)} of {total}; the others can't be judged here.",
            (f"this bundle does not hold records {missing}",),
        )

    def originals_fact(self) -> Fact:
        """Say whether every original that a record names is here with its bytes.

        Returns:
            The fact; open where a part holds some of them back.
        """
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
            elif shelf in _SHELVES and len(stem) == 64 and stem not in named:
                faults.append(f"no record shown names {name}")
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
            f"Originals named: {len(named)}, all here and unchanged.",
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
        return fact("signatures", faults, f"Signatures: {len(self.records)}, all sound.", "Signatures fail.")

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
        faults += self._name_faults(self.head)
        signers, clean = head_signers(self.head, keys)
        if not signers or not clean:
            faults.append(
                "a signature under the head is not a sound one of an enrolled key that is not revoked"
            )
        say = f"The head is the one over these records ({self.head.size}), and signed."
        return fact("head", faults, say, "The head and the records do not agree.")

    def seal_fact(self, keys: Mapping[str, bytes]) -> Fact:
        """Say whether an enrolled key signed the list of all files.

        Args:
            keys: Key id -> public key.

        Returns:
            The fact.
        """
        public = keys.get(self._said_in_front("Sealed-By-Key"))
        signature, data = self.bag.read("seal.sig"), self.bag.read("tagmanifest-sha256.txt")
        faults = (
            []
            if public and sound(public, signature, data)
            else ["seal.sig does not fit tagmanifest-sha256.txt"]
        )
        return fact(
            "seal", faults, "The list of all files is signed by an enrolled key.", "The seal does not hold."
        )

    def _grew(self, size: int, root: bytes) -> bool:
        """Whether the proof in the bundle leads from an earlier head to this one."""
        proof = [unbase64(line) for line in self.proof_from(size).split()]
        return self.head is not None and grown(size, root, self.head.size, self.head.root, proof)

    def proof_from(self, size: int) -> str:
        """Return the proof in the bundle that this head grew from an earlier one.

        Args:
            size: Number of records under the earlier head.

        Returns:
            Text of hashes; empty if there is none.
        """
        return self.bag.text(f"data/proofs/consistency-{size}.txt")

    def _name_faults(self, head: Head) -> list[str]:
        """What is said of whose record this is: by the head, and by the list that stands in front of the bundle."""
        faults = []
        if any(head.origin != f"pour-record/{quote(record['pour'], safe='')}" for record in self.records):
            faults.append("the head is made out for the record of another pour")
        if self._said_in_front("External-Identifier") != head.origin:
            faults.append("bag-info.txt names another record")
        return faults

    def _said_in_front(self, label: str) -> str:
        """The value of an entry of bag-info.txt; nothing if it is there twice, for readers may take either."""
        lines = self.bag.text("bag-info.txt").split("\n")
        found = [line.partition(": ")[2] for line in lines if line.partition(":")[0].lower() == label.lower()]
        return found[0] if len(found) == 1 else ""

    def _whole_faults(self, head: Head) -> list[str]:
        faults = []
        if head.size != len(self.records) or root_over(self.leaves) != head.root:
            faults.append("the head is not the one over these records")
        if not self.records or hashlib.sha256(self.records[-1]["line"]).hexdigest() != head.chain:
            faults.append("the chain value in the head is not that of the last record")
        for seq in self._numbers("data/proofs/", ".tlog-proof"):
            if not 0 < seq <= len(self.records) or not self._proven(seq, self.leaves[seq - 1], head):
                faults.append(f"the proof for record {seq} is none")
        for size in self._numbers("data/proofs/consistency-", ".txt"):
            if not self._grew(size, root_over(self.leaves[:size])):
                faults.append(f"the proof for the head up to record {size} is none")
        return faults

    def _proof_faults(self, head: Head) -> list[str]:
        faults = []
        for record, start in zip(self.records, self.leaves, strict=True):
            if not self._proven(record["seq"], start, head):
                faults.append(f"record {record['seq']} has no proof under this head")
        return faults

    def _numbers(self, before: str, behind: str) -> list[int]:
        """The numbers in the names of files that begin and end so."""
        middles = (n[len(before) : -len(behind)] for n in self.bag.names(before) if n.endswith(behind))
        return [int(middle) for middle in middles if re.fullmatch(r"\d{1,9}", middle, re.ASCII)]

    def _proven(self, seq: int, start: bytes, head: Head) -> bool:
        """Whether the bundle holds a proof that a record is under its head."""
        proof = read_proof(self.bag.text(f"data/proofs/{seq}.tlog-proof"), self.checkpoint)
        if proof is None or proof[0] != seq - 1:
            return False
        return root_through(start, seq - 1, head.size, proof[1]) == head.root


def _spans(shown: Sequence[int], total: int) -> str:
    """The numbers up to a total that are not shown, runs of them as ``4-9``."""
    found, before = [], 0
    for seq in (*sorted(shown), total + 1):
        if seq - before > 1:
            found.append(f"{before + 1}" if seq - before == 2 else f"{before + 1}-{seq - 1}")
        before = seq
    return ", ".join(found)
