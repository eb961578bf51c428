"""A line to a server that can be cut: a proxy on this machine that passes bytes on until it is told to drop them."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress


class Line:
    """`port` on this machine leads to a server's port while the line is whole."""

    def __init__(self, to_port: int) -> None:
        self._to = to_port
        self._whole = True
        self._ends: set[socket.socket] = set()
        self._lock = threading.Lock()
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._listening.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    def cut(self) -> None:
        """Every talk breaks off and no new one begins."""
        with self._lock:
            self._whole = False
            ends, self._ends = self._ends, set()
        for end in ends:
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()

    def mend(self) -> None:
        with self._lock:
            self._whole = True

    def close(self) -> None:
        self.cut()
        self._listening.close()

    def _accept(self) -> None:
        while True:
            try:
                near, _ = self._listening.accept()
            except OSError:
                return
            with self._lock:
                if not self._whole:
                    near.close()
                    continue
                try:
                    far = socket.create_connection(("127.0.0.1", self._to), timeout=5)
                except OSError:
                    near.close()
                    continue
                far.settimeout(None)
                self._ends |= {near, far}
            for source, target in ((near, far), (far, near)):
                threading.Thread(target=self._pass_on, args=(source, target), daemon=True).start()

    def _pass_on(self, source: socket.socket, target: socket.socket) -> None:
        with suppress(OSError):
            while data := source.recv(65_536):
                target.sendall(data)
        for end in (source, target):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()
            with self._lock:
                self._ends.discard(end)


@contextmanager
def line_to(port: int) -> Iterator[Line]:
    line = Line(port)
    try:
        yield line
    finally:
        line.close()
