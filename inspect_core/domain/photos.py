"""What is known of one stored photograph. The bytes themselves live in the photo store."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Photo:
    """A photograph by its SHA-256.

    `width`, `height`: pixels of the upright original. `captured_at`: the camera's own clock, without a zone where
    the camera gave none; None where the file does not say. `phash`: 64-bit perceptual hash as 16 hex digits.
    `advice`: plain sentences on how to take a better picture, empty where it will do. `copies`: SHA-256 in hex of each
    stored copy by its name; empty for photos taken in before these were kept.
    """

    id: str
    media_type: str
    width: int
    height: int
    size: int
    captured_at: datetime | None
    phash: str
    sharpness: float
    exposure: float
    glare_share: float
    advice: tuple[str, ...]
    received_at: datetime
    copies: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
