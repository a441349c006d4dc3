"""ITU-T T.81, table K.1: recognising the scaled example table, with Pillow's encoder as oracle."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from verifier.photo.file_checks import STANDARD_LUMINANCE, library_quality


@pytest.mark.source("ITU-T T.81, table K.1: quality 50 is the table itself")
def test_the_example_table_is_quality_50() -> None:
    assert library_quality(STANDARD_LUMINANCE) == 50


@pytest.mark.source("ITU-T T.81, annex K; oracle: tables written by Pillow's JPEG encoder")
@pytest.mark.parametrize("quality", [5, 30, 50, 75, 88, 90, 95, 99])
def test_the_quality_of_a_saved_picture_is_found(quality: int) -> None:
    out = io.BytesIO()
    Image.new("RGB", (32, 32), "red").save(out, "JPEG", quality=quality)
    with Image.open(io.BytesIO(out.getvalue())) as image:
        assert library_quality(list(image.quantization[0])) == quality  # type: ignore[attr-defined]


@pytest.mark.source("ITU-T T.81, annex K: any other table is the camera's own")
def test_a_camera_s_own_table_is_none_of_them() -> None:
    own = list(STANDARD_LUMINANCE)
    own[10] += 1
    assert library_quality(own) is None
    assert library_quality([3] * 64) is None
