"""The box for a PIN or a pass phrase: hidden, with a phone's number keys for a PIN."""

from __future__ import annotations

from inspect_core.screens import state
from inspect_core.screens.speaking import st

_PIN, _PHRASE = "PIN", "Pass phrase"
#: A password box with the keys of a phone number; without scripts it is an ordinary password box.
_NUMBER_KEYS = """<script>
(() => {
  const mark = () => document.querySelectorAll('input[type="password"][aria-label*="PIN"]').forEach((box) => {
    box.inputMode = "numeric";
  });
  mark();
  if (!window.bartackNumberKeys) {
    window.bartackNumberKeys = new MutationObserver(mark);
    window.bartackNumberKeys.observe(document.body, { childList: true, subtree: true });
  }
})();
</script>"""


def kind(name: str) -> str:
    """What the person types: digits or words. Asked outside a form, since it changes the box."""
    key = state.widget("pin kind", name)
    if key not in st.session_state:
        st.session_state[key] = state.pin_kind() or _PIN
    st.segmented_control(
        "What do you sign in with?",
        [_PIN, _PHRASE],
        key=key,
        required=True,
        label_visibility="collapsed",
        width="stretch",
    )
    chosen = str(st.session_state[key] or _PIN)
    state.set_pin_kind(chosen)
    return chosen


def box(name: str, label: str = "", *, new: bool = False) -> str:
    """What was typed. `label` starts with the words for the kind chosen last."""
    chosen = state.pin_kind() or _PIN
    typed = st.text_input(
        f"{chosen} {label}".strip(),
        type="password",
        key=state.widget("pin", name, chosen, str(state.pin_box(name))),
        autocomplete="new-password" if new else "current-password",
    )
    if chosen == _PIN:
        st.html(_NUMBER_KEYS, unsafe_allow_javascript=True)
    return str(typed or "")


def used(name: str) -> None:
    """Empty the box for the next drawing, in a form whose other fields keep what was typed."""
    state.next_pin_box(name)
