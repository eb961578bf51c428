"""An item's page: where it stands and what can be done, and its whole life, one view at a time."""

from __future__ import annotations

from inspect_core.domain.custody import State
from inspect_core.domain.life import Wanted
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.looking import compare, custody, documents, entries, filters, readings, timeline
from inspect_core.screens.parts import correcting, items, moves, papers, setups, sign, tag_box
from inspect_core.screens.speaking import st, tongue
from inspect_core.usecases import ages, kits, life
from inspect_core.usecases.life import LifeView

_LIVE = (State.IN_SERVICE, State.ON_HOLD)
#: Short name in the address, words on the button.
_VIEWS = {
    "everything": "Everything",
    "pictures": "Pictures",
    "readings": "Readings",
    "compare": "Compare",
    "custody": "Custody",
    "papers": "Papers",
}
_FILTERED = ("everything", "pictures", "readings")


def show(frame: Frame) -> None:
    """The item that the address names; `?view=pictures` opens that view."""
    row = tag_box.item_at_address(frame)
    if row is None:
        st.title("Item")
        picked = tag_box.pick(frame, "item")
        if picked:
            st.query_params["tag"] = picked[0]
            st.rerun()
        return
    wanted = filters.asked(row.item.id)
    limit = life.PAGE * state.page_number(row.item.id)
    view = life.life(row.item.id, frame.services, wanted, limit=limit)
    st.title(tongue().written(view.item.tag))
    sign.standing_banner(view.standing, frame.today, ages.aged(view.item, view.standing, frame.services))
    _whereabouts(frame, view)
    _ways(frame, view)
    lived, side = st.columns([3, 2], gap="large")
    with side:
        _registered(frame, view)
        _actions(frame, view)
    with lived:
        _life(frame, view, wanted)


def _life(frame: Frame, view: LifeView, wanted: Wanted) -> None:
    st.subheader("Its life, newest first")
    asked = state.query("view")
    name = st.pills(
        "Look at",
        list(_VIEWS),
        format_func=lambda one: _VIEWS[one],
        default=asked if asked in _VIEWS else "everything",
        required=True,
        key=state.widget("history", "view", view.item.id),
        wrap=True,
        label_visibility="collapsed",
    )
    if name in _FILTERED:
        filters.fold(view.item.id, view.figures, types=name != "readings")
    match name:
        case "pictures":
            timeline.show(frame, view.item, view.figures)
        case "readings":
            readings.show(frame, view.item)
        case "compare":
            compare.show(frame, view.item)
        case "custody":
            custody.show(frame, view.item)
        case "papers":
            documents.show(frame, view)
        case _:
            if wanted.everything:
                setups.shown(frame, view.item, life.setups(view.item.id, frame.services), view.name_of)
            entries.show(frame, view)


def _whereabouts(frame: Frame, view: LifeView) -> None:
    """Gear that must not be used is fetched from whoever has it."""
    if view.standing.usable_on(frame.today) and not ages.aged(view.item, view.standing, frame.services):
        return
    has = kits.whereabouts([view.item.id], frame.services).get(view.item.id)
    if has:
        st.warning(plain(has), icon=":material/person_pin_circle:")


def _ways(frame: Frame, view: LifeView) -> None:
    """What most people come here for, in reach of a thumb."""
    item, standing = view.item, view.standing
    if standing.state not in _LIVE:
        return
    one, two = st.columns(2, wrap=False)
    with one:
        frame.link("inspect", "Inspect in detail", icon=":material/frame_inspect:", tag=item.tag)
    with two:
        if standing.usable:
            frame.link("check", "Check before use", icon=":material/checklist:", tag=item.tag)
        else:
            papers.tag(frame, item, standing)


def _registered(frame: Frame, view: LifeView) -> None:
    item, standing = view.item, view.standing
    old = ages.aged(item, standing, frame.services)
    st.markdown(f"**{plain(items.name_of(item))}**")
    lines = {
        "Why": old if standing.usable else tongue().mixed(standing.reason),
        "Stands so since": f"{standing.since:%Y-%m-%d}",
        "Inspection in detail": items.due_words(standing.next_due, frame.today) if standing.state in _LIVE else "",
        "Last looked at": standing.last_seen_on.isoformat() if standing.last_seen_on else "never",
        "Serial": tongue().written(item.serial),
        "Site": tongue().written(item.site),
        "Kit": tongue().written(kit.name) if (kit := kits.kit_of(item.id, frame.services)) else "",
        "Made": item.made_on.isoformat() if item.made_on else "",
        "First used": item.first_used_on.isoformat() if item.first_used_on else "",
        "Note": tongue().written(item.note),
        "Carried the tag before": tongue().written(", ".join(item.former_tags)),
    }
    st.markdown("  \n".join(f"{name}: {plain(text)}" for name, text in lines.items() if text))
    correcting.told(frame, item, view.name_of)


def _actions(frame: Frame, view: LifeView) -> None:
    item, standing = view.item, view.standing
    if standing.state not in _LIVE:
        papers.tag(frame, item, standing)
    papers.label(frame, item)
    with st.expander("Hold, withdraw, release, destroy", icon=":material/swap_horiz:"):
        newest = life.newest_in_detail(item.id, frame.services) if standing.state is State.ON_HOLD else None
        moves.offered(frame, item, standing, newest)
    correcting.form(frame, item)
