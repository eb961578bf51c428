"""Registering an item: only the numbers that rules of its kind need, and all faults named at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from functools import partial
from types import MappingProxyType
from typing import Any

from inspect_core.domain.access import Action, may
from inspect_core.domain.custody import State
from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import Component, Fibre, Item, Kind, components_of
from inspect_core.domain.people import Person
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts import items, label_box, papers, who
from inspect_core.screens.speaking import st
from inspect_core.usecases import register, review

#: Field → words, hint. Lengths in millimetres.
_NUMBERS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "webbing_width_mm": ("Webbing width (mm)", "Edge to edge, from the label or measured on sound webbing."),
        "rope_diameter_mm": ("Rope diameter (mm)", "Nominal diameter, from the label."),
        "packed_length_mm": ("Energy absorber, packed length (mm)", "Length of the pack as new, from the maker."),
        "throat_mm": ("Hook throat opening (mm)", "Nominal opening, from the maker or measured when new."),
    }
)
_NEEDS: Mapping[str, tuple[Component, ...]] = MappingProxyType(
    {
        "webbing_width_mm": (Component.WEBBING,),
        "rope_diameter_mm": (Component.ROPE, Component.WIRE_ROPE),
        "packed_length_mm": (Component.ENERGY_ABSORBER,),
        "throat_mm": (Component.SNAP_HOOK, Component.BODY),
    }
)
_FIBRES = (Component.WEBBING, Component.ROPE)


def numbers_of(kind: Kind) -> tuple[str, ...]:
    """The numbers that belong to a kind, because it has the component that they describe."""
    return tuple(name for name, needed in _NEEDS.items() if any(c in components_of(kind) for c in needed))


def show(frame: Frame) -> None:
    """The form, or what to do with the item that was just entered."""
    st.title("Register an item")
    done = state.query("registered")
    if done is not None:
        _registered(frame, done)
        return
    person = who.required(frame)
    if person is None:
        return
    kind = st.selectbox(
        "What is it?",
        [k.value for k in Kind],
        index=None,
        placeholder="Pick the kind",
        key=state.widget("register", "kind"),
    )
    if kind is None:
        st.caption("The kind decides which parts are inspected and which numbers its rules need.")
        if may(person, Action.IMPORT, frame.today):
            frame.link("import", "Many at once? Import a register from a spreadsheet", icon=":material/upload_file:")
        return
    label_box.show(frame, partial(_key, Kind(kind)))
    _form(frame, person, Kind(kind))


def _form(frame: Frame, person: Person, kind: Kind) -> None:
    with st.form(state.widget("register", kind.value)):
        fields: dict[str, Any] = {"kind": kind.value}
        left, right = st.columns(2, gap="large")
        with left:
            fields |= _identity(frame, kind)
        with right:
            fields |= _measured(kind)
            fields |= _dates(frame, kind)
        note = st.text_area("Note", max_chars=register.MOST_NOTE, key=_key(kind, "note"), height=80)
        sent = st.form_submit_button("Register", type="primary", width="stretch", icon=":material/save:")
    if sent:
        _send(frame, person, fields | {"note": note})


def _key(kind: Kind, name: str) -> str:
    return state.widget("register", kind.value, name)


def _text(kind: Kind, name: str, words: str, **more: Any) -> str:
    return str(st.text_input(words, max_chars=register.MOST_TEXT, key=_key(kind, name), **more) or "")


def _identity(frame: Frame, kind: Kind) -> dict[str, Any]:
    fields: dict[str, Any] = {
        "tag": st.text_input(
            "Tag (needed)", max_chars=32, key=_key(kind, "tag"), help="Letters, digits, dots, dashes, slashes."
        ),
        "site": _text(kind, "site", "Site"),
        "maker": _text(kind, "maker", "Maker"),
        "model": _text(kind, "model", "Model"),
        "serial": _text(kind, "serial", "Serial number"),
        "standards": _text(
            kind, "standards", "Standards on its label", help="Separated by commas, such as EN 354, EN 355."
        ),
    }
    profiles = {profile.title: profile.name for profile in frame.services.rules.profiles}
    if len(profiles) > 1:
        chosen = st.selectbox("Rules of which place", list(profiles), key=_key(kind, "profile"))
        fields["profile"] = profiles[chosen]
    return fields


def _measured(kind: Kind) -> dict[str, Any]:
    """Typed as text, so that a slip is named beside what to do instead of being swallowed."""
    fields: dict[str, Any] = {
        name: st.text_input(_NUMBERS[name][0], help=_NUMBERS[name][1], key=_key(kind, name))
        for name in numbers_of(kind)
    }
    if kind is Kind.ROPE_GRAB:
        fields["rope_range_mm"] = st.text_input(
            "Rope diameters it accepts (mm)", placeholder="such as 14-16", key=_key(kind, "rope_range_mm")
        )
    if any(c in components_of(kind) for c in _FIBRES):
        fields["fibre"] = st.selectbox(
            "Fibre, from the label",
            [f.value for f in Fibre],
            index=list(Fibre).index(Fibre.UNKNOWN),
            key=_key(kind, "fibre"),
        )
    return fields


def _dates(frame: Frame, kind: Kind) -> dict[str, Any]:
    oldest = date(1980, 1, 1)
    return {
        "made_on": st.date_input(
            "Made on", value=None, min_value=oldest, key=_key(kind, "made_on"), format="YYYY-MM-DD"
        ),
        "first_used_on": st.date_input(
            "First used on", value=None, min_value=oldest, key=_key(kind, "first_used_on"), format="YYYY-MM-DD"
        ),
        "maker_max_age_years": st.text_input(
            "Longest life the maker allows (years)", key=_key(kind, "maker_max_age_years")
        ),
    }


def _send(frame: Frame, person: Person, fields: dict[str, Any]) -> None:
    faults = faults_in(fields)
    if faults:
        st.error(
            f"**{len(faults)} field{'s' if len(faults) > 1 else ''} to mend:**\n"
            + "\n".join(f"- {plain(fault.problem)} {plain(fault.remedy)}" for fault in faults),
            icon=":material/error:",
        )
        return
    name = f"register {fields['tag']}"
    item = register.parse_item(fields, state.once(name, frame.services.new_id()))
    item = register.register(register.RegisterItem(item, person.id), frame.services)
    state.used(name)
    st.query_params["registered"] = item.tag
    st.rerun()


def faults_in(fields: Mapping[str, Any]) -> tuple[BartackError, ...]:
    """Everything wrong with the fields, one refusal each; field by field first, then all of them together."""
    whole = {"tag": "A", "kind": fields["kind"]}
    trials = [whole | {name: value} for name, value in fields.items() if value]
    if not str(fields.get("tag") or "").strip():
        trials.append({"kind": fields["kind"]})
    faults = _refusals(trials)
    return tuple((faults or _refusals([dict(fields)])).values())


def _refusals(trials: Sequence[Mapping[str, Any]]) -> dict[str, BartackError]:
    """Each different refusal once, by its problem."""
    refused: dict[str, BartackError] = {}
    for trial in trials:
        try:
            register.parse_item(trial, "")
        except BartackError as error:
            refused.setdefault(error.problem, error)
    return refused


def _registered(frame: Frame, tag: str) -> None:
    row = review.item_by_tag(tag, frame.services)
    item: Item = row.item
    st.success(f"**{plain(item.tag)} is registered.** {plain(items.name_of(item))}", icon=":material/check:")
    if row.standing.state is State.ON_HOLD:
        st.error(f"**It is on hold.** {plain(row.standing.reason)} Keep it apart.", icon=":material/block:")
    st.markdown(
        "It has not been looked at yet. Print its label, fix it to the gear, and check it before the first use."
    )
    papers.label(frame, item)
    frame.link("check", "Check it now", icon=":material/checklist:", tag=item.tag)
    frame.link("item", "Open the item", icon=":material/history:", tag=item.tag)
    if st.button("Register another", key=state.widget("register", "another"), width="stretch"):
        st.query_params.clear()
        st.rerun()
