"""Commands that read: history, search, trends, certificate."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from inspect_core.domain.custody import State
from inspect_core.domain.decision import Outcome
from inspect_core.domain.errors import BadInput, NotFound
from inspect_core.domain.gear import Kind
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category
from inspect_core.domain.record import ItemRow, SearchHit
from inspect_core.terminal.common import Session, finding_lines, json_option, print_json, table, write_file
from inspect_core.terminal.spoken import say, tongue

if TYPE_CHECKING:
    from inspect_core.usecases.trends_scope import Scope


class Day(click.ParamType[date]):
    """A date written year-month-day."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(value)
        except ValueError:
            self.fail(f"{value!r} is not a date; write year-month-day, such as 2025-03-31.", param, ctx)


@click.command()
@click.argument("tag")
@json_option
@click.pass_obj
def history(session: Session, tag: str, as_json: bool) -> None:
    """An item's whole life: where it stands, its inspections and moves, newest first."""
    from inspect_core.usecases.ages import aged
    from inspect_core.usecases.correct import correction_plain, corrections
    from inspect_core.usecases.item_words import change_lines
    from inspect_core.usecases.plain import custody_plain, inspection_plain, item_plain, photo_plain, standing_plain
    from inspect_core.usecases.review import history as look_back
    from inspect_core.usecases.review import item_by_tag
    from inspect_core.usecases.setup import setup_plain

    life = look_back(item_by_tag(tag, session.services).item.id, session.services)
    corrected = corrections(life.item.id, session.services)
    old = aged(life.item, life.standing, session.services)
    if as_json:
        print_json(
            {
                "item": item_plain(life.item),
                "standing": standing_plain(life.standing, session.services.today(), old),
                "inspections": [inspection_plain(i) for i in life.inspections],
                "custody": [custody_plain(e) for e in life.custody],
                "corrections": [correction_plain(one) for one in corrected],
                "setups": [setup_plain(s) for s in life.setups],
                "photos": [photo_plain(life.photos[key]) for key in sorted(life.photos)],
            }
        )
        return
    item = life.item
    written = tongue().written
    say(f"{written(item.tag)}  {item.kind.value}  {written(f'{item.maker} {item.model}'.strip())}".rstrip())
    overdue = ", INSPECTION OVERDUE" if life.standing.overdue_on(session.services.today()) else ""
    say(f"{life.standing.state.value.upper()}{overdue}: {tongue().mixed(life.standing.reason)}")
    if old:
        say(f"PAST ITS AGE, do not use: {old}")
    say(f"Next detailed inspection due: {life.standing.next_due or 'not known'}")
    for one in corrected:
        say(
            f"\n{one.at:%Y-%m-%d %H:%M}  register corrected by {written(life.name_of(one.by))} "
            f"because: {written(one.reason)}"
        )
        for line in change_lines(one, tongue().written):
            say(f"    {line}")
    for inspection in life.inspections:
        say(
            f"\n{inspection.at:%Y-%m-%d %H:%M}  {inspection.type.value}, {inspection.outcome.value}, by "
            f"{written(life.name_of(inspection.by))}; {len(inspection.photo_ids)} photos, "
            f"{len(inspection.marks)} marks; {inspection.id}"
        )
        plain = inspection_plain(inspection)
        for finding in plain["decision"]["findings"]:
            say(finding_lines(finding))
    if life.custody:
        rows = [(f"{e.at:%Y-%m-%d %H:%M}", e.move.value, e.after.value, tongue().mixed(e.reason)) for e in life.custody]
        say("\n" + table(rows, ("at", "move", "now", "reason")))
    if life.setups:
        rows = [(f"{s.at:%Y-%m-%d %H:%M}", s.check, s.answer, s.place) for s in life.setups]
        say("\n" + table(rows, ("at", "set-up check", "answer", "place")))


def _person_id(name: str, session: Session) -> str:
    from inspect_core.usecases.review import person_by_name

    person = person_by_name(name, session.services)
    if person is None:
        raise NotFound(f"Nobody here is called “{name[:60]}”.", "Write the name as the list of people has it.")
    return person.id


@click.command()
@click.argument("text", required=False, default="")
@click.option("--kind", "kinds", multiple=True, type=click.Choice([k.value for k in Kind]))
@click.option("--site", "sites", multiple=True)
@click.option("--state", "states", multiple=True, type=click.Choice([s.value for s in State]), help="Where it stands.")
@click.option("--maker", "makers", multiple=True)
@click.option("--model", "models", multiple=True)
@click.option("--mark", "categories", multiple=True, type=click.Choice([c.value for c in Category]))
@click.option("--outcome", "outcomes", multiple=True, type=click.Choice([o.value for o in Outcome]))
@click.option("--type", "types", multiple=True, type=click.Choice([t.value for t in InspectionType]))
@click.option("--person", "people", multiple=True, help="Name of who signed.")
@click.option("--since", type=Day())
@click.option("--until", type=Day())
@click.option("--damage-from", type=float, help="Least damage used; 1 is at the limit.")
@click.option("--damage-to", type=float, help="Most damage used.")
@click.option("--saved", metavar="NAME", help="Ask what everybody's saved search of that name asks.")
@click.option("--limit", default=20, show_default=True, help="Results on a page, 1 to 100.")
@click.option("--after", help="Key of the next page, as the last page gave it.")
@json_option
@click.pass_obj
def search(
    session: Session,
    text: str,
    kinds: tuple[str, ...],
    sites: tuple[str, ...],
    states: tuple[str, ...],
    makers: tuple[str, ...],
    models: tuple[str, ...],
    categories: tuple[str, ...],
    outcomes: tuple[str, ...],
    types: tuple[str, ...],
    people: tuple[str, ...],
    since: date | None,
    until: date | None,
    damage_from: float | None,
    damage_to: float | None,
    saved: str | None,
    limit: int,
    after: str | None,
    as_json: bool,
) -> None:
    """Search tags, serials, makers, sites, notes, findings and their sources, and people.

    Marks, outcomes, types, people, days and damage used are of inspections: they leave items out.
    """
    from inspect_core.usecases.ages import told_of
    from inspect_core.usecases.saved_searches import search_named
    from inspect_core.usecases.search import Query, query_of
    from inspect_core.usecases.search import search as find

    query = Query(
        text,
        kinds=tuple(map(Kind, kinds)),
        sites=sites,
        states=tuple(map(State, states)),
        makers=makers,
        models=models,
        categories=tuple(map(Category, categories)),
        outcomes=tuple(map(Outcome, outcomes)),
        types=tuple(map(InspectionType, types)),
        people=tuple(_person_id(name, session) for name in people),
        since=since,
        until=until,
        damage_from=damage_from,
        damage_to=damage_to,
    )
    if saved is not None:
        if query != Query():
            raise BadInput("A saved search brings its own words and filters.", "Give --saved alone.")
        query = query_of(search_named(saved, None, session.services).query)
    page = find(query, session.services, limit=limit, after=after)
    old = told_of((ItemRow(h.item, h.standing) for h in page.hits), session.services)
    if as_json:
        hits = [
            {
                "tag": h.item.tag,
                "kind": h.item.kind.value,
                "state": h.standing.state.value,
                "usable": h.standing.usable_on(session.services.today()) and h.item.id not in old,
                "past_age": old.get(h.item.id),
                "inspection": h.inspection_id,
                "at": h.at.isoformat() if h.at else None,
                "outcome": h.outcome.value if h.outcome else None,
                "photo": h.photo_id,
                "snippet": h.snippet,
                "corrected": h.corrected,
            }
            for h in page.hits
        ]
        print_json({"hits": hits, "after": page.after})
        return
    if not page.hits:
        say("Nothing found. Try fewer or shorter words.")
        return
    rows = [
        (
            h.item.tag,
            h.item.kind.value,
            f"{h.standing.state.value}{', past its age' if h.item.id in old else ''}",
            _found_on(h),
            h.snippet,
        )
        for h in page.hits
    ]
    say(table(rows, ("tag", "kind", "state", "date", "words found")))
    if page.after:
        say(f"More: --after {page.after}")


def _found_on(hit: SearchHit) -> str:
    later = ", corrected later" if hit.corrected else ""
    return f"{hit.at:%Y-%m-%d}{later}" if hit.at else ""


@click.command()
@click.option(
    "--question",
    type=click.Choice(["why", "life", "rates", "where", "prevent", "agree", "spending", "coming"]),
    help="Why gear is withdrawn, how long it lasts, how often damage is found, where, what prevents it, whether "
    "inspectors agree, what it cost, what is coming.",
)
@click.option(
    "--by",
    type=click.Choice(["category", "kind", "site", "model", "month", "quarter", "year"]),
    help="Split by this; by default category, with --question life or rates kind.",
)
@click.option("--since", type=Day())
@click.option("--until", type=Day())
@click.option("--kind", type=click.Choice([k.value for k in Kind]))
@click.option("--model", help='Maker and model in one, such as "Maker A A10".')
@click.option("--site")
@click.option("--change", type=Day(), help="Also what was before this day beside what is from it on.")
@click.option("--report", metavar="FILE.pdf|-", help="Write every question for this gear and period as PDF.")
@json_option
@click.pass_obj
def trends(
    session: Session,
    question: str | None,
    by: str | None,
    since: date | None,
    until: date | None,
    kind: str | None,
    model: str | None,
    site: str | None,
    change: date | None,
    report: str | None,
    as_json: bool,
) -> None:
    """Why gear was withdrawn: counts and shares with 95 % intervals (Wilson). --question asks for more, --report FILE
    writes the answers to every question."""
    from inspect_core.usecases.trends import retirement_reasons
    from inspect_core.usecases.trends_scope import Scope

    scope = Scope(Kind(kind) if kind else None, site, since, until, model, change)
    if report is not None:
        _report(session, scope, report, as_json)
        return
    if question is not None or model is not None or change is not None:
        _ask(session, question or "why", by, scope, as_json)
        return
    by = by or "category"
    result = retirement_reasons(
        session.services, by=by, since=since, until=until, kind=Kind(kind) if kind else None, site=site
    )
    if as_json:
        print_json(
            {
                "by": by,
                "since": since.isoformat() if since else None,
                "until": result.until.isoformat(),
                "withdrawn": len(result.items),
                "shares": [
                    {
                        "label": s.label,
                        "count": s.count,
                        "total": s.total,
                        "share": s.share,
                        "low": s.low,
                        "high": s.high,
                    }
                    for s in result.shares
                ],
                "method": "share of withdrawn items; 95 % interval after Wilson, 1927",
            }
        )
        return
    say(f"{len(result.items)} items withdrawn up to {result.until}, by {by}. An item may count under several reasons.")
    rows = [
        (s.label, f"{s.count} of {s.total}", f"{s.share:.0%}", f"{s.low:.0%} to {s.high:.0%}") for s in result.shares
    ]
    say(table(rows, (by, "count", "share", "95 % interval (Wilson)")))


def _ask(session: Session, question: str, by: str | None, scope: Scope, as_json: bool) -> None:
    """Answer one question of the trends page; people get its sentences, JSON has every figure."""
    from inspect_core.usecases.trends_plain import question_plain

    answer = question_plain(question, session.services, scope, by or ("category" if question == "why" else "kind"))
    if as_json:
        print_json(answer)
        return
    tell_answer(answer)


def tell_answer(answer: Mapping[str, Any]) -> None:
    """The sentences of an answer, and how it was worked out."""
    told = answer.get("kinds") or [answer, *answer.get("groups", [])]
    for one in told:
        say(one["in_words"])
    if "before_and_after" in answer:
        say(answer["before_and_after"]["in_words"])
    say(f"Method: {answer['method']}. All figures: --json.")


def _report(session: Session, scope: Scope, file: str, as_json: bool) -> None:
    """Write every question's answer as one PDF. People stand under numbers in it."""
    from inspect_core.usecases.trends_report import page_report

    data = page_report(session.services, scope, language=tongue())
    write_file(file, data)
    if as_json and file != "-":
        print_json({"file": file, "bytes": len(data)})
    elif file != "-":
        say(f"{file}: every question for {scope.gear}, {len(data)} bytes")


@click.command()
@click.argument("inspection")
@click.option("-o", "--output", required=True, metavar="FILE.pdf|-", help="Where to write the PDF.")
@json_option
@click.pass_obj
def certificate(session: Session, inspection: str, output: str, as_json: bool) -> None:
    """Write the certificate of one INSPECTION (its identifier, or the beginning of it) as PDF."""
    from inspect_core.usecases.certificate import certificate_pdf
    from inspect_core.usecases.review import inspection_by_id

    found = inspection_by_id(inspection, session.services)
    data = certificate_pdf(found.id, session.services, tongue())
    write_file(output, data)
    if as_json and output != "-":
        print_json({"inspection": found.id, "file": output, "bytes": len(data)})
    elif output != "-":
        say(f"{output}: certificate of inspection {found.id}, {len(data)} bytes")


COMMANDS = (history, search, trends, certificate)
