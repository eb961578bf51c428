"""The record as a whole: is it as it was written, its signed head, and taking it away."""

from __future__ import annotations

from functools import partial

from inspect_core.domain.access import Action, may
from inspect_core.domain.errors import BartackError
from inspect_core.domain.jobs import FILES_KEPT, JobKind
from inspect_core.domain.people import Person
from inspect_core.domain.record import TreeHead
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts import aside, who
from inspect_core.screens.speaking import inside, st
from inspect_core.usecases import jobs, take_away
from inspect_core.usecases.export import Export
from inspect_core.usecases.heads import key_of, newest_head
from inspect_core.usecases.job_asking import ask_archive, ask_export
from inspect_core.usecases.job_kinds import TAKEN
from inspect_core.usecases.verify import Account, verify

_FORMATS = {
    "CSV tables": "csv",
    "Workbook (XLSX)": "xlsx",
    "JSON lines": "json",
    "Marks as Web Annotations": "annotations",
}
#: Faults told one by one on the page; the command line tells more.
_MOST = 50


def show(frame: Frame) -> None:
    """Check on the left, take away on the right; on a phone one below the other."""
    st.title("Records")
    st.markdown("Whether the record is still what was written, and how to take it away.")
    check, away = st.columns(2, gap="large")
    with check:
        _check(frame)
        _head(frame)
    with away:
        person = frame.person()
        if person is None:
            st.subheader("Take the records away")
            who.ask(frame)
            return
        _export(frame, person)
        _archive(frame, person)


def _check(frame: Frame) -> None:
    st.subheader("Is everything as it was recorded?")
    st.markdown("Looks at every entry, every record and every photo, and names what was changed, removed or added.")
    if not st.button("Check everything", key=state.widget("records", "verify"), type="primary", width="stretch"):
        return
    bar = st.progress(0.0, "Looking …")
    account = verify(
        frame.services,
        progress=lambda done, total, words: inside(bar).progress(done / max(total, 1), f"{words.capitalize()} …"),
    )
    bar.empty()
    _told(account)


def _told(account: Account) -> None:
    seen = f"{account.entries:,} entries and {account.photos:,} photos looked at."
    many = len(account.faults) + account.more
    if not many:
        st.success(f"**Nothing was changed.**  \n{seen}", icon=":material/verified:")
    else:
        things = "1 thing is" if many == 1 else f"{many:,} things are"
        st.error(
            f"**{things} not as recorded.**  \n{seen} Do not rely on what is named here. Tell whoever runs this site's "
            f"computer, and keep a copy of the store as it is.",
            icon=":material/gpp_bad:",
        )
        for fault in account.faults[:_MOST]:
            st.markdown(f"- {plain(fault.words)}")
        if many > _MOST:
            st.caption(f"And {many - _MOST:,} more: run “bartack verify”.")
    for notice in account.notices:
        st.caption(plain(notice))


def _head(frame: Frame) -> None:
    st.subheader("Signed head")
    head = _newest(frame)
    if head is None:
        st.info("Nothing was signed yet. The next record signs the first head.")
        return
    st.markdown(
        f"**{head.size:,} entries**, signed {head.at.astimezone():%Y-%m-%d %H:%M}  \n"
        f"Key of this site: **{plain(key_of(head))}**"
    )
    st.caption(
        "Keep this small file on another computer, a new one every week. If somebody ever cuts off the end of the "
        "record, the file shows it. Tell people who get certificates from you the key."
    )
    st.download_button(
        "Signed head (JSON)",
        lambda: take_away.head_file(frame.services),
        file_name=f"bartack-head-{head.size}.json",
        mime="application/json",
        key=state.widget("records", "head"),
        on_click="ignore",
        icon=":material/key:",
        width="stretch",
    )


def _newest(frame: Frame) -> TreeHead | None:
    try:
        return newest_head(frame.services)
    except BartackError:
        return None


def _export(frame: Frame, person: Person) -> None:
    st.subheader("Take the records away")
    if not may(person, Action.EXPORT, frame.today):
        st.info("A competent person, a manager or an administrator can export the records.")
        return
    if not _made(frame, person, JobKind.EXPORT, "The export is being made."):
        return
    chosen = st.selectbox("As", list(_FORMATS), key=state.widget("records", "format"))
    since = st.date_input(
        "Only from this day on", value=None, format="YYYY-MM-DD", key=state.widget("records", "since")
    )
    photos = st.checkbox("Photos, as copies without metadata", value=True, key=state.widget("records", "photos"))
    originals = st.checkbox("Original photo files too", key=state.widget("records", "originals"))
    place = originals and st.checkbox(
        "Leave in the originals where they were taken", key=state.widget("records", "place")
    )
    wanted = Export(_FORMATS[chosen], since, photos, originals, bool(place))
    st.button(
        "Make the export (ZIP)",
        key=state.widget("records", "export"),
        on_click=aside.ask,
        args=(partial(ask_export, wanted, person.id, frame.services),),
        icon=":material/table_view:",
        width="stretch",
    )


def _archive(frame: Frame, person: Person) -> None:
    st.subheader("Archive")
    if not may(person, Action.ARCHIVE, frame.today):
        st.info("A manager or an administrator can make an archive.")
        return
    st.markdown(
        "Everything that is needed to restore this site, with checksums. It holds the original photos, with the place "
        "where they were taken if the camera noted it. PINs and the signing key are not in it."
    )
    if not _made(frame, person, JobKind.ARCHIVE, "The archive is being made."):
        return
    st.button(
        "Make the archive (ZIP)",
        key=state.widget("records", "archive"),
        on_click=aside.ask,
        args=(partial(ask_archive, person.id, frame.services),),
        icon=":material/inventory_2:",
        width="stretch",
    )
    st.caption("To restore it into a new folder: bartack \\-\\-store NEW_FOLDER restore ARCHIVE.zip")


def _made(frame: Frame, person: Person, kind: JobKind, doing: str) -> bool:
    """What came of the last one that this person asked for; False while it is being made."""
    job = jobs.newest(kind, frame.services, by=person.id)
    if job is None:
        return True
    if job.active:
        aside.follow(frame, job, doing)
        return False
    if aside.ended_badly(job) or job.result is None or not jobs.is_kept(job, frame.services):
        return True
    at = (job.ended_at or job.asked_at).astimezone(frame.services.clock.now().tzinfo)
    st.download_button(
        f"Save the {kind.value} of {at:%Y-%m-%d %H:%M} ({_size(job.result['bytes'])})",
        partial(jobs.fetch, job.id, TAKEN, person.id, frame.services),
        file_name=str(job.result["name"]),
        mime="application/zip",
        key=state.widget("records", "save", kind.value),
        on_click="ignore",
        icon=":material/download:",
        type="primary",
        width="stretch",
    )
    missing = job.result.get("missing")
    if missing:
        st.warning(f"{len(missing)} photos could not be taken along. Run “bartack verify”: it names them.")
    st.caption(f"It is kept for {FILES_KEPT.days} days, for you alone.")
    return True


def _size(many: int) -> str:
    return f"{many / 1e6:,.1f} MB" if many >= 100_000 else f"{many / 1e3:,.0f} kB"
