"""How the program fares: figures for Prometheus, a log of JSON lines, and a health answer. Nothing here names a person,
an item, a photo or a word that somebody typed: only what was done, how long it took and how it ended.

It stands between the use cases and what fulfils their ports, so that neither knows of it. `prometheus_client` is
loaded only where somebody watches.
"""

from __future__ import annotations

import json
import logging
import sys
import threading
import traceback
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from socketserver import ThreadingMixIn
from time import perf_counter
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self, cast
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

from inspect_core.domain.errors import BadInput, BartackError, StoreFault
from inspect_core.domain.jobs import JobFigures
from inspect_core.ports import PhotoStore, UnitOfWork, UnitOfWorkFactory

if TYPE_CHECKING:
    from wsgiref.types import StartResponse, WSGIApplication, WSGIEnvironment

    from prometheus_client import Metric
    from prometheus_client.registry import Collector

_log = logging.getLogger("bartack")

#: Bounds of the time histograms in seconds: from a quick read to a wait that a person notices as broken.
_BOUNDS = (0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 15.0)
_ROOT = Path(__file__).parent.parent


class Watch:
    """Counts and times in a registry of its own, so that two stores in one process do not mix."""

    def __init__(self) -> None:
        from prometheus_client import CollectorRegistry, Counter, Histogram

        self.registry = CollectorRegistry()
        self._units = Histogram(
            "bartack_unit_seconds",
            "Time of one transaction, by whether it writes and how it ended.",
            ("kind", "ended"),
            buckets=_BOUNDS,
            registry=self.registry,
        )
        self._photos = Histogram(
            "bartack_photo_seconds",
            "Time of one use of the photo store.",
            ("use", "ended"),
            buckets=_BOUNDS,
            registry=self.registry,
        )
        self._screens = Histogram(
            "bartack_screen_seconds",
            "Time of drawing one screen.",
            ("screen", "ended"),
            buckets=_BOUNDS,
            registry=self.registry,
        )
        self._faults = Counter(
            "bartack_faults",
            "What failed, by where and by the kind of fault.",
            ("where", "fault"),
            registry=self.registry,
        )

    def jobs(self, figures: Callable[[], JobFigures]) -> None:
        """Has figures of the queue of jobs worked out whenever somebody asks for all of them."""
        self.registry.register(cast("Collector", _Jobs(figures, self)))

    def unit_of_work(self, opens: UnitOfWorkFactory) -> UnitOfWorkFactory:
        """The same factory, its units timed."""

        def open_unit(*, write: bool = False) -> UnitOfWork:
            return cast(UnitOfWork, _WatchedUnit(opens(write=write), "write" if write else "read", self))

        return open_unit

    def photos(self, store: PhotoStore) -> PhotoStore:
        """The same store, its uses timed."""
        return cast(PhotoStore, _WatchedPhotos(store, self))

    @contextmanager
    def screen(self, name: str) -> Iterator[None]:
        """Times the drawing of a screen. What is no error but ends it early, such as going on to another screen, is
        told as left."""
        start = perf_counter()
        ended = "left"
        try:
            yield
            ended = "drawn"
        except BartackError:
            ended = "refused"
            raise
        except Exception as error:
            ended = "failed"
            self.fault(f"screen {name}", error)
            raise
        finally:
            took = perf_counter() - start
            self._screens.labels(name, ended).observe(took)
            _log.info("screen", extra={"told": {"screen": name, "ended": ended, "ms": round(took * 1000, 1)}})

    def unit_ended(self, kind: str, ended: str, took: float) -> None:
        self._units.labels(kind, ended).observe(took)
        if kind == "write":
            _log.info("unit", extra={"told": {"ended": ended, "ms": round(took * 1000, 1)}})

    @contextmanager
    def photo(self, use: str) -> Iterator[None]:
        start, ended = perf_counter(), "failed"
        try:
            yield
            ended = "done"
        except BartackError as error:
            if isinstance(error, StoreFault):
                self.fault("photos", error)
            else:
                ended = "refused"
            raise
        finally:
            self._photos.labels(use, ended).observe(perf_counter() - start)

    def fault(self, where: str, error: BaseException) -> None:
        self._faults.labels(where, type(error).__name__).inc()
        _log.error("fault", extra={"told": {"where": where, "fault": type(error).__name__}})


class _Jobs:
    """A collector of `prometheus_client`: asks the store when it is asked itself."""

    def __init__(self, figures: Callable[[], JobFigures], watch: Watch) -> None:
        self._figures, self._watch = figures, watch

    def collect(self) -> Iterator[Metric]:
        from prometheus_client.core import GaugeMetricFamily

        try:
            told = self._figures()
        except BartackError as error:
            self._watch.fault("jobs", error)
            return
        states = GaugeMetricFamily("bartack_jobs", "Jobs by how far they are.", labels=["state"])
        for state, many in (("waiting", told.waiting), ("running", told.running), ("failed", told.failed)):
            states.add_metric([state], many)
        yield states
        yield GaugeMetricFamily(
            "bartack_jobs_oldest_seconds", "How long the oldest job that waits has waited.", told.oldest
        )
        if told.workers is not None:
            yield GaugeMetricFamily("bartack_workers", "Workers that take jobs.", told.workers)


class _WatchedUnit:
    """Passes everything on; tells how the unit ended."""

    def __init__(self, unit: UnitOfWork, kind: str, watch: Watch) -> None:
        self._unit, self._kind, self._watch = unit, kind, watch
        self._ended = "left"
        self._start = 0.0

    def __enter__(self) -> Self:
        self._start = perf_counter()
        try:
            self._unit.__enter__()
        except StoreFault as error:
            self._watch.fault("database", error)
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            self._unit.__exit__(kind, error, trace)
        finally:
            if isinstance(error, StoreFault):
                self._watch.fault("database", error)
            if error is not None:
                self._ended = "refused" if isinstance(error, BartackError) else "failed"
            self._watch.unit_ended(self._kind, self._ended, perf_counter() - self._start)

    def commit(self) -> None:
        self._unit.commit()
        self._ended = "committed"

    def __getattr__(self, name: str) -> Any:
        return getattr(self._unit, name)


class _WatchedPhotos:
    """Passes everything on; times what moves bytes."""

    def __init__(self, store: PhotoStore, watch: Watch) -> None:
        self._store, self._watch = store, watch

    def put(self, photo_id: str, original: bytes, copies: Mapping[str, bytes]) -> bool:
        with self._watch.photo("put"):
            return self._store.put(photo_id, original, copies)

    def original(self, photo_id: str) -> bytes:
        with self._watch.photo("original"):
            return self._store.original(photo_id)

    def copy(self, photo_id: str, name: str) -> bytes:
        with self._watch.photo("copy"):
            return self._store.copy(photo_id, name)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._store, name)


class JsonLines(logging.Formatter):
    """One JSON object a line. Of an error only its class and the places in our own files: its words may quote what
    somebody typed."""

    def format(self, record: logging.LogRecord) -> str:
        line: dict[str, Any] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "event": record.msg if not record.args else str(record.msg),
            **getattr(record, "told", {}),
        }
        if record.exc_info and record.exc_info[0]:
            line["fault"] = record.exc_info[0].__name__
            line["places"] = [
                f"{Path(frame.filename).relative_to(_ROOT)}:{frame.lineno}"
                for frame in traceback.extract_tb(record.exc_info[2])
                if Path(frame.filename).is_relative_to(_ROOT)
            ]
        return json.dumps(line, ensure_ascii=False)


def log_json(level: int = logging.INFO) -> None:
    """Our own log as JSON lines on standard error; other libraries' logs stay as they are."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(JsonLines())
    for name in ("bartack", "inspect_core"):
        logger = logging.getLogger(name)
        logger.handlers[:] = [handler]
        logger.setLevel(level)
        logger.propagate = False


class _Quiet(WSGIRequestHandler):
    #: Whoever connects and says nothing is left alone after so many seconds.
    timeout = 10

    def log_message(self, format: str, *args: Any) -> None:
        """Who asks for figures is nobody's business."""


class _Threaded(ThreadingMixIn, WSGIServer):
    """One silent or slow asker keeps nobody else waiting."""

    daemon_threads = True


def application(watch: Watch, health: Callable[[], Mapping[str, Any]]) -> WSGIApplication:
    """`/metrics` for Prometheus and `/health` as JSON: 200 while `health()["ok"]`, else 503."""
    from prometheus_client import make_wsgi_app

    figures = cast("WSGIApplication", make_wsgi_app(watch.registry))

    def answer(environ: WSGIEnvironment, start: StartResponse) -> Any:
        path = environ.get("PATH_INFO", "")
        if path == "/metrics":
            return figures(environ, start)
        if path != "/health":
            start("404 Not Found", [("Content-Type", "text/plain")])
            return [b"Ask for /metrics or /health.\n"]
        told = dict(health())
        status = "200 OK" if told.get("ok") else "503 Service Unavailable"
        start(status, [("Content-Type", "application/json"), ("Cache-Control", "no-store")])
        return [json.dumps(told).encode()]

    return answer


def serve(address: str, watch: Watch, health: Callable[[], Mapping[str, Any]]) -> WSGIServer:
    """Serves figures and health at HOST:PORT in a thread that ends with the program. Raises BadInput for an address
    that is none or is taken."""
    host, _, port = address.rpartition(":")
    try:
        server = make_server(host or "127.0.0.1", int(port), application(watch, health), _Threaded, _Quiet)
    except (ValueError, OSError, OverflowError):
        raise BadInput(
            f"Figures cannot be served at “{address[:60]}”.", "Give HOST:PORT of a free port, such as 127.0.0.1:9400."
        ) from None
    threading.Thread(target=server.serve_forever, name="figures", daemon=True).start()
    return server
