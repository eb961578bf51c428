"""JPEG pictures placed on a page as they are, neither decoded nor compressed again."""

from __future__ import annotations

import io

from reportlab.lib.utils import ImageReader
from reportlab.platypus import Flowable


class _Untouched(ImageReader):  # type: ignore[misc]
    """A JPEG that reportlab names by its file bytes. Its own way decodes every picture only to hash the pixels."""

    _dataA = None  # noqa: N815 - reportlab's name

    def getRGBData(self) -> bytes:  # noqa: N802 - reportlab's name
        return bytes(self.fp.getvalue())


class Picture(Flowable):  # type: ignore[misc]
    """A JPEG at the largest size that keeps its proportions within `width` × `height` points."""

    def __init__(self, jpeg: bytes, width: float, height: float) -> None:
        super().__init__()
        self._reader = _Untouched(io.BytesIO(jpeg))
        wide, high = self._reader.getSize()
        factor = min(width / wide, height / high)
        self.width, self.height = wide * factor, high * factor

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        self.canv.drawImage(self._reader, 0, 0, self.width, self.height)
