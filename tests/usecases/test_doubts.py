"""Photo doubts: told for what is doubtful, silent for what is not, and recorded in the note by the use case."""

from __future__ import annotations

import io
from datetime import datetime, timedelta

import numpy as np
import zxingcpp
from PIL import Image

from inspect_core.imaging.honesty import DoubtKind
from inspect_core.usecases.doubts import HEADING, about, noted
from inspect_core.usecases.intake import take_photo
from tests.usecases.site import START, Site, picture


def jpeg(image: Image.Image, quality: int = 90, taken: datetime | None = None) -> bytes:
    out = io.BytesIO()
    exif = Image.Exif()
    if taken is not None:
        exif.get_ifd(0x8769)[0x9003] = f"{taken:%Y:%m:%d %H:%M:%S}"
    image.save(out, "JPEG", quality=quality, exif=exif)
    return out.getvalue()


def with_code(text: str) -> bytes:
    """A picture with that item's QR code in it."""
    image = Image.open(io.BytesIO(picture(9)))
    code = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode)
    drawn = np.asarray(zxingcpp.write_barcode_to_image(code, scale=6))
    image.paste(Image.fromarray(drawn).convert("RGB"), (60, 60))
    return jpeg(image)


def kinds(site: Site, photo_id: str, item_id: str, **changes: object) -> list[DoubtKind]:
    asked = {"at": site.clock.now(), "inspection_id": "now"} | changes
    return [d.kind for d in about((photo_id,), item_id, site.services, **asked).get(photo_id, ())]


def test_a_fresh_photo_of_its_own_day_raises_no_doubt(site: Site) -> None:
    item = site.lanyard()
    photo = take_photo(jpeg(Image.open(io.BytesIO(picture())), taken=START), site.services)
    assert photo.captured_at is not None
    assert kinds(site, photo.id, item.id) == []


def test_the_same_photo_in_a_second_inspection_is_told_with_where_it_belongs(site: Site) -> None:
    first, second = site.lanyard("LAN-001"), site.lanyard("LAN-002")
    site.record(site.cut(first, 2.0))
    photo_id = site.photo()
    found = about((photo_id,), second.id, site.services, at=site.clock.now(), inspection_id="now")
    doubt = next(d for d in found[photo_id] if d.kind is DoubtKind.SAME_PHOTO)
    assert "LAN-001" in doubt.sentence and "2026-03-02" in doubt.sentence


def test_a_photo_saved_anew_and_shrunk_is_told_as_nearly_the_same(site: Site) -> None:
    item = site.lanyard()
    site.record(site.cut(item, 2.0))
    copy = Image.open(io.BytesIO(picture())).resize((500, 375))
    photo = take_photo(jpeg(copy, quality=60), site.services)
    assert DoubtKind.NEARLY_SAME_PHOTO in kinds(site, photo.id, item.id)


def test_a_photo_that_no_inspection_holds_and_the_corrected_one_are_no_second_use(site: Site) -> None:
    item = site.lanyard()
    photo_id = site.photo()
    assert DoubtKind.SAME_PHOTO not in kinds(site, photo_id, item.id)
    site.record(site.cut(item, 2.0))
    assert DoubtKind.SAME_PHOTO not in kinds(site, photo_id, item.id, corrects="check-1")
    assert DoubtKind.SAME_PHOTO not in kinds(site, photo_id, item.id, inspection_id="check-1")


def test_a_photo_from_last_week_is_told_as_older_than_the_inspection(site: Site) -> None:
    item = site.lanyard()
    old = take_photo(
        jpeg(Image.open(io.BytesIO(picture())), taken=START - timedelta(days=7)),
        site.services,
    )
    assert DoubtKind.OLDER in kinds(site, old.id, item.id)
    assert DoubtKind.OLDER not in kinds(site, old.id, item.id, entered_late=True)


def test_the_tag_of_another_item_in_the_picture_is_told_and_its_own_is_not(site: Site) -> None:
    item, _ = site.lanyard("LAN-001"), site.lanyard("LAN-002")
    own = take_photo(with_code("LAN-001"), site.services)
    other = take_photo(with_code("LAN-002"), site.services)
    label = take_photo(with_code("bartack:item:LAN-002"), site.services)  # as our own labels print it
    parcel = take_photo(with_code("PARCEL-77"), site.services)
    assert DoubtKind.OTHER_TAG not in kinds(site, own.id, item.id)
    assert DoubtKind.OTHER_TAG in kinds(site, other.id, item.id)
    assert DoubtKind.OTHER_TAG in kinds(site, label.id, item.id)
    assert DoubtKind.OTHER_TAG not in kinds(site, parcel.id, item.id)


def test_doubts_are_recorded_in_the_note_under_their_heading(site: Site) -> None:
    first, second = site.lanyard("LAN-001"), site.lanyard("LAN-002")
    site.record(site.cut(first, 2.0))
    recorded = site.record(site.cut(second, 2.0, inspection_id="check-2", note="Seen at the gate."))
    lines = recorded.inspection.note.splitlines()
    assert lines[:3] == ["Seen at the gate.", "", HEADING]
    assert lines[3].startswith("Photo 1: This very file was used in an earlier inspection.")
    assert site.record(site.cut(second, 2.0, inspection_id="check-2")).entry is None


def test_without_doubts_the_note_stays_as_it_is(site: Site) -> None:
    item = site.lanyard()
    assert site.record(site.cut(item, 2.0, note="Seen.")).inspection.note == "Seen."
    assert noted("", (), {}) == ""
