"""What stands under every screen: what no record and no photograph can say."""

from __future__ import annotations

from inspect_core.screens.speaking import st

SENTENCES = (
    "The maker's instructions, local codes and a competent person come first.",
    "A photo shows no hidden damage, and no reading proves strength. When in doubt, do not use it.",
)


OPEN = "Nobody is signed in here: names are taken on trust, and records are not signed."


def footer(*, trusting: bool = False) -> None:
    """The cautions, set off from the screen above. `trusting`: the site has no sign-in."""
    st.divider()
    if trusting:
        st.caption(f":material/lock_open: {OPEN}")
    st.caption(" ".join(SENTENCES))
