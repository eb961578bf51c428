"""Commands that measure: measure, card."""

from __future__ import annotations

import click

from inspect_core.terminal.common import CAUTION, json_option, photo_reader, print_json, read_json, write_file
from inspect_core.terminal.spoken import say


@click.command()
@click.argument("case", metavar="CASE.json|-")
@json_option
def measure(case: str, as_json: bool) -> None:
    """Measure the marks of one photo: millimetres with their uncertainty, or why there are none.

    The case is {"photo": path, "scale": {"method": "known_length|card|none", …}, "marks": [{"id", "component",
    "category", "shape": {"type", "points"}}]}; the path counts from the case's own folder. docs/measuring.md says more.
    """
    from inspect_core.usecases.measure import measure_file

    result = measure_file(read_json(case), photo_reader(case))
    if as_json:
        print_json(result)
        return
    per_mm = result["scale"].get("mm_per_px")
    say(f"Scale: {per_mm:.4g} mm per pixel" if per_mm else "No scale, so no millimetres.")
    for reading in result["readings"]:
        say(
            f"  {reading['mark']}: {reading['measure']} {reading['value']:g} ± {reading['uncertainty']:g} "
            f"{reading['unit']} (k = 2), {reading['method']}"
        )
    for seam in result.get("seams", ()):
        say(f"  {seam['mark']}: {seam['sentence']}")
    for missed in result["not_measured"]:
        say(f"  {missed['mark']}: {missed['measure']} not measured. {missed['problem']} {missed['remedy']}")
    for advice in result["quality"]["advice"]:
        say(advice)
    say(CAUTION)


@click.command()
@click.option("-o", "--output", required=True, metavar="FILE.pdf|FILE.png|-", help="Where to write the card.")
@json_option
def card(output: str, as_json: bool) -> None:
    """Write the scale card to print. Check its printed rule with a steel rule and enter what you read."""
    from inspect_core.usecases.measure import card_pdf, card_png

    data = card_png() if output.lower().endswith(".png") else card_pdf()
    write_file(output, data)
    if as_json and output != "-":
        print_json({"file": output, "bytes": len(data)})
    elif output != "-":
        say(f"{output}: print it at 100 %, then check its rule with a steel rule and enter what you read.")


COMMANDS = (measure, card)
