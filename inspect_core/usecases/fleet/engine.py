"""One piece of work over many pieces of records, spread by Dask over processes or over a cluster."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from typing import Any, TypeVar

from inspect_core.domain.errors import BadInput, StoreFault
from inspect_core.usecases.fleet.stores import Piece

Part = TypeVar("Part")
#: Answers are added up so many at a time, on whichever process has time.
_SPLIT = 8


@dataclass(frozen=True, slots=True)
class Engine:
    """Where the work is done: `workers` processes of this machine (1: this process), or the cluster whose scheduler
    answers at `cluster` (tcp://HOST:PORT). Raises BadInput for fewer than one worker."""

    workers: int = 1
    cluster: str | None = None

    def __post_init__(self) -> None:
        if self.workers < 1:
            raise BadInput("A run needs at least one process.", "Give 1 or more workers.")

    def spread(
        self, pieces: Sequence[Piece], work: Callable[[Piece], Part], merge: Callable[[Part, Part], Part], none: Part
    ) -> Part:
        """`work` on every piece, and the answers merged; `none` where there is no piece. `merge` must give the same
        whatever the order. Raises what `work` raises, and StoreFault where a cluster does not answer."""
        if not pieces:
            return none
        try:
            import dask.bag
        except ImportError:
            raise BadInput(
                "Dask is not installed here.", "Install it with: pip install -c constraints.txt -e '.[fleet]'"
            ) from None

        bag: Any = dask.bag.from_sequence(pieces, npartitions=len(pieces))
        answer = bag.map(work).fold(merge, split_every=_SPLIT)
        with ExitStack() as stack:
            found: Part = answer.compute(**self._scheduler(stack))
        return found

    def _scheduler(self, stack: ExitStack) -> dict[str, Any]:
        if self.cluster is not None:
            return {"scheduler": stack.enter_context(_cluster(self.cluster)).get}
        if self.workers == 1:
            return {"scheduler": "synchronous"}
        # From loky, because the standard library's processes run the main script anew, which may be a page server.
        from loky import ProcessPoolExecutor
        from loky.backend import get_context

        pool = stack.enter_context(ProcessPoolExecutor(self.workers, context=get_context("loky")))
        return {"scheduler": "processes", "pool": pool, "num_workers": self.workers}


def _cluster(address: str) -> Any:
    try:
        from distributed import Client
    except ImportError:
        raise BadInput(
            "A cluster needs the library “distributed”, which is not installed here.",
            "Install it here and on every machine of the cluster, or give --workers.",
        ) from None
    try:
        return Client(address, timeout="10s")
    except (OSError, TimeoutError, ValueError) as fault:
        raise StoreFault(f"No cluster answers at {address[:80]}.", "Check the address, and that it runs.") from fault
