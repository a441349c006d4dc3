"""A damaged data file of a code is an error that names file and key; no default stands in for a missing figure."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from verifier.codes import load, load_code
from verifier.errors import BadInput

uncached = load_code.__wrapped__
real_table = load._table


def damaged(monkeypatch: pytest.MonkeyPatch, name: str, change: Any) -> None:
    def table(file: str) -> dict[str, Any]:
        out = copy.deepcopy(real_table(file))
        if file == name:
            change(out)
        return out

    monkeypatch.setattr(load, "_table", table)


def test_an_unknown_code_names_the_nearest() -> None:
    with pytest.raises(BadInput, match='Nearest is "IS 456:2000"'):
        load_code("IS456")


def test_a_missing_key(monkeypatch: pytest.MonkeyPatch) -> None:
    damaged(monkeypatch, "is456_2000.toml", lambda table: table["spacing"]["main"].pop("cap_mm"))
    with pytest.raises(BadInput, match=r"is456_2000\.toml, spacing\.main\.cap_mm"):
        uncached("IS 456:2000")


def test_an_unknown_key(monkeypatch: pytest.MonkeyPatch) -> None:
    damaged(monkeypatch, "is456_2000.toml", lambda table: table["spacing"]["main"].update(cap_cm=30))
    with pytest.raises(BadInput, match=r"spacing\.main\.cap_cm"):
        uncached("IS 456:2000")


def test_a_clause_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    damaged(monkeypatch, "as3600_2018.toml", lambda table: table["minimum"]["slab"].pop("clause"))
    with pytest.raises(BadInput, match=r"minimum\.slab\..*clause"):
        uncached("AS 3600:2018")


def test_a_figure_of_the_wrong_sign(monkeypatch: pytest.MonkeyPatch) -> None:
    damaged(monkeypatch, "aci117_10.toml", lambda table: table["tolerance"]["spacing"].update(fixed_mm=-75))
    with pytest.raises(BadInput, match=r"tolerance\.spacing\..*fixed_mm"):
        uncached("ACI 318-19")


def test_one_rule_in_two_files(monkeypatch: pytest.MonkeyPatch) -> None:
    damaged(
        monkeypatch,
        "en13670_2009.toml",
        lambda table: table.update(spacing={"main": {"clause": "x", "status": "read"}}),
    )
    with pytest.raises(BadInput, match="stands in the code and in its companion"):
        uncached("EN 1992-1-1:2004")
