"""The process that runs the second Exif reader: a damaged block may hang it or eat its memory, and nothing else.

Run by path, it answers each line of standard input (an Exif block in base64) with one line of JSON.
"""

from __future__ import annotations

import base64
import io
import json
import logging
import sys
from typing import Any

import exifread

MEMORY_BYTES = 512 * 1024 * 1024
_LONGEST = 64


def _plain(values: Any) -> str | list[float | None]:
    if isinstance(values, bytes):
        values = values.decode("latin-1")
    if isinstance(values, str):
        return values[:256]
    return [_number(value) for value in values[:_LONGEST]]


def _number(value: Any) -> float | None:
    if isinstance(value, tuple):  # this reader wraps a number of type DOUBLE
        (value,) = value
    try:
        return float(value)
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None


def read(block: bytes) -> dict[str, Any]:
    """Read a TIFF-structured Exif block.

    Args:
        block: The block, from its byte-order mark on.

    Returns:
        Values by directory and tag number, such as ``EXIF:36867``.
    """
    tags = exifread.process_file(io.BytesIO(block), details=False, extract_thumbnail=False)
    return {
        f"{name.split(' ')[0]}:{tag.tag}": _plain(tag.values)
        for name, tag in tags.items()
        if name.split(" ")[0] in ("Image", "EXIF", "GPS") and isinstance(tag.values, str | bytes | list)
    }


def main() -> None:
    """Answer until the input ends."""
    logging.disable(logging.CRITICAL)
    if sys.platform != "win32":
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    sys.stdout.write("ready\n")
    sys.stdout.flush()
    for line in sys.stdin.buffer:
        answer: dict[str, Any]
        try:
            answer = {"tags": read(base64.b64decode(line))}
        except Exception as error:  # whatever the parser stumbles on is an answer too
            answer = {"trouble": type(error).__name__}
        sys.stdout.write(json.dumps(answer) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
