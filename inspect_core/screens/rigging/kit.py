"""Kit fit: parts by their tags, what only their labels say, and how they are clipped together."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inspect_core.domain.errors import BadInput, BartackError
from inspect_core.domain.gear import Fibre, clean_tag
from inspect_core.domain.record import ItemRow
from inspect_core.rigging.kit import KINDS_OF, Role
from inspect_core.rigging.units import Dimension
from inspect_core.screens.frame import plain
from inspect_core.screens.parts import tag_box
from inspect_core.screens.parts.errors import show_error, tell_error
from inspect_core.screens.rigging import fields, gear, joints
from inspect_core.screens.rigging.bench import Bench, Body
from inspect_core.screens.rigging.fields import Ask
from inspect_core.screens.rigging.forms import ABSORBER_CLASSES, with_mass_range
from inspect_core.screens.speaking import st
from inspect_core.usecases import ages, kits, review

_USES = {"Travel restraint": "travel restraint", "Fall arrest": "fall arrest"}
_HEAD = (
    Ask("use", "What is the kit for?", "word", words=_USES, needed=True),
    Ask("user_mass", "Worker with clothing and tools", "mass", uses=("user mass",)),
)
_MASSES = (
    Ask("least_mass", "Lightest user on its label", "mass"),
    Ask("most_mass", "Heaviest user on its label", "mass"),
)
_ABSORBER = Ask("absorber", "Has it an energy absorber?", "flag")
_CLASS = Ask("absorber_class", "Class on the absorber's label", "word", words=ABSORBER_CLASSES)
_FIBRE = Ask("fibre", "Fibre", "word", words={f.value: f.value for f in Fibre if f is not Fibre.UNKNOWN})
_LABEL_DIAMETER = Ask("label_rope_diameter", "Diameter on its label", "small")
_MEASURED = (
    Ask("rope_diameter", "Diameter measured, widest place", "small"),
    Ask("rope_diameter within", "That diameter within ±", "small"),
)
_ROPE_TYPE = Ask("rope_type", "Rope type in the maker's words, such as three-strand", "text")
_TAKES = Ask("accepted_rope_types", "Rope type it is made for, as its label says", "text")
_TAKES_SIZE = (
    Ask("thinnest rope", "Thinnest rope it takes", "small"),
    Ask("thickest rope", "Thickest rope it takes", "small"),
)
#: Figures on the strength of a part, by its role: asked only where the profile has one.
_STRENGTH_USES = {
    Role.LANYARD: "lanyard and lifeline strength",
    Role.LIFELINE: "lanyard and lifeline strength",
    Role.CONNECTOR: "ring and snap hook strength",
    Role.SELF_RETRACTING: "self-retracting line strength",
}


def show(bench: Bench) -> None:
    """The head, then the parts, then the joints."""
    fields.draw(bench, _HEAD)
    st.subheader(f"Parts ({len(bench.body['parts'])})")
    for tag in tuple(bench.body["parts"]):
        _part(bench, tag)
    # A new box after each part: the one before would hand over its photo again at the next rerun.
    picked = tag_box.pick(bench.frame, f"kit {bench.id} {len(bench.body['parts'])}", ("Add this part",))
    if picked:
        _add(bench, picked[0])
    if bench.body["parts"]:
        st.subheader("Hooks and what they are clipped to")
        joints.show(bench, _names(bench))


def _add(bench: Bench, typed: str) -> None:
    try:
        row = review.item_by_tag(typed, bench.frame.services)
        if row.item.tag in bench.body["parts"]:
            raise BadInput(f"{row.item.tag} is in the kit already.", "Type the tag of another part.")
    except BartackError as error:
        show_error(error)
        return
    bench.keep(lambda body: body["parts"].append(row.item.tag))
    st.rerun()


def _row(bench: Bench, tag: str) -> ItemRow | None:
    try:
        return review.item_by_tag(tag, bench.frame.services)
    except BartackError as error:
        show_error(error)
        return None


def _role(row: ItemRow) -> Role:
    return next(role for role, kinds in KINDS_OF.items() if row.item.kind in kinds)


def _part(bench: Bench, tag: str) -> None:
    row = _row(bench, tag)
    if row is None:
        return
    gear.line(bench.frame, "kit", row.item, row.standing)
    old = ages.aged(row.item, row.standing, bench.frame.services)
    if old or not row.standing.usable:
        st.markdown(f"**Why:** {plain(old or row.standing.reason)}")
    asks = _asks(bench, row)
    if asks:
        known = sum(1 for ask in asks if bench.values.get(f"{tag} {ask.name}") is not None)
        # A key of its own: the words change with every answer, and the box must stay open then.
        with st.expander(f"What its label says ({known} of {len(asks)} known)", key=bench.key("label", tag)):
            fields.draw(bench, asks, of=f"{tag} ")
    st.button(
        f"Take {tag} out",
        key=bench.key("remove", tag),
        on_click=bench.kept(lambda body: _take_out(body, tag)),
        type="tertiary",
    )


def _take_out(body: Body, tag: str) -> None:
    body["parts"].remove(tag)
    body["values"] = {name: value for name, value in body["values"].items() if not name.startswith(f"{tag} ")}


def _asks(bench: Bench, row: ItemRow) -> tuple[Ask, ...]:
    """What the register does not hold of a part of that role, and a rule weighs."""
    role, item = _role(row), row.item
    if role is Role.ANCHOR:
        return ()
    asks: list[Ask] = list(_MASSES)
    if role is Role.ROPE_GRAB:
        asks += [_TAKES, *(_TAKES_SIZE if item.rope_range_mm is None else ())]
    if role is Role.LIFELINE:
        asks += [_ROPE_TYPE, *((_LABEL_DIAMETER,) if item.rope_diameter_mm is None else ()), *_MEASURED]
        asks += [_FIBRE] if item.fibre is Fibre.UNKNOWN else []
    if role in (Role.LANYARD, Role.ROPE_GRAB, Role.LIFELINE):
        asks.append(_ABSORBER)
    if role is Role.LANYARD and bench.values.get(f"{item.tag} absorber") is True:
        asks.append(_CLASS)
    use = _STRENGTH_USES.get(role)
    if use and fields.figure_words(use, bench.profile):
        asks.append(Ask("strength", "Strength on its label", "force", uses=(use,)))
    return tuple(asks)


def _names(bench: Bench) -> list[str]:
    """What a hook can belong to or be clipped to, in words of the kit at hand."""
    names = []
    for tag in bench.body["parts"]:
        row = _row(bench, tag)
        if row is not None:
            role = _role(row)
            names.append(f"{role.value} {tag}" + (", back ring" if role is Role.HARNESS else ""))
    return names


def needed(bench: Bench) -> list[str]:
    """What cannot be left open."""
    return fields.still_needed(bench, _HEAD) + ([] if bench.body["parts"] else ["At least one part, by its tag"])


def case(bench: Bench) -> dict[str, Any]:
    """The kit with its parts by tag; the register fills in the rest."""
    out = fields.given(bench, _HEAD) | {"on": bench.frame.today.isoformat()}
    out["parts"] = [_part_case(bench, tag) for tag in bench.body["parts"]]
    described = joints.case(bench)
    return {**out, "joints": described} if described else out


def _part_case(bench: Bench, tag: str) -> dict[str, Any]:
    row = review.item_by_tag(tag, bench.frame.services)
    part = with_mass_range(fields.given(bench, _asks(bench, row), of=f"{tag} "))
    thin, thick = part.pop("thinnest rope", None), part.pop("thickest rope", None)
    if thin and thick:
        part["accepted_rope_range"] = [thin, thick]
    if isinstance(part.get("accepted_rope_types"), str):
        words = (word.strip() for word in part["accepted_rope_types"].split(","))
        part["accepted_rope_types"] = [word for word in words if word]
    return {"tag": tag, **_with_spread(part)}


def _with_spread(part: Mapping[str, Any]) -> dict[str, Any]:
    out = dict(part)
    within = out.pop("rope_diameter within", None)
    if within and "rope_diameter" in out:
        # Both were entered in the same system of units, unless it was switched in between.
        unit = out["rope_diameter"]["unit"]
        out["rope_diameter"]["uncertainty"] = round(fields.in_unit(within, unit, Dimension.LENGTH), 9)
    return out


def start_with(bench: Bench, tag: str | None, kit_id: str | None = None) -> None:
    """Put the item that the address names, or everything of the kit that it names, into an empty kit."""
    if not (tag or kit_id) or bench.body["parts"] or bench.body.get("started"):
        return
    try:
        if kit_id:
            rows = kits.kit_past(kit_id, bench.frame.services).view.rows
        else:
            rows = (review.item_by_tag(clean_tag(tag or ""), bench.frame.services),)
    except BartackError as error:
        tell_error(error)
        return
    parts = [row.item.tag for row in rows if any(row.item.kind in kinds for kinds in KINDS_OF.values())]
    bench.keep(lambda body: body.update(parts=parts, started=True))
