"""Observations: what a photo's bytes and claims show. Each with value, limit and source; none is a verdict."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import BaseModel, Field

HOW_TO_SEND = (
    "Send the photo as the phone stored it: by cable, mail, or in a chat 'as file' or 'as document'."
)


class ObservationKey(StrEnum):
    """What was observed."""

    NO_EXIF = "no-exif"
    SEVERAL_EXIF_BLOCKS = "several-exif-blocks"
    EXIF_FAULT = "exif-fault"
    READERS_DIFFER = "readers-differ"
    SECOND_READER_FAILED = "second-reader-failed"
    DECODER_REMARK = "decoder-remark"
    NAME_AND_CONTENT_DIFFER = "name-and-content-differ"
    NO_CAPTURE_TIME = "no-capture-time"
    NO_POSITION = "no-position"
    NO_CAMERA = "no-camera"
    OUTSIDE_SITE = "outside-site"
    OUTSIDE_WINDOW = "outside-window"
    CLOCK_AGAINST_GPS = "clock-against-gps"
    ZONE_AGAINST_GPS = "zone-against-gps"
    AFTER_RECEIPT = "after-receipt"
    RECEIVED_LATE = "received-late"
    EDITING_SOFTWARE = "editing-software"
    MODIFIED_LATER = "modified-later"
    SIZE_AGAINST_EXIF = "size-against-exif"
    PNG_NOT_FROM_CAMERA = "png-not-from-camera"
    NARROWED = "narrowed"
    SAVED_BY_LIBRARY = "saved-by-library"
    SAME_FILE = "same-file"
    SAME_PICTURE = "same-picture"
    LIKE_PICTURE = "like-picture"
    THUMBNAIL_DIFFERS = "thumbnail-differs"
    COUNTER_AGAINST_TIME = "counter-against-time"
    BRIGHT_AT_NIGHT = "bright-at-night"


class Observation(BaseModel, frozen=True, extra="forbid"):
    """One thing seen on a photo.

    ``weight`` says whether it is worth knowing (``note``) or must be answered before the photo can count
    (``warning``). ``value`` is what was found and ``limit`` what it was held against, both in ``unit``. ``says`` is what
    it means, ``todo`` what to do about it, ``source`` where the check and its limit come from.
    """

    key: ObservationKey
    weight: Literal["note", "warning"]
    value: Annotated[float, Field(allow_inf_nan=False)] | str
    limit: Annotated[float, Field(allow_inf_nan=False)] | str | None = None
    unit: str = ""
    says: str
    todo: str
    source: str
