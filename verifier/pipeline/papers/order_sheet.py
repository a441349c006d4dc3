"""The order sheet as one printed page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from verifier.concrete.order import order_rows
from verifier.drawing.read import read_pour
from verifier.pipeline.concreting.orders import Order
from verifier.pipeline.papers.inches import beside
from verifier.report.typeset import order_pdf

STATEMENT = (
    "Volume and grade are those of the drawing values of this pour; the drawing and the engineer of record govern. "
    "Who is named on this sheet refuses a load and orders water; nobody else."
)


def order_sheet_pdf(folder: Path, order: Order) -> bytes:
    """Set the order sheet.

    Args:
        folder: The pour folder.
        order: The order as it stands.

    Returns:
        PDF bytes; one page.

    Raises:
        BadInput: If the drawing values can't be used, or a letter can't be shown by any font.
    """
    sheet, pour = order.sheet, read_pour(folder).pour
    rows = order_rows(sheet)
    shown = {"Concrete order", "Volume", "Rate", "First truck on site"}
    data: dict[str, Any] = {
        "pour": sheet.pour,
        "title": pour.title,
        "large": [
            ["Grade", sheet.grade],
            ["Volume", f"{sheet.volume_m3:g} m³"],
            ["Rate", f"{sheet.rate_m3_per_h:g} m³/h"],
            ["First truck", f"{sheet.first_truck_at:%d %b, %H:%M}"],
        ],
        "rows": [[name, text.replace(" m3", " m³")] for name, text in rows if name not in shown]
        + [
            ["Balance", f"called by {sheet.balance_called_by}"],
            ["Date", f"{sheet.first_truck_at:%A %Y-%m-%d, zone %z}"],
        ],
        "points": [f"{p.says} {p.clears}" for p in order.points],
        "statement": STATEMENT,
    }
    if pour.units == "inch":
        # The boxes hold one line of large letters, so the other unit stands in the small one above it.
        data["large"] = [[name + beside(text)[len(text) :], text] for name, text in data["large"]]
        data["rows"] = [[name, beside(text)] for name, text in data["rows"]]
        data["points"] = [beside(text) for text in data["points"]]
    return order_pdf(data, sheet.ordered_at or sheet.first_truck_at)
