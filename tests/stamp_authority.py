"""A time stamp authority for tests, made of a few openssl commands; it answers over HTTP, too."""

from __future__ import annotations

import http.server
import shutil
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

OPENSSL = shutil.which("openssl") or "openssl"
CONFIG = """
[tsa]
default_tsa = one
[one]
dir = .
serial = ./serial
signer_cert = ./signer.pem
signer_key = ./signer.key
{certs}
default_policy = 1.2.3.4.1
digests = sha256, sha512
signer_digest = sha256
accuracy = secs:1
ess_cert_id_alg = sha256
[signer]
basicConstraints = critical,CA:FALSE
keyUsage = critical,digitalSignature
extendedKeyUsage = {purpose}
[root]
basicConstraints = critical,CA:TRUE
keyUsage = critical,keyCertSign
"""


def openssl(folder: Path, *arguments: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run([OPENSSL, *arguments], cwd=folder, capture_output=True, check=False)


@dataclass
class Authority:
    """A test authority made of a few openssl commands: own root, a signing certificate under it."""

    folder: Path
    kind: str

    @property
    def chain(self) -> bytes:
        return (self.folder / "root.pem").read_bytes() + (self.folder / "signer.pem").read_bytes()

    def stamp(self, request: bytes) -> bytes:
        (self.folder / "q.tsq").write_bytes(request)
        made = openssl(
            self.folder,
            "ts",
            "-reply",
            "-config",
            "ts.cnf",
            "-section",
            "one",
            "-queryfile",
            "q.tsq",
            "-out",
            "r.tsr",
        )
        assert made.returncode == 0, made.stderr
        return (self.folder / "r.tsr").read_bytes()

    def judged_by_openssl(self, response: bytes, data: bytes) -> bool:
        (self.folder / "data").write_bytes(data)
        (self.folder / "check.tsr").write_bytes(response)
        result = openssl(
            self.folder, "ts", "-verify", "-data", "data", "-in", "check.tsr", "-CAfile", "root.pem"
        )
        return result.returncode == 0


def make_authority(folder: Path, *, kind: str = "EC", purpose: str = "critical,timeStamping") -> Authority:
    folder.mkdir(parents=True)
    (folder / "serial").write_text("01", encoding="utf-8")
    new_key = (
        ["-newkey", "rsa:2048"] if kind == "RSA" else ["-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256"]
    )
    steps = [
        [
            "req",
            "-x509",
            *new_key,
            "-nodes",
            "-keyout",
            "root.key",
            "-out",
            "root.pem",
            "-days",
            "30",
            "-subj",
            "/CN=test root",
            "-config",
            "ts.cnf",
            "-extensions",
            "root",
        ],
        [
            "req",
            "-new",
            *new_key,
            "-nodes",
            "-keyout",
            "signer.key",
            "-out",
            "signer.csr",
            "-subj",
            "/CN=test authority",
            "-config",
            "ts.cnf",
        ],
        [
            "x509",
            "-req",
            "-in",
            "signer.csr",
            "-CA",
            "root.pem",
            "-CAkey",
            "root.key",
            "-CAcreateserial",
            "-out",
            "signer.pem",
            "-days",
            "20",
            "-extfile",
            "ts.cnf",
            "-extensions",
            "signer",
        ],
    ]
    (folder / "ts.cnf").write_text(
        "[req]\ndistinguished_name = dn\n[dn]\n"
        + CONFIG.format(purpose=purpose, certs="certs = ./root.pem" if kind == "RSA" else ""),
        encoding="utf-8",
    )
    for step in steps:
        made = openssl(folder, *step)
        assert made.returncode == 0, made.stderr
    return Authority(folder, kind)


@contextmanager
def answering(authority: Authority) -> Iterator[str]:
    """Let the authority answer over HTTP (RFC 3161, 3.4); gives its address."""

    class Answer(http.server.BaseHTTPRequestHandler):
        def do_POST(self):
            assert self.headers["Content-Type"] == "application/timestamp-query"
            body = authority.stamp(self.rfile.read(int(self.headers["Content-Length"])))
            self.send_response(200)
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *args):
            """Keep the test quiet."""

    server = http.server.HTTPServer(("127.0.0.1", 0), Answer)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/"
    finally:
        server.shutdown()
        server.server_close()
