"""The browser's way in: `streamlit run streamlit_app.py`.

Records lie where the environment variable BARTACK_STORE says, or in the user's own folder. Where BARTACK_FIGURES names
HOST:PORT, figures for Prometheus and a health answer are served there, and every screen and save is logged as well.
"""

from __future__ import annotations

import os

import streamlit as st

from inspect_core.bootstrap import log_without_words, open_services, watched
from inspect_core.screens.settling import settle
from inspect_core.screens.shell import run
from inspect_core.usecases.services import Services


@st.cache_resource(show_spinner="Opening the records …")
def services() -> Services:
    """Opened once per server; every action opens its own unit of work."""
    log_without_words()
    opened = open_services(os.environ.get("BARTACK_STORE"))
    figures = os.environ.get("BARTACK_FIGURES")
    return watched(opened, figures) if figures else opened


run(services)
settle()
