"""Reading text in a picture with an optional library (extra `labels`), whose models lie in its own package.

Nothing is fetched when it runs. Without the library `open_reader` gives None and `HOW_TO_INSTALL` says what to do.
"""

from __future__ import annotations

import importlib.util
import threading
from typing import TYPE_CHECKING, Any

from inspect_core.domain.errors import BadInput
from inspect_core.domain.label_text import TextLine

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Pixels = NDArray[np.uint8]

#: The reader itself is put in without what it asks for, because it asks for a second OpenCV beside ours.
HOW_TO_INSTALL = "pip install 'bartack[labels]', then pip install --no-deps rapidocr-onnxruntime==1.4.4"
_MODULES = ("rapidocr_onnxruntime", "onnxruntime", "pyclipper", "yaml", "six")
#: Longest side at which text is read, pixels; labels are photographed from near.
_SIDE = 1600


class RapidReader:
    """Fulfils LabelReader. The models are loaded at the first reading, once, and used by one thread at a time."""

    name = "rapidocr-onnxruntime"

    def __init__(self) -> None:
        self._engine: Any = None
        self._lock = threading.Lock()

    def read(self, rgb: Pixels) -> tuple[TextLine, ...]:
        """Lines of text in an upright RGB picture, boxes in its own pixels. Raises BadInput where the library fails."""
        import cv2
        import numpy as np

        longest = max(rgb.shape[:2])
        scale = min(1.0, _SIDE / longest)
        small = cv2.resize(rgb, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else rgb
        with self._lock:
            try:
                if self._engine is None:
                    from rapidocr_onnxruntime import RapidOCR

                    self._engine = RapidOCR()
                found, _ = self._engine(np.ascontiguousarray(small[..., ::-1]))
            except Exception as fault:  # a foreign engine raises what it likes
                raise BadInput(
                    "The reader of labels failed on this picture.", "Enter what the label says by hand."
                ) from fault
        return tuple(
            TextLine(str(text), tuple((float(x) / scale, float(y) / scale) for x, y in box), float(score))
            for box, text, score in found or ()
        )


def open_reader() -> RapidReader | None:
    """The reader where its libraries are installed, else None. Loads nothing yet."""
    if any(importlib.util.find_spec(module) is None for module in _MODULES):
        return None
    return RapidReader()


def cut_out(rgb: Pixels, lines: tuple[TextLine, ...], *, margin: float = 0.6) -> bytes:
    """The part of the picture that these lines were read from, a little larger, as JPEG without metadata."""
    import cv2
    import numpy as np

    tall = max(line.height for line in lines)
    top = int(max(0, min(line.top for line in lines) - margin * tall))
    bottom = int(min(rgb.shape[0], max(line.bottom for line in lines) + margin * tall))
    left = int(max(0, min(line.left for line in lines) - margin * tall))
    right = int(min(rgb.shape[1], max(line.right for line in lines) + margin * tall))
    part = rgb[top : max(bottom, top + 1), left : max(right, left + 1)]
    done, encoded = cv2.imencode(".jpg", np.ascontiguousarray(part[..., ::-1]), [cv2.IMWRITE_JPEG_QUALITY, 90])
    if not done:
        raise BadInput("The cut-out could not be made.", "Look at the photo itself.")
    return bytes(encoded)
