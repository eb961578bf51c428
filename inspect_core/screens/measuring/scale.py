"""Where the millimetres of a photo come from: nowhere, a known length drawn on it, or the scale card in it."""

from __future__ import annotations

from inspect_core.domain.gear import components_of
from inspect_core.domain.geometry import ShapeType
from inspect_core.domain.photos import Photo
from inspect_core.reports import wording
from inspect_core.screens.frame import plain
from inspect_core.screens.marking import Purpose
from inspect_core.screens.measuring import card, helper
from inspect_core.screens.measuring.aids import CARD, KNOWN, NONE, aid_of, registered, set_aid
from inspect_core.screens.speaking import inside, st
from inspect_core.screens.work.session import Work

_WAYS = {"None": NONE, "Known length": KNOWN, "Card": CARD}
_OTHER = {"a steel rule in the picture": "rule", "something else of known length": "other"}


def choice(work: Work, photo: Photo) -> None:
    """The choice of the scale, and what the chosen way needs."""
    aid = aid_of(work.body, photo.id)
    key = work.key("scale", photo.id)
    if key not in st.session_state:
        st.session_state[key] = next((words for words, way in _WAYS.items() if way == aid["method"]), "None")

    def set_way() -> None:
        way = _WAYS.get(st.session_state[key] or "None", NONE)
        work.keep(set_aid(photo.id, method=way))

    st.segmented_control("Scale of this photo", list(_WAYS), key=key, on_change=set_way, required=True, width="stretch")
    if aid["method"] == KNOWN:
        _known(work, photo)
    elif aid["method"] == CARD:
        _card(work, photo)
    else:
        st.caption("No scale, no millimetres: marks stay unmeasured until you choose one, or measure by hand.")
        return
    _close(work, photo)


def _known(work: Work, photo: Photo) -> None:
    _length(work, photo)
    aid = aid_of(work.body, photo.id)
    redraw = work.key("redraw", photo.id)
    if aid["line"] and not st.session_state.get(redraw):
        shape = aid["line"][0]["shape"]
        (x0, y0), (x1, y1) = shape["points"][0], shape["points"][-1]
        st.markdown(f"Known length drawn: {((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5:.0f} pixels of the photo.")
        st.button(
            "Change the line",
            key=work.key("to redraw", photo.id),
            on_click=lambda: st.session_state.__setitem__(redraw, True),
        )
        return
    st.markdown(f"**Draw one line over the known length, {_named(aid['of'])}, from end to end, close to the marks.**")
    helper.draw(
        work,
        photo,
        "line",
        components_of(work.item.kind)[0],
        aid["line"],
        aid["line_rev"],
        lambda drawn, rev: work.keep(set_aid(photo.id, line=drawn, line_rev=rev)),
        Purpose(f"Draw one line over {_named(aid['of'])}, from end to end.", ("known length",), (ShapeType.LINE,)),
    )
    drawn = aid["line"]
    if len(drawn) > 1:
        st.warning("Only the first line counts. Take the others away.", icon=":material/straighten:")
    if drawn and drawn[0]["shape"]["type"] != "line":
        st.warning("The known length must be a straight line.", icon=":material/straighten:")
    if drawn and st.session_state.get(redraw):
        st.button(
            "The line is right",
            key=work.key("drawn", photo.id),
            on_click=lambda: st.session_state.__setitem__(redraw, False),
        )


def _named(of: str) -> str:
    """What the line is drawn over, in words."""
    return {
        "rule": "the steel rule",
        "webbing width": "the webbing's width",
        "rope diameter": "the rope, straight across",
    }.get(of, "what you know the length of")


def _length(work: Work, photo: Photo) -> None:
    """What the line lies across, and its millimetres; a registered size is offered and said to be one."""
    aid = aid_of(work.body, photo.id)
    sizes = registered(work.item)
    options = {f"the {of} ({wording.number(size)} mm registered)": of for of, size in sizes.items()} | _OTHER
    what, size_key = work.key("known", photo.id), work.key("known mm", photo.id)
    if what not in st.session_state:
        chosen = next((words for words, of in options.items() if of == aid["of"]), next(iter(options)))
        st.session_state[what] = chosen
    of = options[st.session_state[what]]
    if size_key not in st.session_state:
        st.session_state[size_key] = aid["length_mm"] if aid["length_mm"] else sizes.get(of)
    if aid["of"] != of or aid["length_mm"] != st.session_state[size_key]:
        work.keep(set_aid(photo.id, of=of, length_mm=st.session_state[size_key]))

    def set_what() -> None:
        now = options[st.session_state[what]]
        st.session_state[size_key] = sizes.get(now)
        work.keep(set_aid(photo.id, of=now, length_mm=sizes.get(now)))

    def set_size() -> None:
        work.keep(set_aid(photo.id, length_mm=st.session_state[size_key]))

    left, right = st.columns([3, 2])
    inside(left).selectbox("The known length is", list(options), key=what, on_change=set_what)
    inside(right).number_input(
        "Its length (mm)", min_value=0.1, max_value=9999.0, value=None, key=size_key, on_change=set_size, format="%.6g"
    )
    if of in sizes:
        st.caption(
            f"{wording.number(sizes[of])} mm is the {of} that was registered, taken as right within about 1 mm. "
            "A steel rule or the scale card is sharper; measure it where you can."
        )


def _card(work: Work, photo: Photo) -> None:
    aid = aid_of(work.body, photo.id)
    key = work.key("rule", photo.id)
    if key not in st.session_state:
        st.session_state[key] = aid["rule_mm"]

    def set_rule() -> None:
        work.keep(set_aid(photo.id, rule_mm=st.session_state[key]))

    st.number_input(
        "Length of the card's printed 140 mm rule, by a steel rule (mm)",
        min_value=100.0,
        max_value=200.0,
        value=None,
        key=key,
        on_change=set_rule,
        format="%.6g",
        help="Printers shrink and stretch. The whole rule, from 0 to 140, measured once on this very card.",
    )
    if aid["rule_mm"] is None:
        st.caption(plain("Until it is entered, the card counts as printed to size only within what printers do."))
    with st.popover("No card at hand?", type="tertiary"):
        card.download(work.id)


def _close(work: Work, photo: Photo) -> None:
    aid = aid_of(work.body, photo.id)
    key = work.key("close", photo.id)
    if key not in st.session_state:
        st.session_state[key] = bool(aid["close"])

    def set_close() -> None:
        work.keep(set_aid(photo.id, close=bool(st.session_state[key])))

    st.checkbox(
        "I magnified the photo to place the ends",
        key=key,
        on_change=set_close,
        help="A finger on the whole photo misses by many of its pixels. Magnified, the ends are right within about "
        "two pixels, and the readings become sharper.",
    )
