"""Options that name the fields of an item, for the commands that register and correct it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import LASTING, Fibre
from inspect_core.domain.people import Role

_F = TypeVar("_F", bound=Callable[..., Any])

by_option = click.option(
    "--by",
    required=True,
    metavar="NAME",
    help="Who does this, as entered on the site; in a site with sign-in their PIN is asked for.",
)
role_option = click.option(
    "--role",
    type=click.Choice([r.value for r in Role]),
    default=Role.WORKER.value,
    show_default=True,
    help="Role, used only when the name is new to the site.",
)
_OPTIONS = (
    click.option("--tag", help="Tag on the gear."),
    click.option("--site", help="Where it is kept."),
    click.option("--maker"),
    click.option("--model"),
    click.option("--serial"),
    click.option("--made-on", metavar="YYYY-MM-DD"),
    click.option("--first-used-on", metavar="YYYY-MM-DD"),
    click.option("--profile", help="Rules that apply on this site, see decide --list."),
    click.option("--fibre", type=click.Choice([f.value for f in Fibre])),
    click.option("--standards", metavar="A,B", help="Standard marks on the label."),
    click.option("--webbing-width-mm", type=float),
    click.option("--rope-diameter-mm", type=float),
    click.option("--rope-range-mm", metavar="LOW-HIGH", help="Rope diameters a rope grab accepts."),
    click.option("--packed-length-mm", type=float, help="Length of the undeployed energy absorber."),
    click.option("--throat-mm", type=float, help="Nominal throat opening of a hook."),
    click.option("--maker-max-age-years", type=float, help="Longest life the maker allows, from the day of making."),
    click.option("--maker-max-use-years", type=float, help="Longest time in use the maker allows."),
    click.option(
        "--lasting",
        multiple=True,
        metavar="FACT=VALUE",
        help=f"What lasts as long as the gear. Repeat it. Facts: {', '.join(LASTING)}.",
    ),
    click.option("--price", type=float),
    click.option("--note"),
)
_WORDS = {"yes": True, "no": False}


def item_options(command: _F) -> _F:
    """Every field of an item that a person may state, beside its kind."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def lasting_from(fields: dict[str, Any]) -> dict[str, Any]:
    """The fields with the lasting facts as a mapping. Raises BadInput where one is not written FACT=VALUE."""
    pairs = [pair.partition("=") for pair in fields.pop("lasting") or ()]
    for name, sign, _ in pairs:
        if not sign:
            raise BadInput(f"“{name[:60]}” is no fact with its value.", "Write --lasting 'absorber class=E4'.")
    facts = {name.strip(): _WORDS.get(value.strip(), value.strip()) for name, _, value in pairs}
    return fields | ({"lasting_facts": facts} if facts else {})
