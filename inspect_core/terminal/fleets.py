"""Commands over many stores: fleet what-if, fleet trends. They read what `bartack export --format parquet` wrote."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from inspect_core.domain.gear import Kind
from inspect_core.terminal.common import Session, json_option, print_json
from inspect_core.terminal.looking import Day, tell_answer
from inspect_core.terminal.spoken import say

_folders = click.argument("folders", nargs=-1, required=True, metavar="FOLDER...")
_workers = click.option("--workers", default=1, show_default=True, help="Processes of this machine to share the work.")
_cluster = click.option("--cluster", metavar="tcp://HOST:PORT", help="Scheduler of a Dask cluster that does the work.")


@click.group()
def fleet() -> None:
    """Look at many stores together, from their exports as Parquet. Each FOLDER is one export, or holds several.

    The answers are those that each store gives by itself. No record is altered, and people are codes.
    """


@fleet.command("what-if")
@_folders
@click.option("--rules", "rules", required=True, metavar="FOLDER", help="The other rule files.")
@_workers
@_cluster
@json_option
@click.pass_obj
def what_if(
    session: Session, folders: tuple[str, ...], rules: str, workers: int, cluster: str | None, as_json: bool
) -> None:
    """Weigh every recorded inspection of every store by other rules: what would change, and why."""
    from inspect_core import bootstrap
    from inspect_core.usecases.fleet.engine import Engine
    from inspect_core.usecases.fleet.stores import open_stores
    from inspect_core.usecases.fleet.what_if import by_store
    from inspect_core.usecases.fleet.what_if import what_if as weigh_past

    stores = open_stores([Path(folder) for folder in folders])
    found = weigh_past(stores, bootstrap.load_rules(), bootstrap.load_rules(Path(rules)), Engine(workers, cluster))
    if as_json:
        print_json(found.plain())
        return
    past = found.past
    say(
        f"{len(stores)} store{'s' if len(stores) > 1 else ''}: {past.cases} inspection{'s' if past.cases != 1 else ''} "
        f"weighed again, {len(past.changes)} would have ended otherwise."
    )
    for rule, many in past.by_rule.items():
        say(f"  {rule}: {many}")
    for name, many in by_store(found, stores).items():
        say(f"  {name}: {many}")
    say(f"Items in service that the other rules would not have let pass: {len(found.items)}")
    for store, tag, change in found.items:
        say(f"  {store.named(tag)}: {change.would_be} since {change.on}")
    for refused in past.refused:
        say(f"  {refused.id}: {refused.problem}")


@fleet.command("trends")
@_folders
@click.option("--question", default="why", show_default=True, help="As in “bartack trends --question”.")
@click.option("--by", help="How to split, as in “bartack trends”.")
@click.option("--since", type=Day(), help="First day.")
@click.option("--until", type=Day(), help="Last day.")
@click.option("--kind", type=click.Choice([kind.value for kind in Kind]))
@click.option("--model", help="Maker and model as one.")
@click.option("--site")
@click.option("--change", type=Day(), help="A day on which something was changed.")
@_workers
@_cluster
@json_option
@click.pass_obj
def trends(
    session: Session,
    folders: tuple[str, ...],
    question: str,
    by: str | None,
    since: date | None,
    until: date | None,
    kind: str | None,
    model: str | None,
    site: str | None,
    change: date | None,
    workers: int,
    cluster: str | None,
    as_json: bool,
) -> None:
    """Answer a question of the trends page over every store: why, life, rates, where, prevent, agree, spending,
    coming."""
    from inspect_core import bootstrap
    from inspect_core.usecases.fleet.engine import Engine
    from inspect_core.usecases.fleet.stores import open_stores
    from inspect_core.usecases.fleet.trends import fleet_services
    from inspect_core.usecases.trends_plain import question_plain
    from inspect_core.usecases.trends_scope import Scope

    stores = open_stores([Path(folder) for folder in folders])
    scope = Scope(Kind(kind) if kind else None, site, since, until, model, change)
    services = fleet_services(stores, Engine(workers, cluster), bootstrap.SystemClock(), bootstrap.load_rules())
    answer = question_plain(question, services, scope, by or ("category" if question == "why" else "kind"))
    if as_json:
        print_json({"stores": len(stores), **answer})
        return
    say(f"{len(stores)} store{'s' if len(stores) > 1 else ''}.")
    tell_answer(answer)


COMMANDS = (fleet,)
