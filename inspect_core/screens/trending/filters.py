"""Which gear and which period the whole page is about. The address carries it, so that a link opens the same page."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from inspect_core.domain.gear import Kind
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.speaking import inside, st
from inspect_core.usecases.review import sites
from inspect_core.usecases.trends import models
from inspect_core.usecases.trends_scope import Scope

_OWN = "From … to …"
#: How many days back a period reaches; None: no bound.
_PERIODS = {"Everything": None, "Last 12 months": 365, "Last 3 years": 3 * 365, "This year": 0, _OWN: None}
_OLDEST = date(1990, 1, 1)


def scope(frame: Frame) -> Scope:
    """The scope as people set it or the address names it. Raises BadInput for days that contradict each other."""
    with st.expander("Which gear and which period", icon=":material/filter_alt:"):
        one, two, three = st.columns(3)
        with one:
            kind = _choice("Kind", [kind.value for kind in Kind], "kind", "Every kind")
        with two:
            model = _choice("Maker's model", models(frame.services), "model", "Every model")
        with three:
            site = _choice("Site", sites(frame.services), "site", "Every site")
        since, until = _period(frame.today)
        change = _day("Before and after a change on", "change", frame.today)
        st.caption("The day on which something was changed splits every answer that it can in two.")
    found = Scope(Kind(kind) if kind else None, site, since, until, model, change)
    split = f"; before and after {found.change}" if found.change else ""
    st.caption(f"**Looking at:** {plain(found.gear)}; {found.period(frame.today)}{split}.")
    return found


def address(found: Scope) -> dict[str, str | None]:
    """The scope as the page's address carries it."""
    days = {"since": found.since, "until": found.until, "change": found.change}
    return {
        "kind": found.kind.value if found.kind else None,
        "model": found.model,
        "site": found.site,
        **{name: day.isoformat() if day else None for name, day in days.items()},
    }


def _choice(words: str, options: Sequence[str], name: str, nothing: str) -> str | None:
    asked = state.query(name)
    key = state.begin_with(state.widget("trends", name), asked if asked in options else None)
    chosen = st.selectbox(words, options, index=None, placeholder=nothing, key=key)
    return str(chosen) if chosen else None


def _period(today: date) -> tuple[date | None, date | None]:
    asked = _asked("since", today), _asked("until", today)
    key = state.begin_with(state.widget("trends", "period"), _OWN if any(asked) else "Everything")
    one, two, three = st.columns(3)
    period = str(inside(one).selectbox("Period", list(_PERIODS), key=key))
    if period == _OWN:
        with two:
            since = _day("From", "since", today)
        with three:
            until = _day("To", "until", today)
        return since, until
    if period == "This year":
        return today.replace(month=1, day=1), None
    days = _PERIODS[period]
    return (today - timedelta(days=days) if days else None), None


def _day(words: str, name: str, today: date) -> date | None:
    key = state.begin_with(state.widget("trends", name), _asked(name, today))
    day = st.date_input(words, min_value=_OLDEST, max_value=today, format="YYYY-MM-DD", key=key)
    return day if isinstance(day, date) else None


def _asked(name: str, today: date) -> date | None:
    """A day from the address; what is none, or lies outside the calendar's reach (so any day to come), counts as not
    given."""
    try:
        day = date.fromisoformat(state.query(name) or "")
    except ValueError:
        return None
    return day if _OLDEST <= day <= today else None
