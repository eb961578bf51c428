"""What a terminal is given to show: no note and no name moves its cursor or rewrites what stands on it."""

from __future__ import annotations

from typing import Any, TextIO

from inspect_core.domain.typed import SEEN

#: What our own progress bars move the cursor with: back to the beginning of the line.
_OURS = {0x0D: 0x0D}


class Harmless:
    """A terminal that shows a sign for each control character. Everything else is the stream's own."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        return self._stream.write(text.translate(SEEN | _OURS) if isinstance(text, str) else text)

    def writelines(self, lines: Any) -> None:
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)
