"""What stands under every screen: what no record and no photograph can say."""

from __future__ import annotations

import streamlit as st

SENTENCES = (
    "The maker's instructions, local codes and a competent person come first.",
    "A photo shows no hidden damage, and no reading proves strength. When in doubt, do not use it.",
)


def footer() -> None:
    """The cautions, set off from the screen above."""
    st.divider()
    st.caption(" ".join(SENTENCES))
