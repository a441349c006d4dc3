"""What an attacker with write access, and perhaps with keys, can do; it goes around every check that the record makes."""

from __future__ import annotations

import base64
import hashlib
import struct
import zlib
from pathlib import Path

from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat, load_ssh_private_key

from verifier.record import merkle
from verifier.record.audit import container
from verifier.record.canonical import canonical, sha256_hex, signable, utc_text
from verifier.record.checkpoint import Head, sign_head
from verifier.record.ledger import Ledger
from verifier.record.public_keys import key_id
from verifier.record.records import FIRST_PREV, read_record


def signed_line(pour: str, seq: int, prev: str, kind: str, body, signer, at) -> bytes:
    raw = {
        "v": 1,
        "seq": seq,
        "prev": prev,
        "type": kind,
        "pour": pour,
        "by": key_id(signer.public),
        "at": utc_text(at),
        "body": signable(body),
    }
    raw["sig"] = base64.b64encode(signer.sign(canonical(raw))).decode()
    return canonical(raw)


def slip_in(ledger: Ledger, kind: str, body, signer, at) -> None:
    """Write a well-formed, well-chained record into the database without asking the ledger."""
    last = ledger.records()[-1]
    line = signed_line(ledger.pour, last.seq + 1, last.sha256, kind, body, signer, at)
    with ledger.store.rows.writing() as writer:
        writer.add(last.seq + 1, line)
    ledger.records()


def rechained(lines: list[bytes], signer) -> list[bytes]:
    """Renumber and chain lines again, and sign those of the key at hand anew; others keep their old signature."""
    out, prev = [], FIRST_PREV
    for seq, line in enumerate(lines, 1):
        record = read_record(line)
        raw = {
            "v": 1,
            "seq": seq,
            "prev": prev,
            "type": record.type,
            "pour": record.pour,
            "by": record.by,
            "at": record.at,
            "body": dict(record.body),
        }
        own = signer is not None and record.by == key_id(signer.public)
        raw["sig"] = base64.b64encode(signer.sign(canonical(raw))).decode() if own else record.sig
        out.append(canonical(raw))
        prev = sha256_hex(out[-1])
    return out


def resigned(lines: list[bytes], victim: str, thief, device) -> list[bytes]:
    """Chain lines again; those of one key are signed by another one under its name, and the device's by the device."""
    out, prev = [], FIRST_PREV
    for line in lines:
        record = read_record(line)
        raw = {name: getattr(record, name) for name in ("seq", "type", "pour", "by", "at")}
        raw |= {"v": 1, "prev": prev, "body": dict(record.body)}
        signer = thief if record.by == victim else device if record.by == key_id(device.public) else None
        raw["sig"] = base64.b64encode(signer.sign(canonical(raw))).decode() if signer else record.sig
        out.append(canonical(raw))
        prev = sha256_hex(out[-1])
    return out


def lines_of(bag: Path) -> list[bytes]:
    return (bag / "data/ledger.jsonl").read_bytes().split(b"\n")[:-1]


def write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    if path.exists():
        path.chmod(0o644)
    path.write_bytes(data)


def put_lines(bag: Path, lines: list[bytes], device) -> None:
    """Lay down other records with a fresh head over them, signed by the device's key, and renew copies and proofs."""
    origin = (bag / "data/checkpoint.txt").read_text(encoding="utf-8").split("\n")[0]
    head = Head(
        origin,
        len(lines),
        merkle.root([merkle.leaf_hash(x) for x in lines]),
        hashlib.sha256(lines[-1]).digest(),
    )
    note = sign_head(head, device)
    text, stamps = note.split("\n\n", 1)
    write(bag / "data/ledger.jsonl", b"".join(line + b"\n" for line in lines))
    write(bag / "data/checkpoint.txt", note.encode())
    write(bag / "data/checkpoint.body", (text + "\n").encode())
    write(bag / "data/checkpoint.sig", base64.b64decode(stamps.split("\n")[0].rpartition(" ")[2])[4:])
    renew_proofs(bag, [merkle.leaf_hash(x) for x in lines], note)


def renew_proofs(bag: Path, leaves: list[bytes], note: str) -> None:
    """Make every proof that a whole bundle holds anew, and throw away those for records that are gone."""
    tree = merkle.levels(leaves)
    for path in (bag / "data/proofs").glob("*"):
        number = int(path.name.removeprefix("consistency-").partition(".")[0])
        path.chmod(0o644)
        if number > len(leaves):
            path.unlink()
            continue
        whole = path.name.startswith("consistency-")
        proof = merkle.consistency_proof(leaves, number) if whole else merkle.path(tree, number - 1)
        hashes = "".join(f"{base64.b64encode(h).decode()}\n" for h in proof)
        head = "" if whole else f"c2sp.org/tlog-proof@v1\nindex {number - 1}\n"
        path.write_text(head + hashes + ("" if whole else f"\n{note}"), encoding="utf-8")


def reseal(bag: Path, device) -> None:
    """Compute all lists anew and sign them with the device's key, as whoever stole the device could."""
    payload = sorted(p.relative_to(bag).as_posix() for p in (bag / "data").rglob("*") if p.is_file())
    tags = ["HOW-TO-CHECK.txt", "bag-info.txt", "bagit.txt", "manifest-sha256.txt", "manifest-sha512.txt"]
    for prefix, names in (("manifest", payload), ("tagmanifest", tags)):
        for kind in ("sha256", "sha512"):
            sums = "".join(f"{hashlib.new(kind, (bag / n).read_bytes()).hexdigest()}  {n}\n" for n in names)
            write(bag / f"{prefix}-{kind}.txt", sums.encode())
    write(bag / "seal.sig", device.sign((bag / "tagmanifest-sha256.txt").read_bytes()))


def packed(files: dict[str, bytes], out: Path, top: str = "P-record") -> Path:
    """Write a container exactly as sealing does, under whatever names: every byte of it is as it should be."""
    body, directory = b"", b""
    for name, content in files.items():
        raw = f"{top}/{name}".encode()
        crc = zlib.crc32(content)
        directory += container.central_header(raw, crc, len(content), len(body))
        body += container.local_header(raw, crc, len(content)) + content
    out.write_bytes(body + directory + container.end_records(len(files), len(directory), len(body)))
    return out


def files_of(bag: Path) -> dict[str, bytes]:
    return {p.relative_to(bag).as_posix(): p.read_bytes() for p in sorted(bag.rglob("*")) if p.is_file()}


def own_machine_signature(key: Path, passphrase: str, text: str, namespace: str = "pour-release") -> str:
    """What ``ssh-keygen -Y sign`` writes (OpenSSH, PROTOCOL.sshsig), made here from the opened key."""
    private = load_ssh_private_key(key.read_bytes(), passphrase.encode())
    public = private.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)

    def strings(*parts: bytes) -> bytes:
        return b"".join(struct.pack(">I", len(part)) + part for part in parts)

    digest = hashlib.sha512(text.encode()).digest()
    raw = private.sign(b"SSHSIG" + strings(namespace.encode(), b"", b"sha512", digest))
    blob = b"SSHSIG" + struct.pack(">I", 1)
    blob += strings(
        strings(b"ssh-ed25519", public), namespace.encode(), b"", b"sha512", strings(b"ssh-ed25519", raw)
    )
    body = base64.encodebytes(blob).decode()
    return f"-----BEGIN SSH SIGNATURE-----\n{body}-----END SSH SIGNATURE-----\n"
