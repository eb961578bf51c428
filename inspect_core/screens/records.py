"""The record as a whole: is it as it was written, its signed head, and taking it away."""

from __future__ import annotations

from inspect_core.domain.access import Action, may
from inspect_core.domain.errors import BartackError
from inspect_core.domain.people import Person
from inspect_core.domain.record import TreeHead
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts import who
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.speaking import st
from inspect_core.usecases import take_away
from inspect_core.usecases.export import Export
from inspect_core.usecases.heads import key_of, newest_head
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
        progress=lambda done, total, words: bar.progress(done / max(total, 1), f"{words.capitalize()} …"),
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
    chosen = st.selectbox("As", list(_FORMATS), key=state.widget("records", "format"))
    since = st.date_input(
        "Only from this day on", value=None, format="YYYY-MM-DD", key=state.widget("records", "since")
    )
    photos = st.checkbox("Photos, as copies without metadata", value=True, key=state.widget("records", "photos"))
    originals = st.checkbox("Original photo files too", key=state.widget("records", "originals"))
    place = originals and st.checkbox(
        "Leave in the originals where they were taken", key=state.widget("records", "place")
    )
    if (photos or originals) and not _fits(frame):
        return
    wanted = Export(_FORMATS[chosen], since, photos, originals, bool(place))
    st.download_button(
        "Export (ZIP)",
        lambda: take_away.export_zip(wanted, person.id, frame.services),
        file_name=f"bartack-export-{frame.today.isoformat()}.zip",
        mime="application/zip",
        key=state.widget("records", "export"),
        on_click="ignore",
        icon=":material/table_view:",
        width="stretch",
    )
    st.caption("The file is made when you press; many photos take a while.")


def _archive(frame: Frame, person: Person) -> None:
    st.subheader("Archive")
    if not may(person, Action.ARCHIVE, frame.today):
        st.info("A manager or an administrator can make an archive.")
        return
    st.markdown(
        "Everything that is needed to restore this site, with checksums. It holds the original photos, with the place "
        "where they were taken if the camera noted it. PINs and the signing key are not in it."
    )
    if not _fits(frame):
        return
    st.download_button(
        "Archive (ZIP)",
        lambda: take_away.archive_zip(person.id, frame.services),
        file_name=f"bartack-archive-{frame.today.isoformat()}.zip",
        mime="application/zip",
        key=state.widget("records", "archive"),
        on_click="ignore",
        icon=":material/inventory_2:",
        width="stretch",
    )
    st.caption("To restore it into a new folder: bartack \\-\\-store NEW_FOLDER restore ARCHIVE.zip")


def _fits(frame: Frame) -> bool:
    if take_away.photo_bytes(frame.services) <= take_away.MOST_BYTES:
        return True
    show_error(_too_large())
    return False


def _too_large() -> BartackError:
    return BartackError(
        "The photos of this site are too many for a download.",
        "Use “bartack export” or “bartack archive” on the site's computer.",
    )
