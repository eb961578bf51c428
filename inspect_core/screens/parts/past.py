"""The past weighed again: what would the rules of today, or changed ones, have said of everything recorded?"""

from __future__ import annotations

from functools import partial
from typing import Any

from inspect_core.domain.access import Action, may
from inspect_core.domain.errors import BartackError
from inspect_core.domain.jobs import Job, JobKind, JobState
from inspect_core.domain.people import Person
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts import aside
from inspect_core.screens.parts.errors import tell_error
from inspect_core.screens.speaking import st
from inspect_core.usecases import jobs
from inspect_core.usecases.job_asking import ask_what_if
from inspect_core.usecases.job_kinds import REPORT


def show(frame: Frame) -> None:
    """Asking for it and reading what came out; nothing for who may not ask."""
    person = frame.person()
    if person is None or not may(person, Action.WEIGH_PAST, frame.today):
        return
    job = jobs.newest(JobKind.WHAT_IF, frame.services, by=person.id)
    with st.expander("Weigh the past by other rules", icon=":material/history:", expanded=job is not None):
        st.markdown(
            "Every recorded inspection is decided once more, by the rules of today or by rule files that you changed. "
            "It names the items in service that would not have passed. **No record is altered.**"
        )
        if job is not None and job.active:
            aside.follow(frame, job, "The past is being weighed.")
            return
        _asking(frame, person)
        if job is not None and not aside.ended_badly(job) and job.result is not None:
            _told(frame, person, job, dict(job.result))


def _asking(frame: Frame, person: Person) -> None:
    uploads = st.file_uploader(
        "Changed rule files (TOML); without one, the rules of today",
        type=["toml"],
        accept_multiple_files=True,
        key=state.widget("past", "files", str(state.page_number("past files"))),
    )
    if st.button("Weigh the past", key=state.widget("past", "ask"), icon=":material/balance:", width="stretch"):
        try:
            ask_what_if(person.id, {one.name: one.getvalue() for one in uploads or ()}, frame.services)
        except BartackError as error:
            tell_error(error)
        else:
            state.more_pages("past files")
        st.rerun()


def _told(frame: Frame, person: Person, job: Job, result: dict[str, Any]) -> None:
    at = (job.ended_at or job.asked_at).astimezone(frame.services.clock.now().tzinfo)
    version, digest = result["rules"]
    many, concerned = result["cases"], result["concerned"]
    changed = int(job.wanted.get("changed", 0))
    by = f"with {changed} of their files changed" if changed else "as they are today"
    st.markdown(
        f"**{many:,} inspection{'s' if many != 1 else ''}** weighed by the rules “{plain(version)}” {by}, "
        f"{at:%Y-%m-%d %H:%M}. {result['changes']:,} would have ended otherwise."
    )
    st.caption(f"Digest of these rules: {plain(digest[:16])}")
    if result["refused"]:
        st.warning(f"{result['refused']:,} could not be weighed by these rules. The report names them and says why.")
    if concerned:
        st.error(
            f"**{concerned:,} item{'s' if concerned != 1 else ''} in service would not have passed.**  \n"
            "Nothing was put on hold by this. A competent person decides.",
            icon=":material/warning:",
        )
    elif result["refused"]:
        st.info("**No item in service would end more strictly than it did,** of those that could be weighed.")
    else:
        st.success("**No item in service would end more strictly than it did.**", icon=":material/check:")
    for tag, on, would_be, reasons in result["items"]:
        frame.link("item", f"{tag}: {would_be}, inspected {on}", icon=":material/history:", tag=tag)
        for reason in reasons:
            st.caption(plain(reason))
    if concerned > len(result["items"]):
        st.caption(f"And {concerned - len(result['items']):,} more: the report names them all.")
    if job.state is JobState.DONE and jobs.is_kept(job, frame.services):
        st.download_button(
            "Save the report (JSON)",
            partial(jobs.fetch, job.id, REPORT, person.id, frame.services),
            file_name=f"bartack-what-if-{at:%Y-%m-%d}.json",
            mime="application/json",
            key=state.widget("past", "save"),
            on_click="ignore",
            icon=":material/download:",
            width="stretch",
        )
