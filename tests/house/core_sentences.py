"""Collects what the core writes for people: every sentence in its source, with its gaps numbered."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

import verifier

CORE = Path(verifier.__file__).parent
PAGE = CORE.parent / "ui"
ELSEWHERE = (
    "cli",
    "report",
    "pipeline/papers",
    "pipeline/concreting/order_draft.py",
    "board/printing.py",
    "record/howto.py",
    "vision/pictures",
)
"""What writes for a terminal, for paper, into a picture or into a file of its own, and never for the page."""
SIGNED = {
    ("record/approval.py", "statement"),
    ("record/audit/release_text.py", "statement"),
    ("record/audit/copies.py", "_listed"),
    ("record/audit/bindings.py", "_lines_of_seal"),
    ("record/timeline.py", "timeline_text"),
    ("pipeline/sealing/disclosing.py", "_labelled"),
}
"""Functions in other files that write what is signed, laid into a bundle or drawn: nobody may read it otherwise than it stands."""
INTERNAL = {"ValueError", "TypeError", "RuntimeError", "KeyError", "IndexError", "AssertionError", "OSError"}
"""What tells a programmer of a mistake; inside a validator it tells the person who typed, and is said on the page."""
_NO_SENTENCE = re.compile(
    r"\n|^\s*(SELECT|INSERT|CREATE|UPDATE|DELETE|PRAGMA|BEGIN|WITH|DROP)\b|^#|\(\?|^\[|\\[dsw]|^\w+ = |^ssh-"
)
_WORD = re.compile(r"(?<![\w{])[A-Za-z][a-z'’-]+(?![\w}])")


def room_of(path: Path) -> str:
    """The room that a file stands in, such as ``rules`` or ``pipeline/intake``."""
    parts = path.relative_to(CORE).parts
    if len(parts) == 1:
        return path.stem
    return "/".join(parts[:2]) if parts[0] == "pipeline" else parts[0]


@cache
def sentences() -> dict[str, dict[str, str]]:
    """Every sentence by room, each with a place where it stands."""
    trees = {p: ast.parse(p.read_text("utf-8")) for p in sorted(CORE.rglob("*.py"))}
    states = {value for tree in trees.values() for value in _states(tree)}
    found: dict[str, dict[str, str]] = {}
    kept = states | set(_signed(trees))
    reached = _reached()
    for path, tree in trees.items():
        name = path.relative_to(CORE).as_posix()
        if path not in reached or any(name == off or name.startswith(f"{off}/") for off in ELSEWHERE):
            continue
        for line, text in _in_tree(tree):
            if text not in kept:
                found.setdefault(room_of(path), {}).setdefault(text, f"{name}:{line}")
    return found


def _signed(trees: Mapping[Path, ast.Module]) -> Iterator[str]:
    """Lines of such texts, wherever else they are looked for."""
    for path, tree in trees.items():
        for node in tree.body:
            if (path.relative_to(CORE).as_posix(), getattr(node, "name", "")) in SIGNED:
                yield from (text for _, text in _in_tree(ast.Module([node], [])))


def _reached() -> set[Path]:
    """Files that the page imports, itself or by way of others: what no page calls, no page shows."""
    found: set[Path] = set()
    waiting = list(PAGE.rglob("*.py"))
    while waiting:
        path = waiting.pop()
        if path not in found:
            found.add(path)
            waiting += [p for name in _imports(path) for p in _files(name) if p.is_file()]
    return found


def _imports(path: Path) -> Iterator[str]:
    package = path.parent.relative_to(CORE.parent).parts
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom):
            above = package[: len(package) + 1 - node.level] if node.level else ()
            base = ".".join((*above, *filter(None, [node.module])))
            yield base
            yield from (f"{base}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


def _files(name: str) -> tuple[Path, Path]:
    place = CORE.parent.joinpath(*name.split("."))
    return place.with_suffix(".py"), place / "__init__.py"


def _states(tree: ast.Module) -> Iterator[str]:
    """Values of literal types: names of states, which the page says in words of its own."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Subscript) and ast.unparse(node.value).endswith("Literal"):
            yield from (n.value for n in ast.walk(node.slice) if isinstance(n, ast.Constant))


def _in_tree(tree: ast.Module) -> Iterator[tuple[int, str]]:
    off = _off(tree)
    for node in ast.walk(tree):
        if id(node) in off:
            continue
        if isinstance(node, ast.Call) and ast.unparse(node.func).endswith("counted"):
            yield from ((node.lineno, text) for text in _counted(node))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            if _is_sentence(node.value):
                yield node.lineno, template(node)
        elif isinstance(node, ast.JoinedStr) and _is_sentence(template(node)):
            yield node.lineno, template(node)
            yield from ((node.lineno, text) for text in _branches(node))


def template(node: ast.expr) -> str:
    """A string as it stands in a catalogue: braces doubled, gaps numbered."""
    if isinstance(node, ast.Constant):
        return str(node.value).replace("{", "{{").replace("}", "}}")
    out, gap = "", 0
    assert isinstance(node, ast.JoinedStr)
    for part in node.values:
        if isinstance(part, ast.Constant):
            out += template(part)
        else:
            out += f"{{{gap}}}"
            gap += 1
    return out


def _is_sentence(text: str) -> bool:
    return len(_WORD.findall(text)) >= 3 and text.count(" ") >= 2 and not _NO_SENTENCE.search(text)


def counted_things() -> set[str]:
    """Every noun that the core counts, with its number as a gap."""
    trees = (ast.parse(path.read_text("utf-8")) for path in CORE.rglob("*.py"))
    calls = (n for tree in trees for n in ast.walk(tree) if isinstance(n, ast.Call))
    return {text for call in calls if ast.unparse(call.func).endswith("counted") for text in _counted(call)}


def _counted(node: ast.Call) -> Iterator[str]:
    one, *many = [a.value for a in node.args[1:] if isinstance(a, ast.Constant)] or [""]
    if one:
        yield f"{{0}} {one}"
        yield f"{{0}} {many[0] if many else one + 's'}"


def _branches(node: ast.JoinedStr) -> Iterator[str]:
    """Pieces that a sentence takes in or leaves out, each of at least one word."""
    for part in node.values:
        if isinstance(part, ast.FormattedValue):
            for choice in ast.walk(part.value):
                if isinstance(choice, ast.IfExp):
                    for branch in (choice.body, choice.orelse):
                        if isinstance(branch, ast.Constant | ast.JoinedStr):
                            text = template(branch)
                            if _WORD.search(text):
                                yield text


def _off(tree: ast.Module) -> set[int]:
    """Nodes that no person reads: docstrings, parts of f-strings, names compared with, keys, errors for programmers."""
    off: set[int] = set()

    def drop(node: ast.AST) -> None:
        off.update(id(n) for n in ast.walk(node))

    for node in ast.walk(tree):
        match node:
            case ast.Expr(value=ast.Constant() as doc):
                drop(doc)
            case ast.JoinedStr():
                for part in node.values:
                    if isinstance(part, ast.Constant):
                        drop(part)
                    elif isinstance(part, ast.FormattedValue) and part.format_spec is not None:
                        drop(part.format_spec)
            case ast.Compare() | ast.Assert():
                drop(node)
            case ast.keyword(arg="command"):  # told in a terminal only
                drop(node)
            case ast.Subscript():
                drop(node.slice)
            case ast.Call(func=ast.Attribute(value=ast.Name(id="re" | "log" | "logging"))):
                drop(node)
    for function in (n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)):
        if not any("validator" in ast.unparse(d) for d in function.decorator_list):
            for node in ast.walk(function):
                match node:
                    case ast.Raise(exc=ast.Call(func=ast.Name(id=name))) if name in INTERNAL:
                        drop(node)
    return off
