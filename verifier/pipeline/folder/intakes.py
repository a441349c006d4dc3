"""What a photo's file claims and shows, taken in once and kept in the record, so that a check need not read it again."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import datetime, timedelta

from pydantic import ValidationError

from verifier.drawing.pour import Pour
from verifier.errors import RecordDamaged
from verifier.photo.intake import Intake, KnownPhoto, take_in
from verifier.photo.place import SiteLimits
from verifier.photo.time_checks import Window
from verifier.record.ledger import Ledger
from verifier.wording import counted

STEEL_LIES_OPEN = timedelta(days=14)
"""How long before the planned start photos may have been taken. Common practice, no source."""


def intake_of(
    data: bytes, name: str, pour: Pour, *, received_at: datetime, known: Sequence[KnownPhoto]
) -> Intake:
    """Take one photo in, with the place and time of its pour.

    Args:
        data: Bytes as received.
        name: File name as received.
        pour: Drawing values.
        received_at: When it arrived.
        known: Photos taken in before.

    Returns:
        Claims and observations.

    Raises:
        BadInput: If it is no readable photo.
    """
    return take_in(
        data,
        name,
        received_at=received_at,
        site=site_limits(pour),
        window=window_of(pour),
        known_photos=known,
    )


def recorded_intakes(ledger: Ledger, pour: Pour) -> dict[str, Intake]:
    """Read what the record holds about its photos, as far as place and time of the pour are still the same.

    Args:
        ledger: The record.
        pour: Drawing values.

    Returns:
        Intakes by the hash of the photo, in the order received.

    Raises:
        RecordDamaged: If one can't be read.
    """
    mark, found = limits_mark(pour), {}
    for record in ledger.records("observation"):
        body = record.body
        if body.get("limits") != mark or "intake_sha256" not in body:
            continue
        try:
            data = ledger.store.objects.read(str(body["intake_sha256"]))
            found[str(body["sha256"])] = Intake.model_validate_json(data)
        except ValidationError as error:
            raise RecordDamaged(
                f"What was observed about {body.get('name')} can't be read ({counted(error.error_count(), 'fault')}).",
                where=str(ledger.store.path),
                todo="Use the version of this program that wrote it, or add the photo again.",
            ) from error
    return found


def window_of(pour: Pour) -> Window:
    """When photos of a pour may have been taken.

    Args:
        pour: Drawing values.

    Returns:
        Two weeks up to the planned start (common practice, no source).
    """
    start = pour.pour.planned_start
    return Window(start=start - STEEL_LIES_OPEN, end=start)


def site_limits(pour: Pour) -> SiteLimits | None:
    """Where photos of a pour may be taken.

    Args:
        pour: Drawing values.

    Returns:
        The fence or circle, None where the drawing file gives none.
    """
    site = pour.pour.site
    if site is None:
        return None
    if site.fence is not None:
        return SiteLimits(fence=site.fence)
    if site.latitude is None or site.longitude is None or site.fence_radius_m is None:
        return None
    return SiteLimits(centre=(site.latitude, site.longitude), radius_m=site.fence_radius_m)


def limits_mark(pour: Pour) -> str:
    """A short text that changes whenever place or time of a pour do.

    Args:
        pour: Drawing values.

    Returns:
        Sixteen hexadecimal digits.
    """
    site = site_limits(pour)
    parts = (site.model_dump_json() if site is not None else "", window_of(pour).model_dump_json())
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:16]
