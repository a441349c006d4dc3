"""What must hold for the tree as a whole."""

from __future__ import annotations

import ast
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCES = sorted(p for room in ("verifier", "ui") for p in (ROOT / room).rglob("*.py"))


def public_functions(tree: ast.Module) -> list[ast.FunctionDef]:
    """Top-level functions and methods of public classes that don't start with an underscore."""
    found: list[ast.FunctionDef] = []
    for node in tree.body:
        if isinstance(node, ast.FunctionDef):
            found.append(node)
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            found += [n for n in node.body if isinstance(n, ast.FunctionDef)]
    return [f for f in found if not f.name.startswith("_")]


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: str(p.relative_to(ROOT)))
def test_every_argument_of_a_public_function_is_explained(path: Path) -> None:
    missing = []
    for function in public_functions(ast.parse(path.read_text(encoding="utf-8"))):
        names = [a.arg for a in (*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs)]
        names = [n for n in names if n not in ("self", "cls")]
        doc = ast.get_docstring(function) or ""
        validator = any("validator" in ast.unparse(d) for d in function.decorator_list)
        command = any(".command" in ast.unparse(d) for d in function.decorator_list)
        if not doc:
            missing.append(f"{function.name}: no docstring")
        elif names and not validator and not command:
            missing += [f"{function.name}: {n}" for n in names if not re.search(rf"\b{n}\b", doc)]
    assert not missing, f"{path.relative_to(ROOT)}: {missing}"


def tracked_files() -> list[str]:
    done = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        pytest.skip("not a git checkout: nothing to list")
    return [name for name in done.stdout.split("\0") if name]


def test_top_level_holds_the_agreed_names_only() -> None:
    agreed = {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "pyproject.toml",
        "verifier",
        "ui",
        "tests",
        "sample_images",
    }
    top = {name.split("/")[0] for name in tracked_files()}
    assert {name for name in top - agreed if not name.startswith(".")} == set()


def test_no_file_is_larger_than_the_tree_can_bear() -> None:
    heavy = [n for n in tracked_files() if (ROOT / n).is_file() and (ROOT / n).stat().st_size > 12_000_000]
    assert heavy == []


def test_the_readme_and_continuous_integration_run_the_same_check_command() -> None:
    command = "bash tests/check.sh"
    assert command in (ROOT / "README.md").read_text(encoding="utf-8")
    assert command in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
