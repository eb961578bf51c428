"""The command that does jobs aside: work."""

from __future__ import annotations

import click

from inspect_core.terminal.common import Session


@click.command()
@click.option("--once", is_flag=True, help="End when no job is left, instead of waiting for the next.")
@click.option(
    "--figures", metavar="HOST:PORT", envvar="BARTACK_WORK_FIGURES", help="Serve /metrics and /health of this worker."
)
@click.pass_obj
def work(session: Session, once: bool, figures: str | None) -> None:
    """Do the jobs that people ask for on a server: reading photo rolls, exports, archives, weighing the past.

    Start one or more beside the programs that show the screens; each does one job at a time. A signal to end lets
    the job at hand finish for some seconds, else leaves it to another worker.
    """
    from inspect_core import bootstrap

    bootstrap.work(session.store, wait=not once, figures=figures)


COMMANDS = (work,)
