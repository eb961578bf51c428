"""The four steps of an inspection, with the way forward and back."""

from __future__ import annotations

from collections.abc import Callable

from inspect_core.screens.parts.errors import show_news
from inspect_core.screens.speaking import st
from inspect_core.screens.work import conclude, facts, parts, photos, registered
from inspect_core.screens.work.body import Body, has_anything
from inspect_core.screens.work.session import Work, discard

STEPS: tuple[tuple[str, Callable[[Work], None]], ...] = (
    ("What happened", facts.show),
    ("Parts", parts.show),
    ("Photos and marks", photos.show),
    ("Answer", conclude.show),
)

#: The next step begins at its top; the browser would otherwise stay where the last one ended. Drawn anew with each
#: step, and run a little later, when the step stands on the page.
_TO_TOP = """<script>
/* step {step} */
setTimeout(() => document.querySelector('[data-testid="stMain"]')?.scrollTo(0, 0), 150);
</script>"""


def show(work: Work, *, beside_photos: Callable[[Work], None] | None = None) -> None:
    """The step at hand. `beside_photos` draws something more in the third one."""
    step = work.body["step"] if 0 <= work.body["step"] < len(STEPS) else 0
    words, draw = STEPS[step]
    st.html(_TO_TOP.format(step=step), unsafe_allow_javascript=True)
    st.subheader(f"{step + 1} of {len(STEPS)}: {words}")
    show_news()
    registered.contradicted(work)
    draw(work)
    if draw is photos.show and beside_photos is not None:
        beside_photos(work)
    _ways(work, step)


def _to(step: int) -> Callable[[Body], None]:
    return lambda body: body.__setitem__("step", step)


def _ways(work: Work, step: int) -> None:
    with st.container(horizontal=True, wrap=False, gap="small"):
        if step > 0:
            st.button("Back", key=work.key("back"), on_click=work.kept(_to(step - 1)), icon=":material/arrow_back:")
        if step < len(STEPS) - 1:
            st.button(
                f"Next: {STEPS[step + 1][0]}",
                key=work.key("next"),
                on_click=work.kept(_to(step + 1)),
                type="primary",
                width="stretch",
            )
    if has_anything(work.body):
        with st.popover("Throw this work away", type="tertiary"):
            st.markdown("Answers and marks of this unfinished work go; nothing recorded is touched.")
            st.button("Yes, throw it away", key=work.key("discard"), on_click=discard, args=(work,))
