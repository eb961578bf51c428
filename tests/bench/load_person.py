"""One person at a browser, as the server sees them: Streamlit's own messages over a WebSocket, and nothing drawn."""

from __future__ import annotations

import asyncio
from collections.abc import Collection
from dataclasses import dataclass, field
from time import perf_counter
from typing import Any
from urllib.parse import urlencode, urlsplit

from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from websockets.asyncio.client import ClientConnection, connect

#: A rerun that takes longer than this is an error, in seconds.
PATIENCE = 20.0
_ENDS = (ForwardMsg.FINISHED_SUCCESSFULLY, ForwardMsg.FINISHED_FRAGMENT_RUN_SUCCESSFULLY)
_WIDGETS = ("button", "button_group", "selectbox", "text_input", "checkbox", "radio", "date_input", "number_input")


@dataclass
class Page:
    """What stands on the page: widgets by their kind, as (label, message), in which part of the page each is drawn
    ("" where it is drawn with the whole), and what faults the last rerun told."""

    widgets: dict[str, list[tuple[str, Any]]] = field(default_factory=dict)
    parts: dict[str, str] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)
    pictures: list[str] = field(default_factory=list)

    def take(self, message: ForwardMsg) -> None:
        element = message.delta.new_element
        kind = element.WhichOneof("type")
        if kind in _WIDGETS:
            widget = getattr(element, kind)
            self.widgets.setdefault(kind, []).append((str(widget.label), widget))
            self.parts[widget.id] = message.delta.fragment_id
        elif kind == "imgs":
            self.pictures += [one.url for one in element.imgs.imgs if one.url.startswith("/")]
        elif kind == "exception" or (kind == "alert" and "not your fault" in element.alert.body):
            self.faults.append(str(getattr(element, kind))[:300])

    def without(self, parts: Collection[str]) -> Page:
        """The page before those parts of it are drawn anew."""
        kept = {
            kind: [(label, one) for label, one in many if self.parts[one.id] not in parts]
            for kind, many in self.widgets.items()
        }
        return Page(kept, {one.id: self.parts[one.id] for many in kept.values() for _, one in many})

    def of(self, kind: str) -> list[tuple[str, Any]]:
        return self.widgets.get(kind, [])


class Visitor:
    """A session. Every click returns the time from sending it to the end of the rerun, in seconds."""

    def __init__(self, url: str, cookie: str = "") -> None:
        self._url, self._cookie = url, cookie
        self._socket: ClientConnection | None = None
        self._pages: dict[str, str] = {}
        self._hash, self._query = "", ""
        self._states: dict[str, tuple[str, Any]] = {}
        self._looked_at: set[str] = set()
        self.page = Page()

    async def __aenter__(self) -> Visitor:
        headers = {"Cookie": self._cookie} if self._cookie else {}
        self._socket = await connect(
            f"{self._url.replace('http', 'ws', 1)}/_stcore/stream",
            subprotocols=["streamlit"],  # type: ignore[list-item]
            additional_headers=headers,
            max_size=None,
            compression=None,
        )
        return self

    async def __aexit__(self, *_: object) -> None:
        if self._socket is not None:
            await self._socket.close()

    async def go(self, page: str, **query: str) -> float:
        """Opens a screen by its address, or by a link once the navigation is known."""
        self._states.clear()
        self._query = urlencode(query)
        self._hash = self._pages.get(page, "")
        return await self._rerun(page="" if self._hash else page)

    async def press(self, widget: Any) -> float:
        return await self._rerun(trigger=widget.id, part=self.page.parts[widget.id])

    async def choose(self, group: Any, place: int) -> float:
        """One of a row of choices."""
        option = group.options[place]
        self._states[group.id] = ("string_array_value", [option.content or option.content_icon])
        return await self._rerun(part=self.page.parts[group.id])

    async def pick(self, box: Any, option: str) -> float:
        self._states[box.id] = ("string_value", option)
        return await self._rerun(part=self.page.parts[box.id])

    write = pick

    async def look(self) -> None:
        """Fetches the page's pictures, each once, as a browser does after the rerun."""
        for path in self.page.pictures:
            if path not in self._looked_at:
                self._looked_at.add(path)
                await self._fetch(path)

    async def _fetch(self, path: str) -> None:
        place = urlsplit(self._url)
        reader, writer = await asyncio.open_connection(place.hostname, place.port)
        try:
            lines = [f"GET {path} HTTP/1.1", f"Host: {place.netloc}", f"Cookie: {self._cookie}", "Connection: close"]
            writer.write("\r\n".join([*lines, "", ""]).encode())
            async with asyncio.timeout(PATIENCE):
                answer = await reader.read()
        finally:
            writer.close()
        if b" 200 " not in answer[:20]:
            self.page.faults.append(f"a picture did not come: {answer[:40]!r}")

    async def _rerun(self, *, page: str = "", trigger: str = "", part: str = "") -> float:
        assert self._socket is not None
        told = BackMsg()
        wanted = told.rerun_script
        wanted.query_string, wanted.page_script_hash, wanted.page_name = self._query, self._hash, page
        wanted.fragment_id = part
        for name, (kind, value) in self._states.items():
            state = wanted.widget_states.widgets.add(id=name)
            if isinstance(value, list):
                getattr(state, kind).data.extend(value)
            else:
                setattr(state, kind, value)
        if trigger:
            wanted.widget_states.widgets.add(id=trigger, trigger_value=True)
        start = perf_counter()
        await self._socket.send(told.SerializeToString())
        async with asyncio.timeout(PATIENCE):
            while True:
                message = ForwardMsg.FromString(await self._socket.recv(decode=False))
                kind = message.WhichOneof("type")
                if kind == "new_session":
                    # A switch to another page, or st.rerun(), begins anew within the same click.
                    self.page = self.page.without([part]) if part else Page()
                    part = ""
                elif kind == "navigation":
                    self._hash = message.navigation.page_script_hash
                    self._pages = {one.url_pathname: one.page_script_hash for one in message.navigation.app_pages}
                elif kind == "page_info_changed":
                    self._query = message.page_info_changed.query_string
                elif kind == "delta":
                    self.page.take(message)
                elif kind == "script_finished":
                    if message.script_finished in _ENDS:
                        break
                    if message.script_finished == ForwardMsg.FINISHED_WITH_COMPILE_ERROR:
                        self.page.faults.append("the script does not compile")
                        break
        took = perf_counter() - start
        kept = {w.id for many in self.page.widgets.values() for _, w in many}
        self._states = {name: value for name, value in self._states.items() if name in kept}
        return took
