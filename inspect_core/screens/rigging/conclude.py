"""The answer of the check at hand, and recording it with the gear used and photos as proof."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inspect_core.domain.errors import BadInput, BartackError
from inspect_core.screens import state
from inspect_core.screens.frame import own, plain
from inspect_core.screens.parts import pictures, tag_box, who
from inspect_core.screens.parts.errors import show_error, tell_error
from inspect_core.screens.rigging import answer, gear, picture
from inspect_core.screens.rigging.bench import Bench, leave
from inspect_core.screens.speaking import st
from inspect_core.usecases import review
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.setup import MOST_PLACE, RecordSetup, record_setup, rig_case, with_register


def show(bench: Bench, case: Mapping[str, Any]) -> None:
    """Answer, drawing and lines; then what is recorded with them."""
    try:
        result = rig_case(with_register(case, bench.frame.services))
    except BartackError as error:
        show_error(error)
        return
    answer.banner(str(result["answer"]))
    st.caption(plain(answer.count_words(result)))
    upon = bench.body["photo"] if picture.drawn_upon(case) else None
    if upon or result["drawings"] or answer.has_key_figure(result):
        seen, said = st.columns([2, 3], gap="large")
        with seen:
            answer.key_figure(result)
            answer.drawings(result)
            if upon:
                picture.again(bench.frame.services, upon, case)
    else:
        said = st.container()
    with said:
        answer.shown(result)
    st.divider()
    _record(bench, case)


def _record(bench: Bench, case: Mapping[str, Any]) -> None:
    st.subheader("Record it")
    person = who.required(bench.frame)
    if person is None:
        return
    what, proof = st.columns(2, gap="large")
    with what:
        _place(bench)
        _gear(bench)
    with proof:
        _photos(bench)
    if st.button("Record this check", key=bench.key("record"), type="primary", width="stretch", icon=":material/save:"):
        _save(bench, case, person.id)
    st.caption(
        f"Recorded under the name of {own(person.name)}, in the history of every item named. A record is never "
        "edited: when the set-up changes, check again."
    )


def _place(bench: Bench) -> None:
    key = bench.key("place")
    if key not in st.session_state:
        st.session_state[key] = bench.body["place"]

    def keep() -> None:
        place = st.session_state[key].strip()
        bench.keep(lambda body: body.__setitem__("place", place))
        state.set_setup_habit("place", place)

    st.text_input(
        "Where: roof, side, anchor number", key=key, max_chars=MOST_PLACE, on_change=keep, placeholder="may stay empty"
    )


def _gear(bench: Bench) -> None:
    """The items used; those of a kit are named already."""
    st.markdown("**Gear used**")
    kit = bench.body["parts"] if bench.check == "kit fit" else []
    for tag in (*kit, *bench.body["tags"]):
        try:
            row = review.item_by_tag(tag, bench.frame.services)
        except BartackError as error:
            show_error(error)
            continue
        gear.line(bench.frame, "used", row.item, row.standing)
        if tag in bench.body["tags"]:
            st.button(
                f"Leave {plain(tag)} out",
                key=bench.key("untag", tag),
                on_click=bench.kept(lambda body, t=tag: body["tags"].remove(t)),  # type: ignore[misc]
                type="tertiary",
            )
    if bench.check != "kit fit":
        picked = tag_box.pick(bench.frame, f"used {bench.id} {len(bench.body['tags'])}", ("Add this item",))
        if picked:
            _add(bench, picked[0])


def _add(bench: Bench, typed: str) -> None:
    try:
        tag = review.item_by_tag(typed, bench.frame.services).item.tag
        if tag in bench.body["tags"]:
            raise BadInput(f"{tag} is named already.", "Type the tag of another item.")
    except BartackError as error:
        show_error(error)
        return
    bench.keep(lambda body: body["tags"].append(tag))
    st.rerun()


def _photos(bench: Bench) -> None:
    """Photos as proof; the one that was drawn upon is one already."""
    st.markdown("**Photos as proof**")
    key = bench.key("proof", str(len(bench.body["photos"])), str(bench.body["refused"]))

    def take() -> None:
        taken: list[str] = []
        refused = 0
        for upload in st.session_state[key] or ():
            try:
                taken.append(take_photo(upload.getvalue(), bench.frame.services, claimed_name=upload.name).id)
            except BartackError as error:
                refused += 1
                tell_error(error)
        fresh = [p for p in dict.fromkeys(taken) if p not in bench.body["photos"]]
        bench.keep(
            lambda body: body.update(
                photos=body["photos"] + fresh, refused=body["refused"] + (refused if fresh else max(refused, 1))
            )
        )

    st.file_uploader(
        "Take or add photos", type=tag_box.PHOTO_TYPES, accept_multiple_files=True, key=key, on_change=take
    )
    with st.container(horizontal=True, gap="small"):
        for number, photo_id in enumerate(photos_of(bench), start=1):
            pictures.thumb(bench.frame.services, photo_id, f"Photo {number} of this set-up", width=110)
    if bench.body["photos"]:
        st.button(
            "Leave the added photos out",
            key=bench.key("no proof"),
            on_click=bench.kept(lambda body: body.__setitem__("photos", [])),
            type="tertiary",
        )


def photos_of(bench: Bench) -> tuple[str, ...]:
    """The picture drawn upon first, then the proof."""
    first = [bench.body["photo"]] if bench.body["photo"] else []
    return tuple(dict.fromkeys([*first, *bench.body["photos"]]))


def _save(bench: Bench, case: Mapping[str, Any], person_id: str) -> None:
    command = RecordSetup(bench.id, case, person_id, bench.body["place"], tuple(bench.body["tags"]), photos_of(bench))
    try:
        record = record_setup(command, bench.frame.services)
    except BartackError as error:
        show_error(error)
        return
    leave(bench)
    bench.frame.go("setup", record=record.id)
