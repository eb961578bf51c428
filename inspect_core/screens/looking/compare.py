"""Two dates of one part side by side, or laid over each other and wiped."""

from __future__ import annotations

from inspect_core.domain.gear import Component, Item
from inspect_core.screens import state
from inspect_core.screens.frame import Frame
from inspect_core.screens.measuring import over_time
from inspect_core.screens.parts import pictures
from inspect_core.screens.speaking import inside, st
from inspect_core.usecases import life

_ANY = "Any photo"


def show(frame: Frame, item: Item) -> None:
    """Choose a part and two dates."""
    found = life.comparable(item.id, frame.services)
    if not found:
        st.markdown("There are no two photos to compare yet.")
        return
    names = [part.value if part is not None else _ANY for part in found]
    name = st.selectbox("Part", names, key=state.widget("over time", item.id))
    part = None if name == _ANY else Component(name)
    if part is None and len(found[part]) == life.COMPARED:
        st.caption(f"The newest {life.COMPARED} photos may be chosen here; choose a part to reach older ones.")
    seen = {one.words: one for one in found[part]}
    days = list(seen)
    left, right = st.columns(2)
    before = inside(left).selectbox(
        "Then", days[1:], index=len(days) - 2, key=state.widget("over time", item.id, str(name), "then")
    )
    after = inside(right).selectbox(
        "Later", days[: days.index(before)], key=state.widget("over time", item.id, str(name), f"later than {before}")
    )
    then, now = seen[before], seen[after]
    marks = {
        one.words: [
            mark
            for mark in life.marks_on(one.inspection_id, one.photo.id, frame.services)
            if part in (None, mark.component)
        ]
        for one in (then, now)
    }
    for place, words, one in ((left, "Then", then), (right, "Later", now)):
        with place:
            st.markdown(f"**{words}**, {one.at:%Y-%m-%d}")
            pictures.with_marks(frame.services, one.photo, marks[one.words])
    over_time.box(
        frame.services,
        then.photo,
        marks[then.words],
        now.photo,
        marks[now.words],
        f"{then.inspection_id} {then.photo.id} {now.inspection_id} {now.photo.id} {name}",
        beside=False,  # they stand so already
    )
    st.caption("Two photos of one place show what has changed on the surface. They show no hidden damage.")
