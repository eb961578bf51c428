"""Do inspectors agree: blind second readings beside the first look, rates per inspector, and photos used twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations

from inspect_core.domain.people import Person, Role
from inspect_core.domain.second_reading import CANNOT_TELL, SOUND, InspectorCount, ReadPhoto, SharedPhoto
from inspect_core.ports import UnitOfWork
from inspect_core.trends.agreement import Agreement, SecondReading, answers_by_photo, cohen, fleiss
from inspect_core.trends.few import TooFew
from inspect_core.trends.funnel import Funnel, funnel
from inspect_core.trends.photo_use import PhotoUse, photos_used_twice
from inspect_core.trends.reasons import Share, wilson
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_scope import KEPT, Scope
from inspect_core.usecases.trends_why import lives_of

#: Fewer photos of one first answer are told, not drawn: common practice, no source.
LEAST_OF_ANSWER = 5
#: Said wherever a rate stands beside a person.
ABOUT_GEAR = (
    "A rate is about the gear that a person was given to look at, not about the person: old gear from a hard site "
    "gives a high rate to whoever inspects it."
)


@dataclass(frozen=True, slots=True)
class Pair:
    """Two people who read some of the same photos."""

    first: str
    second: str
    found: Agreement | TooFew


@dataclass(frozen=True, slots=True)
class Agree:
    """Agreement of a scope's readings. People are ids. `rows`: every usable blind answer beside the first look.

    `looks`: first look against the first blind reading of each photo, whoever made them (Cohen). `everybody`: all who
    answered, the first look included (Fleiss). `pairs`: every two people, those with most photos first. `by_answer`:
    share of blind answers that said what the first look said, per answer of the first look; `few_answers` those with
    too few. `not_told`: blind answers left out because the photo did not show enough.
    """

    scope: Scope
    rows: tuple[ReadPhoto, ...]
    looks: Agreement | TooFew
    everybody: Agreement | TooFew
    pairs: tuple[Pair, ...]
    by_answer: tuple[Share, ...]
    few_answers: tuple[TooFew, ...]
    not_told: int
    detailed: Funnel | TooFew
    checks: Funnel | TooFew
    twice: tuple[tuple[SharedPhoto, ...], ...]

    @property
    def photos(self) -> int:
        """How many photos were read blind at least once."""
        return len({row.photo_id for row in self.rows})

    @property
    def in_words(self) -> str:
        """One sentence: how often the blind reading said what the first look said."""
        if not self.rows:
            return "No photo has been read a second time yet, so nobody can say whether inspectors agree."
        if isinstance(self.looks, TooFew):
            return f"{self.photos} photos were read a second time. {self.looks.why}"
        return f"First look and blind second look: {self.looks.in_words}"

    def behind(self, first: str) -> tuple[ReadPhoto, ...]:
        """The blind answers to photos of one first answer, those that differ first, newest first."""
        own = (row for row in self.rows if row.first == first)
        return tuple(sorted(own, key=lambda row: (row.second == row.first, -row.on.toordinal(), row.tag)))

    def told_apart(self) -> tuple[tuple[str, str, int], ...]:
        """(first answer, blind answer, how often) where the two differ, most frequent first."""
        counted = Counter((row.first, row.second) for row in self.rows if row.first != row.second)
        return tuple((*pair, many) for pair, many in sorted(counted.items(), key=lambda one: (-one[1], one[0])))


def agree(services: Services, scope: Scope) -> Agree:
    """Whether the people who look at the scope's gear agree. The period is that of the first look."""

    def make(uow: UnitOfWork, today: date) -> Agree:
        ours = None if scope.model is None and scope.site is None else {row.item_id for row in lives_of(uow, scope)}
        every = [row for row in uow.second_readings.all() if _holds(scope, ours, row)]
        rows = tuple(row for row in every if row.second != CANNOT_TELL)
        by_answer, few_answers = _by_answer(rows)
        counts = uow.reviews.inspector_counts(kind=scope.kind, **scope.within)
        return Agree(
            scope,
            rows,
            _looks(rows),
            fleiss(_everybody(rows)),
            _pairs(rows),
            by_answer,
            few_answers,
            len(every) - len(rows),
            _funnel(counts, in_detail=True),
            _funnel(counts, in_detail=False),
            _twice(uow.reviews.shared_photos(kind=scope.kind, **scope.within)),
        )

    return KEPT.answer(services, ("agree", scope), make)


def names(services: Services, viewer: Person | None, ids: Iterable[str]) -> Mapping[str, str]:
    """What the page calls people. Managers and administrators see names; others see themselves as "you" and everybody
    else by a number, because a rate says little about a person and is easily read as if it did."""
    with services.unit_of_work() as uow:
        known = {person.id: person.name for person in uow.people.all()}
    if viewer is not None and viewer.role in (Role.MANAGER, Role.ADMINISTRATOR):
        return {one: known.get(one, one) for one in sorted(set(ids))}
    called = {one: f"inspector {number}" for number, one in enumerate(sorted(set(ids)), 1)}
    return called | ({viewer.id: "you"} if viewer is not None and viewer.id in called else {})


def _holds(scope: Scope, ours: set[str] | None, row: ReadPhoto) -> bool:
    return (
        (scope.kind is None or row.kind is scope.kind)
        and (ours is None or row.item_id in ours)
        and (scope.since is None or row.on >= scope.since)
        and (scope.until is None or row.on <= scope.until)
    )


def _looks(rows: Sequence[ReadPhoto]) -> Agreement | TooFew:
    """One blind reading per photo, the first made: several of one photo would count it several times."""
    once: dict[str, ReadPhoto] = {}
    for row in rows:
        once.setdefault(row.photo_id, row)
    return cohen([row.first for row in once.values()], [row.second for row in once.values()])


def _everybody(rows: Sequence[ReadPhoto]) -> tuple[SecondReading, ...]:
    first = {(row.photo_id, row.first_by): row.first for row in rows}
    second = {(row.photo_id, row.second_by): row.second for row in rows}
    return tuple(SecondReading(photo, reader, answer) for (photo, reader), answer in (second | first).items())


def _pairs(rows: Sequence[ReadPhoto]) -> tuple[Pair, ...]:
    common: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for answers in answers_by_photo(_everybody(rows)).values():
        for one, other in combinations(sorted(answers), 2):
            common.setdefault((one, other), []).append((answers[one], answers[other]))
    found = [
        Pair(one, other, cohen([a for a, _ in both], [b for _, b in both])) for (one, other), both in common.items()
    ]
    return tuple(sorted(found, key=lambda pair: (-_photos(pair.found), pair.first, pair.second)))


def _photos(found: Agreement | TooFew) -> int:
    return found.items if isinstance(found, TooFew) else found.photos


def _by_answer(rows: Sequence[ReadPhoto]) -> tuple[tuple[Share, ...], tuple[TooFew, ...]]:
    drawn, few = [], []
    for first, total in sorted(Counter(row.first for row in rows).items(), key=lambda pair: (-pair[1], pair[0])):
        same = sum(row.second == first for row in rows if row.first == first)
        if total < LEAST_OF_ANSWER:
            few.append(TooFew(first, total, total - same, f"At least {LEAST_OF_ANSWER} answers are needed for a bar."))
            continue
        drawn.append(Share(first, same, total, same / total, *wilson(same, total)))
    return tuple(sorted(drawn, key=lambda share: (share.label != SOUND, -share.share, share.label))), tuple(few)


def _funnel(counts: Iterable[InspectorCount], *, in_detail: bool) -> Funnel | TooFew:
    """Checks before use and detailed inspections apart: they look for different things."""
    defects, inspections = Counter[str](), Counter[str]()
    for count in counts:
        if count.in_detail is in_detail:
            defects[count.by] += count.defects
            inspections[count.by] += count.inspections
    return funnel({by: (defects[by], many) for by, many in inspections.items()})


def _twice(uses: Sequence[SharedPhoto]) -> tuple[tuple[SharedPhoto, ...], ...]:
    by_id = {(use.photo_id, use.inspection_id): use for use in uses}
    found = photos_used_twice(PhotoUse(use.photo_id, use.inspection_id, use.item_id) for use in uses)
    return tuple(tuple(by_id[photo, use.inspection_id] for use in group) for photo, group in found)
