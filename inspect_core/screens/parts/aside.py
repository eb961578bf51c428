"""Work that is done aside, as a person follows it: how far it is, stopping it, and how it ended."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from inspect_core.domain.errors import BartackError
from inspect_core.domain.jobs import Job, JobState
from inspect_core.screens import state
from inspect_core.screens.frame import Frame
from inspect_core.screens.parts.errors import guarded, show_error, tell_error
from inspect_core.screens.speaking import st
from inspect_core.usecases import jobs

#: How often the page asks how far it is, in seconds.
_PACE = 2.0


def follow(frame: Frame, job: Job, doing: str) -> None:
    """A box that tells how far it is and draws the page anew when it is over. `doing`: what is done, as a sentence's
    beginning."""
    with st.container(border=True, key=f"aside {job.kind.value}"):
        st.fragment(_follow, run_every=_PACE)(frame, job.id, doing)


def _follow(frame: Frame, job_id: str, doing: str) -> None:
    over = False
    with guarded():
        job = jobs.look(job_id, frame.services)
        over = not job.active
        if not over:
            _told(frame, job, doing)
    if over:
        st.rerun()


def _told(frame: Frame, job: Job, doing: str) -> None:
    st.markdown(f"**{doing}**")
    share = min(job.done / job.total, 1.0) if job.total else 0.0
    if job.stop_asked:
        words = "It is being stopped."
    elif job.state is JobState.WAITING:
        words = "It waits for its turn."
    elif job.total:
        words = f"{job.done:,} of {job.total:,} steps are done."
    else:
        words = "It has begun."
    st.progress(share, words)
    waits_long = job.state is JobState.WAITING and job.quiet_at(frame.services.clock.now())
    if waits_long and jobs.figures(frame.services).stuck:
        st.warning("Nothing is there to do it at the moment. Tell whoever runs the server: “bartack work” must run.")
    else:
        st.caption("You may leave this page. It goes on, and you find it here again.")
    if not job.stop_asked:
        st.button(
            "Stop it",
            key=state.widget("aside", "stop", job.id),
            on_click=partial(_stop, frame, job.id),
            icon=":material/stop_circle:",
        )


def _stop(frame: Frame, job_id: str) -> None:
    try:
        jobs.stop(job_id, frame.services)
    except BartackError as error:
        tell_error(error)


def ask(do: Callable[[], object]) -> None:
    """Asks for something inside a callback; a refusal is shown when the page is drawn again."""
    try:
        do()
    except BartackError as error:
        tell_error(error)


def ended_badly(job: Job) -> bool:
    """Tells of a job that failed or was stopped; whether it was one of these."""
    if job.state is JobState.FAILED:
        show_error(BartackError(job.problem, job.remedy))
        return True
    if job.state is JobState.STOPPED:
        st.info("The last one was stopped before it was ready.")
        return True
    return False
