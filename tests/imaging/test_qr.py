import io

import pytest
import segno
from PIL import Image

from inspect_core.domain.errors import BadPhoto
from inspect_core.imaging.qr import read_tag


def label(text: str) -> Image.Image:
    """A code as it is printed, with its quiet zone."""
    out = io.BytesIO()
    segno.make(text, error="m").save(out, kind="png", scale=8, border=4)
    return Image.open(out).convert("RGB")


def photo(*pictures: Image.Image, turn: float = 0) -> bytes:
    """The labels side by side on grey ground, as one JPEG."""
    ground = Image.new("RGB", (600 * len(pictures), 600), (120, 118, 112))
    for place, picture in enumerate(pictures):
        turned = picture.rotate(turn, expand=True, fillcolor=(120, 118, 112))
        ground.paste(turned, (600 * place + 80, 80))
    out = io.BytesIO()
    ground.save(out, "JPEG", quality=85)
    return out.getvalue()


@pytest.mark.parametrize("turn", [0, 17, 90, 180])
def test_the_tag_of_our_own_label_is_read_at_any_angle(turn):
    assert read_tag(photo(label("bartack:item:WL-0001"), turn=turn)) == "WL-0001"


def test_a_bare_tag_is_read_and_written_as_stored():
    assert read_tag(photo(label("h-12/b"))) == "H-12/B"


def test_our_own_label_counts_before_any_other_code_in_the_picture():
    assert read_tag(photo(label("bartack:item:RG-7"), label("SERIAL-99"))) == "RG-7"


def test_two_labels_in_one_picture_are_no_answer():
    assert read_tag(photo(label("bartack:item:RG-7"), label("bartack:item:RG-8"))) is None


@pytest.mark.parametrize("text", ["https://example.org/?a=b", "bartack:item:", "bartack:item:<script>"])
def test_a_code_that_holds_no_tag_gives_none(text):
    assert read_tag(photo(label(text))) is None


def test_a_photo_without_a_code_gives_none():
    assert read_tag(photo(Image.new("RGB", (300, 300), "white"))) is None


def test_what_is_no_photo_is_refused():
    with pytest.raises(BadPhoto):
        read_tag(b"not a photo at all")
