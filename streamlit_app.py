"""The browser's way in: `streamlit run streamlit_app.py`.

Records lie where the environment variable BARTACK_STORE says, or in the user's own folder.
"""

from __future__ import annotations

import os

import streamlit as st

from inspect_core.bootstrap import open_services
from inspect_core.screens.shell import run
from inspect_core.usecases.services import Services


@st.cache_resource(show_spinner="Opening the records …")
def services() -> Services:
    """Opened once per server; every action opens its own unit of work."""
    return open_services(os.environ.get("BARTACK_STORE"))


run(services)
