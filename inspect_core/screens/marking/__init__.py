"""Our photo-marking component: a person draws on a photo, Python gets checked shapes in full-resolution pixels.

How a page uses it, inside a fragment so that a stroke reruns nothing else::

    state = mark_photo(key=f"marking {photo_id}", photo_id=photo_id, width=…, height=…,
                       preview_url=media_url(preview, "image/jpeg", f"preview {photo_id}"),
                       full_url=media_url(full, "image/jpeg", f"full {photo_id}"),
                       categories=tuple(Category), components=components_of(kind), default_component=component,
                       initial=draft.marks, initial_rev=draft.rev, draft=draft.id)
    if state.fault: st.error(str(state.fault))
    draft.marks, draft.rev = state.plain(), state.rev
    show_readings(key=f"readings {photo_id}", photo_id=photo_id, readings={mark_id: "12.3 mm ± 0.4 mm", …})

The data that go to the browser are frozen at the first run: feeding marks back would re-send the script on each stroke.
"""

from __future__ import annotations

from inspect_core.screens.marking.component import MarkingState, Purpose, forget_saved_marks, mark_photo, show_readings
from inspect_core.screens.marking.media import media_url
from inspect_core.screens.marking.payload import DrawnMark, validate_payload

__all__ = [
    "DrawnMark",
    "MarkingState",
    "Purpose",
    "forget_saved_marks",
    "mark_photo",
    "media_url",
    "show_readings",
    "validate_payload",
]
