"""Commands that judge: decide, rig, what-if."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from inspect_core.domain.people import Role
from inspect_core.terminal.common import (
    CAUTION,
    Session,
    finding_lines,
    json_option,
    print_json,
    read_json,
    table,
    write_file,
)
from inspect_core.terminal.spoken import say


@click.command()
@click.argument("case", required=False, metavar="CASE.json|-")
@click.option(
    "--list",
    "listing",
    is_flag=True,
    help="Print the whole vocabulary: kinds, categories, measures, facts, profiles, rules.",
)
@json_option
def decide(case: str | None, listing: bool, as_json: bool) -> None:
    """Decide one case from a file or standard input (-), and name every rule behind the answer."""
    from inspect_core import bootstrap
    from inspect_core.usecases.decide import decide_case
    from inspect_core.usecases.vocabulary import vocabulary

    if listing == (case is not None):
        raise click.UsageError("Give either a case (a file or -) or --list.")
    rules = bootstrap.load_rules()
    if listing:
        words = vocabulary(rules)
        if as_json:
            print_json(words)
        else:
            _print_vocabulary(words)
        return
    answer = decide_case(read_json(str(case)), rules)
    if as_json:
        print_json(answer)
        return
    say(f"{answer['outcome'].upper()}  (damage used {answer['damage_used']:.2f}; 1 is at the limit)")
    for finding in answer["findings"]:
        say(finding_lines(finding))
    say(f"Rules {answer['rules']['version']}, digest {answer['rules']['digest']}")
    say(CAUTION)


def _print_vocabulary(words: Mapping[str, Any]) -> None:
    say("Kinds and their components (in brackets: may be absent)")
    for kind in words["kinds"]:
        parts = [f"[{p['component']}]" if p["may_be_absent"] else p["component"] for p in kind["components"]]
        say(f"  {kind['kind']}: {', '.join(parts)}")
    say("\nCategories\n  " + ", ".join(words["categories"]))
    say("\nMeasures")
    say(
        table(
            [(f"  {m['measure']}", m["unit"], m["meaning"]) for m in words["measures"]],
            ("  measure", "unit", "meaning"),
        )
    )
    say("\nFacts")
    for fact in words["facts"]:
        say(f"  {fact['fact']} ({fact['type']}): {fact['meaning']}")
    say("\nProfiles")
    for profile in words["profiles"]:
        say(f"  {profile['profile']}: {profile['title']}")
    rules = words["rules"]
    say(f"\nRules, version {rules['version']}, digest {rules['digest']}")
    for rule in rules["list"]:
        say(f"  {rule['id']}: {rule['title']}\n      {rule['source']} · {rule['basis']}")


@click.command()
@click.argument("case", required=False, metavar="CASE.json|-")
@click.option("--list", "listing", is_flag=True, help="Print every check, its keys, words, units and figures.")
@click.option("--registered", is_flag=True, help="Fill the parts of a kit from the register by their tags.")
@click.option("--record", is_flag=True, help="Record the check in the history of every item used; needs --by.")
@click.option("--by", metavar="NAME", help="Who makes the check.")
@click.option("--place", default="", help="Where on the site.")
@click.option("--tag", "tags", multiple=True, help="An item used. Repeat it; parts of a kit are added by themselves.")
@click.option("--sheet", metavar="FILE.pdf|-", help="Write the one-page sheet of a recorded check.")
@json_option
@click.pass_obj
def rig(
    session: Session,
    case: str | None,
    listing: bool,
    registered: bool,
    record: bool,
    by: str | None,
    place: str,
    tags: tuple[str, ...],
    sheet: str | None,
    as_json: bool,
) -> None:
    """Check a set-up: kit fit, direction, restraint, clearance, swing, anchor or guardrail.

    The case is a JSON object; docs/setup_checks.md shows one of each.
    """
    from inspect_core.usecases import setup

    if listing == (case is not None):
        raise click.UsageError("Give either a case (a file or -) or --list.")
    if listing:
        print_json(setup.vocabulary())
        return
    if (record and not by) or (sheet and not record):
        raise click.UsageError("--record needs --by NAME, and --sheet needs --record.")
    data = read_json(str(case))
    if record:
        person = session.person(str(by), Role.WORKER)
        command = setup.RecordSetup(session.services.new_id(), setup.mapping(data), person.id, place, tags)
        kept = setup.record_setup(command, session.services)
        result = dict(kept.result)
        if sheet:
            write_file(sheet, setup.setup_pdf(kept.id, session.services))
    else:
        if registered:
            data = setup.with_register(setup.mapping(data), session.services)
        result = setup.rig_case(data)
    if as_json:
        print_json(result)
        return
    say(f"{str(result['answer']).upper()}  ({result['check']}, {result['profile']})")
    for line in result["lines"]:
        source = ", ".join(filter(None, (line["source"], line["section"]))) or "no source"
        say(f"  {line['answer']}: {line['reason']}\n      {line['remedy']}".rstrip())
        say(f"      source: {source} · basis: {line['basis']}")
    for caution in result["cautions"]:
        say(caution)


@click.command("what-if")
@click.option("--rules", "folder", required=True, metavar="FOLDER", help="The other rule files.")
@click.option("--workers", default=1, show_default=True, help="Processes to share the work.")
@json_option
@click.pass_obj
def what_if(session: Session, folder: str, workers: int, as_json: bool) -> None:
    """Weigh every recorded inspection by other rules: what would change, and why. Alters no record."""
    from tqdm import tqdm

    from inspect_core import bootstrap
    from inspect_core.usecases.what_if import report_plain
    from inspect_core.usecases.what_if import what_if as weigh_past

    other = bootstrap.load_rules(Path(folder))
    with tqdm(unit="case", desc="Past inspections", leave=False, disable=None, mininterval=0.5) as bar:

        def progress(done: int, total: int) -> None:
            bar.total = total
            bar.update(done - bar.n)

        report = report_plain(weigh_past(session.services, other, workers=workers, progress=progress))
    if as_json:
        print_json(report)
        return
    cases = report["cases"]
    say(
        f"{cases} inspection{'s' if cases != 1 else ''} weighed again, "
        f"{len(report['changes'])} would have ended otherwise."
    )
    for rule, count in report["by_rule"].items():
        say(f"  {rule}: {count}")
    say(f"Items in service that the other rules would not have let pass: {len(report['items_in_service'])}")
    for item in report["items_in_service"]:
        say(f"  {item['tag']}: {item['would_be']} since {item['on']}")
        for finding in item["appearing"]:
            say(finding_lines(finding))
    for refused in report["refused"]:
        say(f"  {refused['inspection']}: {refused['problem']}")


COMMANDS = (decide, rig, what_if)
