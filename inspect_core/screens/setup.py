"""Set-up checks: choose one, enter what is known, read the answer, record it. Made for a phone at an edge."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.figures import PROFILES
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts import errors
from inspect_core.screens.rigging import conclude, direction, fields, forms, guardrail, kit, recorded, roof
from inspect_core.screens.rigging.bench import Bench, leave, open_bench
from inspect_core.screens.rigging.words import CHECKS, PROFILE_WORDS, UNIT_SYSTEMS
from inspect_core.screens.speaking import inside, st

_ENTER, _ANSWER = 0, 1
#: Each step begins at its top, as in an inspection.
_TO_TOP = """<script>
/* {id} {step} */
setTimeout(() => document.querySelector('[data-testid="stMain"]')?.scrollTo(0, 0), 150);
</script>"""


def _nothing(bench: Bench) -> list[str]:
    return []


@dataclass(frozen=True, slots=True)
class Form:
    """What draws a check's questions, what makes its case, and what of it cannot be left open."""

    show: Callable[[Bench], None]
    case: Callable[[Bench], dict[str, Any]]
    needed: Callable[[Bench], list[str]] = _nothing


_FORMS: Mapping[str, Form] = MappingProxyType(
    {
        "kit fit": Form(kit.show, kit.case, kit.needed),
        "direction": Form(direction.show, direction.case),
        "restraint": Form(roof.show, roof.case, roof.needed),
        "clearance": Form(forms.show_clearance, forms.case_clearance, forms.needed_clearance),
        "swing": Form(forms.show_swing, forms.case_swing),
        "anchor": Form(forms.show_anchor, forms.case_anchor, forms.needed_anchor),
        "guardrail": Form(guardrail.show, guardrail.case, guardrail.needed),
    }
)


def show(frame: Frame) -> None:
    """A record, a check at hand, or the choice of one: as the address says."""
    record_id = state.query_id("record")
    if record_id is not None:
        recorded.show(frame, record_id)
        return
    check = state.query("check")
    if check is not None and check in CHECKS:
        _check(open_bench(frame, check))
    else:
        _choose(frame)


def _choose(frame: Frame) -> None:
    st.title("Check the set-up")
    st.markdown("Sound gear set up wrongly still kills. What do you want to check?")
    tag = state.query("tag")
    for name, words in CHECKS.items():
        query = {"check": name} | ({"tag": tag} if tag else {})
        with st.container(key=f"row setup {name.replace(' ', '-')}"):
            st.page_link(
                frame.pages["setup"],
                label=f"**{plain(words.title)}**  \n:small[{plain(words.sentence)}]",
                width="stretch",
                query_params=query,
            )


def _check(bench: Bench) -> None:
    words = CHECKS[bench.check]
    st.html(_TO_TOP.format(id=bench.id, step=bench.body["step"]), unsafe_allow_javascript=True)
    st.title(words.title)
    if bench.check == "kit fit":
        kit.start_with(bench, state.query("tag"), state.query("kit"))
    if bench.body["step"] == _ANSWER:
        _answer(bench)
    else:
        st.markdown(plain(words.sentence))
        _head(bench)
        _enter(bench)
        st.button(
            "See the answer",
            key=bench.key("answer"),
            on_click=_to_answer,
            args=(bench,),
            type="primary",
            width="stretch",
            icon=":material/rule:",
        )
    _away(bench)


def _head(bench: Bench) -> None:
    """Whose figures apply, and in which units."""
    profile, units = st.columns([3, 2])
    profile_key, units_key = bench.key("profile"), bench.key("units")
    profiles = {PROFILE_WORDS[name]: name for name in PROFILES}
    systems = {name: words for words, name in UNIT_SYSTEMS.items()}
    fields.seed(profile_key, PROFILE_WORDS[bench.profile])
    fields.seed(units_key, systems[bench.units])

    def set_profile() -> None:
        name = profiles[st.session_state[profile_key]]
        bench.keep(lambda body: body.__setitem__("profile", name))
        state.set_setup_habit("profile", name)

    def set_units() -> None:
        name = UNIT_SYSTEMS[st.session_state[units_key]]
        bench.keep(lambda body: body.__setitem__("units", name))
        state.set_setup_habit("units", name)

    inside(profile).selectbox("Whose figures apply", list(profiles), key=profile_key, on_change=set_profile)
    inside(units).segmented_control(
        "Units", list(UNIT_SYSTEMS), key=units_key, on_change=set_units, required=True, width="stretch"
    )


@st.fragment
def _enter(bench: Bench) -> None:
    """The questions: an answer reruns only these."""
    with errors.guarded("setup"):
        _FORMS[bench.check].show(bench)


def _to_answer(bench: Bench) -> None:
    missing = _FORMS[bench.check].needed(bench)
    if missing:
        state.tell("This cannot be left open: " + "; ".join(missing) + ".", "Enter it above, then ask again.")
        return
    try:
        _FORMS[bench.check].case(bench)
    except BadInput as error:
        errors.tell_error(error)
        return
    bench.keep(lambda body: body.__setitem__("step", _ANSWER))


def case_of(bench: Bench) -> dict[str, Any]:
    """The whole case. Raises BadInput where a drawing or table is not whole."""
    head = {"check": bench.check, "profile": bench.profile, "units": bench.units}
    return {**head, **_FORMS[bench.check].case(bench)}


def _answer(bench: Bench) -> None:
    st.button(
        "Back to what was entered",
        key=bench.key("back"),
        on_click=bench.kept(lambda body: body.__setitem__("step", _ENTER)),
        icon=":material/arrow_back:",
    )
    try:
        case = case_of(bench)
    except BadInput as error:
        errors.show_error(error)
        return
    conclude.show(bench, case)


def _away(bench: Bench) -> None:
    with st.popover("Another check, or throw this one away", type="tertiary"):
        st.markdown("What was entered here goes; nothing recorded is touched.")
        st.button("Throw it away", key=bench.key("discard"), on_click=_discard, args=(bench,))


def _discard(bench: Bench) -> None:
    leave(bench)
    st.query_params.pop("check", None)
