"""The append-only record: signed ledger, sealed bundle and its independent check."""

from verifier.record.approval import Approval, HeldHead
from verifier.record.canonical import signable
from verifier.record.checkpoint import Head, read_head, sign_head
from verifier.record.keys import DeviceSigner, PersonSigner, Signer, device_signer, make_person_key
from verifier.record.ledger import Entry, Ledger, Record

__all__ = [
    "Approval",
    "DeviceSigner",
    "Entry",
    "Head",
    "HeldHead",
    "Ledger",
    "PersonSigner",
    "Record",
    "Signer",
    "device_signer",
    "make_person_key",
    "read_head",
    "sign_head",
    "signable",
]
