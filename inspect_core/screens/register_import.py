"""A register from a spreadsheet: columns matched, rows looked at, bad ones told, and all good ones entered at once."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from types import MappingProxyType

from inspect_core.domain.access import Action, require
from inspect_core.domain.errors import BartackError
from inspect_core.domain.people import Person
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts import who
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.speaking import inside, st
from inspect_core.usecases import import_register as importing
from inspect_core.usecases.import_columns import BY_NAME, FIELDS, Column, guess_columns, matched
from inspect_core.usecases.import_register import Preview
from inspect_core.usecases.import_table import MOST_ROWS, Table, read_table, write_csv
from inspect_core.usecases.import_values import DayOrder
from inspect_core.usecases.register import MOST_TEXT

_LEFT_OUT = "left out"
_ORDERS: Mapping[str, DayOrder] = MappingProxyType(
    {
        "Not said: only days that can be read in one way": DayOrder.ASK,
        "Day first: 31/03/2025": DayOrder.DAY_FIRST,
        "Month first: 03/31/2025": DayOrder.MONTH_FIRST,
    }
)
#: Rows shown of each sort; all bad ones are in the file to download.
_SHOWN = 200


def show(frame: Frame) -> None:
    """Choose the file, match its columns, look at what would happen, import."""
    st.title("Import a register")
    person = who.required(frame)
    if person is None:
        return
    require(person, Action.IMPORT, frame.today)
    done = state.query("imported")
    if done is not None and done.isdigit():
        st.success(f"**{done} items imported.** Print their labels and check them before use.", icon=":material/check:")
        frame.link("search", "Find them", icon=":material/search:")
    st.markdown(
        f"A CSV or XLSX file with one item a row and headings above, at most {MOST_ROWS:,} rows. Nothing is written "
        "until you press the button at the end."
    )
    st.download_button(
        "An empty form to fill in (CSV)",
        write_csv([field.words for field in FIELDS], []),
        file_name="register-form.csv",
        mime="text/csv",
        key=state.widget("import", "form"),
        on_click="ignore",
        icon=":material/download:",
    )
    upload = st.file_uploader(
        "The register’s file",
        type=["csv", "txt", "tsv", "xlsx"],
        key=state.widget("import", "file", str(state.page_number("import uploads"))),
    )
    if upload is None:
        return
    data = upload.getvalue()
    try:
        table = _table(data, upload.name)
    except BartackError as error:
        show_error(error)
        return
    for note in table.notes:
        st.info(plain(note), icon=":material/info:")
    _match(frame, person, table, hashlib.sha256(data).hexdigest()[:16])


@st.cache_data(max_entries=4, show_spinner="Reading the file")
def _table(data: bytes, name: str) -> Table:
    return read_table(data, name)


def _match(frame: Frame, person: Person, table: Table, file: str) -> None:
    st.subheader("1. What each column holds")
    st.caption(
        "Guessed from the headings. Put right what is wrong; a column that fits no field is left out. "
        "Only gear in service is taken in: rows that say anything else are bad, and gear too old is entered on hold."
    )
    words = {field.words: field.name for field in BY_NAME.values()}
    wanted: dict[str, str] = {}
    columns = guess_columns(table.header)
    with st.container(key="columns"):
        for start in range(0, len(columns), 3):
            for place, column in zip(st.columns(3), columns[start : start + 3], strict=False):
                with place:
                    wanted[column.heading] = words.get(_column(column, table, list(words), file), "")
    left, right = st.columns(2)
    with left:
        order = st.selectbox("How days are written", list(_ORDERS), key=state.widget("import", file, "days"))
        site = st.text_input(
            "Site, for rows that name none", max_chars=MOST_TEXT, key=state.widget("import", file, "site")
        )
    with right:
        lenient = st.checkbox(
            "Take rows without the width or diameter that their rules need",
            key=state.widget("import", file, "lenient"),
            help="Such an item is held for measuring by hand when it is damaged.",
        )
    try:
        matching = matched(table.header, wanted)
        looked = importing.preview(
            table,
            matching,
            frame.services,
            order=_ORDERS[order],
            numbers_needed=not lenient,
            defaults={"site": site.strip()},
        )
    except BartackError as error:
        show_error(error)
        return
    _rows(looked)
    _import(frame, person, looked)


def _column(column: Column, table: Table, fields: list[str], file: str) -> str:
    """One column with its heading, an example, and the field it holds."""
    example = next((row.cells[column.place] for row in table.rows if row.cells[column.place]), "")
    guess = BY_NAME[column.field].words if column.field else _LEFT_OUT
    chosen = st.selectbox(
        f"{plain(column.heading)}" + (f" ({column.unit})" if column.unit and column.unit not in column.heading else ""),
        [_LEFT_OUT, *fields],
        index=[_LEFT_OUT, *fields].index(guess),
        key=state.widget("import", file, str(column.place)),
    )
    st.caption(f"such as: {plain(example[:40])}" if example else "empty")
    return str(chosen)


def _rows(looked: Preview) -> None:
    st.subheader("2. What would happen")
    st.markdown(f"**{len(looked.good)} rows are good, {len(looked.bad)} are bad.**")
    if looked.bad:
        st.dataframe(
            [
                {"Row": one.row.number, "Column": fault.column or "the row", "What is wrong": fault.problem,
                 "What to do": fault.remedy}
                for one in looked.bad[:_SHOWN]
                for fault in one.faults
            ],
            hide_index=True,
            width="stretch",
        )  # fmt: skip
        st.download_button(
            f"All {len(looked.bad)} bad rows with their reasons (CSV)",
            importing.bad_rows_csv(looked),
            file_name="bad-rows.csv",
            mime="text/csv",
            key=state.widget("import", "bad rows"),
            on_click="ignore",
            icon=":material/download:",
            width="stretch",
        )
    if looked.good:
        shown = [importing.shown_item(one.item) for one in looked.good[:_SHOWN]]
        filled = [name for name in shown[0] if any(row[name] for row in shown)]
        more = f", the first {_SHOWN}" if len(looked.good) > _SHOWN else ""
        with st.expander(f"The good rows as they would be entered{more}", icon=":material/table:"):
            st.dataframe([{name: row[name] for name in filled} for row in shown], hide_index=True, width="stretch")


def _import(frame: Frame, person: Person, looked: Preview) -> None:
    st.subheader("3. Import")
    skip = False
    if looked.bad and looked.good:
        skip = st.checkbox(
            f"Leave the {len(looked.bad)} bad rows out; I have looked at them",
            key=state.widget("import", "skip"),
        )
    if not looked.good:
        st.caption("No row can be imported. Mend the file, or match the columns anew.")
        return
    ready = not looked.bad or skip
    if st.button(
        f"Import {len(looked.good)} item{'s' if len(looked.good) != 1 else ''}",
        type="primary",
        width="stretch",
        disabled=not ready,
        icon=":material/save:",
        key=state.widget("import", "go"),
    ):
        bar = st.progress(0.0, text="Entering the items")
        done = importing.import_rows(
            looked,
            person.id,
            frame.services,
            skip_bad=skip,
            progress=lambda n, total: inside(bar).progress(n / total, text=f"{n} of {total} items"),
        )
        state.more_pages("import uploads")  # an empty box for the next file
        st.query_params["imported"] = str(len(done.items))
        st.rerun()
    st.caption("All good rows are entered together, or none of them.")
