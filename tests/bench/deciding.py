"""Deciding: one case, the weighing that explains it, and the past weighed again.

`python -m tests.bench deciding` times single decisions and a short what-if run. The million is asked for by itself:
`python -m tests.bench.deciding --cases 1000000 --workers 2` prints the rate in cases per second.
"""

from __future__ import annotations

import argparse
import random
import time
from collections.abc import Iterator
from datetime import date, timedelta

from inspect_core.deciding import decide, weigh
from inspect_core.domain.decision import Answer, Case, CaseMark, FactValue, Outcome
from inspect_core.domain.gear import Kind, components_of
from inspect_core.domain.marks import Category, Reading
from inspect_core.domain.measures import MEASURES, Unit
from inspect_core.rules.loader import load_rules
from inspect_core.rules.model import RuleSet
from inspect_core.usecases.reevaluate import Past, WhatIf, reevaluate
from tests.bench.registry import Job, bench

DAY = date(2026, 5, 4)
_DIFFERENT = 500  # cases made once and dealt again and again: making a million would time the maker


def made_cases(seed: int = 1) -> list[tuple[Case, date]]:
    """Cases as a register holds them: ten facts, every component answered, and in two of five a few marks."""
    draw = random.Random(seed)
    profiles = [profile.name for profile in load_rules().profiles]
    return [_made(draw, draw.choice(profiles)) for _ in range(_DIFFERENT)]


def _made(draw: random.Random, profile: str) -> tuple[Case, date]:
    kind = draw.choice(list(Kind))
    on = DAY - timedelta(days=draw.randrange(1000))
    facts: dict[str, FactValue] = {
        "fibre": draw.choice(["polyester", "nylon"]),
        "made on": on - timedelta(days=draw.randrange(300, 3000)),
        "first used on": on - timedelta(days=draw.randrange(30, 300)),
        "last periodic inspection": on - timedelta(days=draw.randrange(170)),
        "maker's age limit": 10.0,
        "webbing width": 45.0,
        "arrested fall": draw.random() < 0.01,
        "chemical exposure": False,
        "heat exposure": False,
        "label legible": True,
    }
    parts = components_of(kind)
    answers = dict.fromkeys(parts, Answer.SOUND)
    marks = []
    for number in range(draw.choice([0, 0, 0, 1, 3])):
        measure = draw.choice([m for m in MEASURES.values() if m.unit in (Unit.MM, Unit.SHARE)])
        reading = Reading(measure.name, round(draw.uniform(0, 2), 2), measure.unit.value, 0.1)
        marks.append(CaseMark(f"m{number}", draw.choice(parts), draw.choice(list(Category)), (reading,)))
    return Case(kind, profile, facts, answers, tuple(marks)), on


def made_past(count: int, rules: RuleSet) -> Iterator[Past]:
    """`count` decided cases; made as they are asked for, so that a million need no memory."""
    decided = [(case, on, decide(case, rules, on).outcome) for case, on in made_cases()]
    # One in ten is recorded as in service whatever it was, so that a run has changes to explain.
    for number in range(count):
        case, on, outcome = decided[number % len(decided)]
        yield f"i{number}", case, on, Outcome.IN_SERVICE if number % 10 == 0 else outcome


def what_if(count: int, workers: int) -> WhatIf:
    rules = load_rules()
    return reevaluate(made_past(count, rules), rules, rules, workers=workers)


@bench("deciding: 500 different cases, each once")
def decisions() -> Job:
    """Half a thousand decisions; the aim of 2 ms for one is 1,000 ms for these."""
    rules = load_rules()
    cases = made_cases()
    return Job(lambda: [decide(case, rules, on) for case, on in cases], rounds=5, target_ms=500 * 2.0, note="500 cases")


@bench("deciding: one lanyard with a measured cut")
def one_decision() -> Job:
    rules = load_rules()
    reading = Reading("depth from edge", 0.5, "mm", 0.2)
    cut = CaseMark("m", components_of(Kind.HARNESS)[1], Category.CUT, (reading,))
    answers = dict.fromkeys(components_of(Kind.HARNESS), Answer.SOUND)
    case = Case(Kind.HARNESS, "uk europe", {"made on": date(2024, 1, 1), "fibre": "nylon"}, answers, (cut,))

    def floor() -> int:
        """Which rules speak of such gear at all."""
        return sum(
            case.profile in rule.profiles and (not rule.kinds or case.kind in rule.kinds) for rule in rules.rules
        )

    note = f"floor: which of {len(rules.rules)} rules speak of the kind"
    return Job(lambda: decide(case, rules, DAY), floor, rounds=101, target_ms=2.0, note=note)


@bench("deciding: every rule weighed and told, one case")
def weighing() -> Job:
    rules = load_rules()
    case, on = made_cases()[0]
    return Job(lambda: weigh(case, rules, on), rounds=51, target_ms=20.0, note=f"{len(rules.rules)} rules")


@bench("deciding: 10,000 stored decisions weighed again, 2 processes")
def reevaluation() -> Job:
    """Floor: the same decisions in one process without handing anything over."""
    rules = load_rules()
    past = list(made_past(10_000, rules))
    return Job(
        lambda: reevaluate(past, rules, rules, workers=2),
        lambda: [decide(case, rules, on) for _, case, on, _ in past],
        rounds=2,
        note="floor: one process, no hand-over",
    )


def main() -> None:
    """The long run, with its rate."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--cases", type=int, default=1_000_000)
    parser.add_argument("--workers", type=int, default=2)
    wanted = parser.parse_args()
    start = time.perf_counter()
    told = what_if(wanted.cases, wanted.workers)
    seconds = time.perf_counter() - start
    rate = told.cases / seconds
    print(
        f"{told.cases:,} decisions weighed again on {wanted.workers} processes in {seconds:.1f} s: {rate:,.0f} a second"
    )
    print(f"{len(told.changes):,} would differ from the record, {len(told.refused)} could not be weighed")


if __name__ == "__main__":
    main()
