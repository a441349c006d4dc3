"""Two rules of the record room: the audit stands alone, and it judges by the same table as the record."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import verifier
from verifier.pipeline.concreting.closing import ROLE_OF_POST
from verifier.pipeline.release.released import LAPSES_WITH
from verifier.record.approval import BOUND_LATER
from verifier.record.audit import policy
from verifier.record.kinds import CLOSING_RESTS_ON, KINDS, VERSIONS

AUDIT = Path(verifier.__file__).parent / "record" / "audit"


def test_the_audit_needs_only_the_standard_library_and_cryptography():
    allowed = {*sys.stdlib_module_names, "cryptography"}
    for path in AUDIT.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                assert {alias.name.partition(".")[0] for alias in node.names} <= allowed, path.name
            elif isinstance(node, ast.ImportFrom) and node.level == 0:
                assert (node.module or "").partition(".")[0] in allowed, path.name


def test_record_and_audit_agree_on_every_kind_of_event():
    assert set(KINDS) == policy.KINDS
    assert {name for name, kind in KINDS.items() if kind.person} == policy.PERSON
    assert {name for name, kind in KINDS.items() if kind.documents} == policy.DOCUMENTS
    assert {name for name, kind in KINDS.items() if kind.neutral} == policy.NEUTRAL
    assert policy.VERSIONS == VERSIONS
    assert policy.LAPSES_WITH == LAPSES_WITH
    assert policy.CLOSING_RESTS_ON == CLOSING_RESTS_ON
    assert policy.BOUND_LATER == BOUND_LATER
    assert {post: set(roles) for post, roles in policy.CLOSING_ROLES.items()} == {
        post: set(roles) for post, roles in ROLE_OF_POST.items()
    }
    assert {name: kind.roles for name, kind in KINDS.items() if kind.roles} == policy.ROLES


def test_the_record_loads_no_pixels():
    code = "import sys, verifier.record, verifier.record.bundle, verifier.record.stamps; sys.exit(bool({'cv2', 'numpy', 'streamlit'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
