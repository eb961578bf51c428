"""What if: the past weighed again by another rule set, without touching any record."""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import Future
from dataclasses import dataclass, replace
from datetime import date
from itertools import islice

from inspect_core.deciding import decide
from inspect_core.domain.decision import Case, FactValue, Finding, FindingOutcome, Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Item
from inspect_core.domain.inspection import Inspection, InspectionType, case_marks
from inspect_core.rules.model import RuleSet
from inspect_core.usecases.casefile import facts_of_item
from inspect_core.usecases.services import Services

#: (identifier, case, the day it was decided on, the outcome the rules gave then)
Past = tuple[str, Case, date, Outcome]

_CHUNK = 1000  # cases a process is handed at once: large against the cost of handing over, small against a minute
_AHEAD = 3  # chunks waiting per process, so that a long history never stands in memory whole


@dataclass(frozen=True, slots=True)
class Change:
    """One past case whose outcome would differ.

    `appearing`: findings that count under the new rules and did not under the old; `vanishing`: the reverse.
    """

    id: str
    on: date
    recorded: Outcome
    would_be: Outcome
    appearing: tuple[Finding, ...]
    vanishing: tuple[Finding, ...]

    @property
    def stricter(self) -> bool:
        return self.would_be.severity > self.recorded.severity


@dataclass(frozen=True, slots=True)
class Refused:
    """One past case that the new rules cannot weigh, and why."""

    id: str
    problem: str


@dataclass(frozen=True, slots=True)
class WhatIf:
    """Outcome of a what-if run. Changes and refusals stand in the order of the cases given."""

    cases: int
    old_digest: str
    new_digest: str
    changes: tuple[Change, ...]
    refused: tuple[Refused, ...]

    @property
    def by_rule(self) -> Mapping[str, int]:
        """How many changes each rule takes part in, most first."""
        named = Counter(rule for c in self.changes for rule in {f.rule for f in (*c.appearing, *c.vanishing)})
        return dict(sorted(named.items(), key=lambda entry: (-entry[1], entry[0])))


def past_of(item: Item, inspections: Iterable[Inspection]) -> Iterator[Past]:
    """The recorded inspections of one item as cases, oldest first, each with what was known on its day.

    The item's own numbers are taken as they stand in the register now; dates after the day of the inspection are left
    out. Inspections that a later one corrects are left out.
    """
    listed = sorted(inspections, key=lambda inspection: (inspection.at, inspection.id))
    corrected = {inspection.corrects for inspection in listed}
    last_periodic: date | None = None
    due: date | None = None
    for inspection in listed:
        on = inspection.at.date()
        if inspection.id not in corrected:
            known: dict[str, FactValue] = {"inspection type": inspection.type.value, **inspection.facts}
            if inspection.type is InspectionType.BEFORE_USE and due is not None:
                known.setdefault("next due", due)
            facts = facts_of_item(item, on, last_periodic=last_periodic, extra=known)
            case = Case(item.kind, inspection.profile, facts, inspection.answers, case_marks(inspection.marks))
            yield inspection.id, case, on, inspection.decision.outcome
        if inspection.type is not InspectionType.BEFORE_USE:
            last_periodic = on
        due = inspection.next_due or due


def recorded_past(services: Services) -> Iterator[Past]:
    """Every recorded inspection of every item, item by item, for a what-if run over a whole store."""
    with services.unit_of_work() as uow:
        items = [row.item for row in uow.items.rows()]
    for item in items:
        # One item at a time: a long run must not keep the store from those who inspect meanwhile.
        with services.unit_of_work() as uow:
            inspections = uow.inspections.of_item(item.id)
        yield from past_of(item, inspections)


def reevaluate(
    past: Iterable[Past],
    old: RuleSet,
    new: RuleSet,
    *,
    workers: int = 1,
    progress: Callable[[int], None] | None = None,
) -> WhatIf:
    """Weigh past cases by `new`, each on its own day, and tell which outcomes would differ from the recorded ones.

    `old` explains the difference and is asked only about cases that change. `workers`: processes; 1 stays in this
    one. `progress` receives the number of cases done so far. Nothing is stored or altered. Raises BadInput for fewer
    than one worker.
    """
    if workers < 1:
        raise BadInput("A run needs at least one process.", "Give 1 or more workers.")
    changes: list[Change] = []
    refused: list[Refused] = []
    done = 0
    for count, changed, unread in _run(_chunks(past), old, new, workers):
        done += count
        changes.extend(changed)
        refused.extend(unread)
        if progress is not None:
            progress(done)
    return WhatIf(done, old.digest, new.digest, tuple(changes), tuple(refused))


_Part = tuple[int, list[Change], list[Refused]]


def _run(chunks: Iterator[list[Past]], old: RuleSet, new: RuleSet, workers: int) -> Iterator[_Part]:
    if workers == 1:
        for chunk in chunks:
            yield weigh(chunk, old, new)
        return
    # Fresh processes, because a forked one would inherit the locks of the page server's threads; and from loky,
    # because the standard library's run the main script anew in each, which under a page server is a page.
    from loky import ProcessPoolExecutor
    from loky.backend import get_context

    with ProcessPoolExecutor(workers, context=get_context("loky"), initializer=_start, initargs=(old, new)) as pool:
        waiting: deque[Future[_Part]] = deque()
        for chunk in chunks:
            waiting.append(pool.submit(_weigh_in_process, chunk))
            if len(waiting) >= workers * _AHEAD:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()


def _chunks(past: Iterable[Past]) -> Iterator[list[Past]]:
    rest = iter(past)
    while chunk := [(id_, _sendable(case), on, outcome) for id_, case, on, outcome in islice(rest, _CHUNK)]:
        yield chunk


def _sendable(case: Case) -> Case:
    """Plain dictionaries in place of read-only views, which cannot go to another process."""
    return replace(case, facts=dict(case.facts), answers=dict(case.answers))


def weigh(chunk: Iterable[Past], old: RuleSet, new: RuleSet) -> _Part:
    """How many cases these are, those whose outcome would differ, and those that `new` cannot weigh."""
    cases = 0
    changes: list[Change] = []
    refused: list[Refused] = []
    for id_, case, on, recorded in chunk:
        cases += 1
        try:
            after = decide(case, new, on)
            if after.outcome is recorded:
                continue
            before = decide(case, old, on)
        except BadInput as error:
            refused.append(Refused(id_, error.problem))
            continue
        was, would = _counting(before.findings), _counting(after.findings)
        appearing = tuple(f for key, f in would.items() if key not in was)
        vanishing = tuple(f for key, f in was.items() if key not in would)
        changes.append(Change(id_, on, recorded, after.outcome, appearing, vanishing))
    return cases, changes, refused


def _counting(findings: Iterable[Finding]) -> dict[tuple[object, ...], Finding]:
    """Findings that hold or withdraw, by what makes two of them the same."""
    return {
        (f.rule, f.outcome, f.mark, f.component, f.measure, f.limit): f
        for f in findings
        if f.outcome is not FindingOutcome.CLEARED
    }


_rules: tuple[RuleSet, RuleSet] | None = None  # of a worker process, handed over once at its start


def _start(old: RuleSet, new: RuleSet) -> None:
    global _rules
    _rules = (old, new)


def _weigh_in_process(chunk: list[Past]) -> _Part:
    if _rules is None:
        raise RuntimeError("the worker process was started without its rules")
    return weigh(chunk, *_rules)
