"""`wearlog backup`: a checked copy of the database, made while work goes on."""

from gettext import gettext as _
from pathlib import Path

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import working


@click.command("backup")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.pass_obj
def back_up(chosen: Chosen, file: Path) -> None:
    """Copy the database to FILE, a new file.

    Others may go on working; the copy is checked before it gets its name.
    """
    from wearlog.workshop.agreements import back_up_database  # noqa: PLC0415 - start quickly

    bench = chosen.bench()
    with working(chosen) as progress:
        target = back_up_database(bench, file, progress)
    click.echo(
        _("Backed up to {file} ({size} bytes), checked.").format(file=target, size=target.stat().st_size)
    )
