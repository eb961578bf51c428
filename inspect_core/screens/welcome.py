"""The first start: what this is for, what it cannot do, and the two ways to begin."""

from __future__ import annotations

from inspect_core.domain.errors import BartackError
from inspect_core.screens import sign_in, state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts.cautions import SENTENCES
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.speaking import inside, st
from inspect_core.usecases import demo, review


def show(frame: Frame) -> None:
    """Shown instead of Today while nothing is registered."""
    st.title("Bartack")
    st.markdown(
        "Bartack keeps the record that decides whether a piece of fall-protection gear may be clipped on. Photograph "
        "what looks wrong, mark it, and get an answer with its source; the item's whole life stays in pictures."
    )
    st.warning("  \n".join(plain(sentence) for sentence in SENTENCES), icon=":material/warning:")
    own, look = st.columns(2, gap="large")
    with own:
        st.subheader("Your own gear")
        _own(frame)
    if frame.locked():
        st.caption(f"Records are kept here: {plain(frame.services.place)}")
        return
    with look:
        st.subheader("Just look first")
        st.markdown("An invented site with three years of inspections and drawn photos. Filling takes a minute or two.")
        if st.button(
            "Look at the demo site",
            key=state.widget("welcome", "demo"),
            icon=":material/visibility:",
            width="stretch",
            type="primary",
        ):
            _fill(frame)
    st.caption(f"Records are kept here: {plain(frame.services.place)}")


def _own(frame: Frame) -> None:
    """The first administrator where nobody is entered yet; else the first item."""
    if review.people(frame.services):
        st.markdown("Register the first item. Nothing else needs to be set up.")
        frame.link("register", "Start an empty site", icon=":material/add_box:")
        return
    st.markdown(
        "First say who looks after this site, and choose a PIN. Everybody who records something will sign in, so that "
        "a record says who really made it."
    )
    sign_in.first_administrator(frame)


def _fill(frame: Frame) -> None:
    bar = st.progress(0.0, text="Filling the demo site")

    def told(done: int, total: int, words: str) -> None:
        inside(bar).progress(min(1.0, done / max(total, 1)), text=plain(words))

    try:
        demo.fill_demo(frame.services, progress=told)
    except BartackError as error:
        show_error(error)
        return
    state.tell(
        "The demo site is filled.", "Everything on it is invented; start an empty store for real gear.", good=True
    )
    st.rerun()
