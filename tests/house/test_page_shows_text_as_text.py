"""Nothing that came from elsewhere is rendered as Markdown or HTML on the page; streamlit's own calls get our words only."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from ui.parts import plain
from ui.words import english

UI = Path(__file__).parents[2] / "ui"
SOURCES = sorted(UI.rglob("*.py"))

READS_MARKDOWN = {
    "badge", "button", "caption", "checkbox", "download_button", "error", "exception", "expander", "feedback",
    "file_uploader", "form_submit_button", "header", "info", "link_button", "markdown", "metric", "multiselect",
    "number_input", "page_link", "pills", "popover", "progress", "radio", "segmented_control", "select_slider",
    "selectbox", "slider", "spinner", "status", "subheader", "success", "table", "tabs", "text_area", "text_input",
    "title", "toast", "toggle", "warning", "write", "write_stream",
}  # fmt: skip
FORBIDDEN = {"markdown", "write", "write_stream", "table"}
NUMBERS_ONLY = {"count", "done", "total"}


def own_words(node: ast.expr) -> bool:
    """A literal, one of the page's words, or one of them with counts filled in."""
    match node:
        case ast.Constant():
            return True
        case ast.Attribute(value=ast.Name(id="words")):
            return True
        case ast.Subscript(value=inner):
            return own_words(inner)
        case ast.Call(func=ast.Attribute(value=inner, attr="format"), args=[], keywords=keywords):
            return own_words(inner) and all(k.arg in NUMBERS_ONLY or escaped(k.value) for k in keywords)
        case ast.Call() if escaped(node):
            return True
        case ast.Name(id=("label" | "unit" | "title")):
            return True  # handed on by a part whose own callers are checked here, too
        case ast.IfExp(body=first, orelse=second):
            return own_words(first) and own_words(second)
    return False


def escaped(node: ast.expr) -> bool:
    """Foreign text with every sign that Markdown reads escaped."""
    return isinstance(node, ast.Call) and ast.unparse(node.func) == "plain.label"


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: str(p.relative_to(UI)))
def test_labels_are_the_pages_own_words(path: Path) -> None:
    wrong = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute):
            continue
        owner = node.func.value
        if not (
            isinstance(owner, ast.Name) and owner.id in ("st", "left", "middle", "right", "bar", "linked")
        ):
            continue
        name = node.func.attr
        if name in FORBIDDEN:
            wrong.append(f"line {node.lineno}: st.{name} reads Markdown")
        if name not in READS_MARKDOWN and name != "choice":
            continue
        shown = [
            k.value for k in node.keywords if k.arg in ("label", "text", "help", "caption", "placeholder")
        ]
        if name not in ("page_link", "progress"):
            shown += node.args[:1]
        wrong += [
            f"line {node.lineno}: {ast.unparse(value)} is not of the page's own words"
            for value in shown
            if not own_words(value)
        ]
    assert wrong == []


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: str(p.relative_to(UI)))
def test_html_allows_no_script(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert "unsafe_allow_html" not in text
    assert "unsafe_allow_javascript" not in text


@pytest.mark.parametrize(
    "foreign", ["![x](http://a.example/b.png)", "<b>*c*</b>", ":red[d] `e` $f$", "www.g.example"]
)
def test_a_foreign_label_has_no_sign_that_markdown_reads(foreign: str) -> None:
    shown = plain.label(foreign)
    assert re.findall(r"(?<!\\)[!-/:-@\[\]-`{-~]", shown) == []
    assert re.sub(r"\\(.)", r"\1", shown) == foreign


def test_every_word_is_used() -> None:
    everything = "".join(p.read_text(encoding="utf-8") for p in SOURCES if p.parent.name != "words")
    everything += "words.LANGUAGE_NAME"  # asked of each language's own file
    names = [name for name in vars(english) if name.isupper()]
    assert [name for name in names if f"words.{name}" not in everything] == []
