"""What is doubtful about the photos at hand, told as soon as they are taken in."""

from __future__ import annotations

from inspect_core.domain.errors import BartackError
from inspect_core.imaging.honesty import Doubt, DoubtKind
from inspect_core.screens.frame import plain
from inspect_core.screens.speaking import st
from inspect_core.screens.work.session import Work
from inspect_core.usecases import doubts
from inspect_core.usecases.services import Services


@st.cache_data(max_entries=200, ttl=600, show_spinner="Looking whether the photo was used before")
def _found(
    _services: Services, place: str, photo_ids: tuple[str, ...], item_id: str, draft: str, corrects: str | None
) -> dict[str, tuple[tuple[str, str], ...]]:
    found = doubts.about(
        photo_ids, item_id, _services, at=_services.clock.now(), inspection_id=draft, corrects=corrects
    )
    return {photo: tuple((d.kind.value, d.sentence) for d in told) for photo, told in found.items()}


def show(work: Work, photo_id: str) -> None:
    """The doubts about one photo; nothing where there are none."""
    services = work.frame.services
    try:
        found = _found(
            services, services.place, tuple(work.body["photos"]), work.item.id, work.id, work.body["corrects"]
        )
    except BartackError:
        return  # the store's fault is told where the photo is shown
    told = [Doubt(DoubtKind(kind), sentence) for kind, sentence in found.get(photo_id, ())]
    serious = [doubt for doubt in told if doubt.kind is not DoubtKind.NO_TIME]
    if serious:
        lines = "\n".join(f"- {plain(doubt.sentence)}" for doubt in serious)
        st.warning(
            f"**Doubt about this photo**\n{lines}\n\nIt is recorded with the inspection. Take a fresh photo, or leave "
            "this one out.",
            icon=":material/photo_library:",
        )
    for doubt in told:
        if doubt.kind is DoubtKind.NO_TIME:
            st.caption(plain(doubt.sentence))
