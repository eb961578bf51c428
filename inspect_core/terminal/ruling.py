"""Commands that judge: decide."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from inspect_core.terminal.common import CAUTION, finding_lines, json_option, print_json, read_json, table


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
    click.echo(f"{answer['outcome'].upper()}  (damage used {answer['damage_used']:.2f}; 1 is at the limit)")
    for finding in answer["findings"]:
        click.echo(finding_lines(finding))
    click.echo(f"Rules {answer['rules']['version']}, digest {answer['rules']['digest']}")
    click.echo(CAUTION)


def _print_vocabulary(words: Mapping[str, Any]) -> None:
    click.echo("Kinds and their components (in brackets: may be absent)")
    for kind in words["kinds"]:
        parts = [f"[{p['component']}]" if p["may_be_absent"] else p["component"] for p in kind["components"]]
        click.echo(f"  {kind['kind']}: {', '.join(parts)}")
    click.echo("\nCategories\n  " + ", ".join(words["categories"]))
    click.echo("\nMeasures")
    click.echo(
        table(
            [(f"  {m['measure']}", m["unit"], m["meaning"]) for m in words["measures"]],
            ("  measure", "unit", "meaning"),
        )
    )
    click.echo("\nFacts")
    for fact in words["facts"]:
        click.echo(f"  {fact['fact']} ({fact['type']}): {fact['meaning']}")
    click.echo("\nProfiles")
    for profile in words["profiles"]:
        click.echo(f"  {profile['profile']}: {profile['title']}")
    rules = words["rules"]
    click.echo(f"\nRules, version {rules['version']}, digest {rules['digest']}")
    for rule in rules["list"]:
        click.echo(f"  {rule['id']}: {rule['title']}\n      {rule['source']} · {rule['basis']}")


COMMANDS = (decide,)
