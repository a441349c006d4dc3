"""The table of attacks in this folder names tests that there are, and no attack is left out of it."""

from __future__ import annotations

import ast
import re
from pathlib import Path

FOLDER = Path(__file__).parent


def attacks_in(pattern: str) -> dict[str, str]:
    """Name -> docstring of every test in the files of this folder."""
    found = {}
    for path in FOLDER.glob(pattern):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                found[node.name] = ast.get_docstring(node) or ""
    return found


def named_in_the_table() -> set[str]:
    table = ast.get_docstring(ast.parse((FOLDER / "conftest.py").read_text(encoding="utf-8"))) or ""
    lines = table.partition("attack    ")[2].splitlines()
    column = re.sub(r"_\s+(?=\w+_)", "_", " ".join(line[42:106].strip() for line in lines))
    return set(re.findall(r"test_\w+", column))


def test_every_attack_in_the_table_is_a_test():
    named = named_in_the_table()
    assert len(named) > 60
    assert named <= set(attacks_in("test_*.py")), named - set(attacks_in("test_*.py"))


def test_every_attack_says_what_it_meets():
    says = re.compile(r"alarm|refused|no bracket|not caught|NOT an alarm", re.IGNORECASE)
    checks_on_the_checks = {
        "test_record_and_audit_fold_names_alike",
        "test_a_name_may_hold_joiners_and_nothing_else_unseen",
        "test_every_attack_in_the_table_is_a_test",
        "test_every_attack_says_what_it_meets",
    }
    silent = {name for name, doc in attacks_in("test_attack_*.py").items() if not says.search(doc)}
    assert silent <= checks_on_the_checks | {
        "test_a_condition_cannot_pretend_to_be_a_field",
        "test_a_key_signs_once",
        "test_an_old_head_beside_a_part_is_not_called_a_contradiction",
    }, silent
