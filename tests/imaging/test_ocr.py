"""The reader of labels on drawn labels; how often it is right is measured in docs/labels.md."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from inspect_core.domain.label_text import TextLine
from inspect_core.imaging.label_text import read_label
from inspect_core.imaging.ocr import cut_out, open_reader
from tests.imaging.label_pictures import draw


def test_a_cut_out_holds_the_line_and_a_little_around_it() -> None:
    rgb = np.zeros((200, 300, 3), np.uint8)
    rgb[80:100, 50:150] = 255
    line = TextLine("x", ((50, 80), (150, 80), (150, 100), (50, 100)), 0.9)
    part = Image.open(io.BytesIO(cut_out(rgb, (line,))))
    assert part.size == (124, 44)
    assert not part.getexif()
    edge = TextLine("x", ((-5, -5), (310, -5), (310, 210), (-5, 210)), 0.9)
    assert Image.open(io.BytesIO(cut_out(rgb, (edge,)))).size == (300, 200)


@pytest.mark.engine
def test_the_reader_reads_plain_labels_and_the_box_lies_where_the_text_is() -> None:
    reader = open_reader()
    if reader is None:
        pytest.skip("the reader of labels is not installed (docs/labels.md)")
    right = 0
    for seed in (11, 12, 13):
        drawn = draw(seed, tilt_deg=4, blur_px=0.5)
        reading = read_label(reader.read(drawn.rgb))
        found = {one.field: one for one in reversed(reading.proposals)}
        right += sum(found[name].value == value for name, value in drawn.truth.items() if name in found)
        assert len(reading.told) == 1 and "DISCARD" in reading.told[0].line.text.replace(" ", "")
        assert all(0 <= line.left < line.right <= 1280 and 0 <= line.top < line.bottom <= 960 for line in reading.lines)
        assert found["made_on"].value == drawn.truth["made_on"]
    assert right >= 10, "of twelve values on three flat, sharp labels"


@pytest.mark.engine
def test_a_large_photo_gives_boxes_in_its_own_pixels() -> None:
    reader = open_reader()
    if reader is None:
        pytest.skip("the reader of labels is not installed (docs/labels.md)")
    small = draw(11, tilt_deg=2, blur_px=0.2).rgb
    large = np.asarray(Image.fromarray(small).resize((2560, 1920)), np.uint8)
    lines = reader.read(large)
    assert max(line.right for line in lines) > 1280
