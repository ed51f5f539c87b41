"""`wearlog copy-to`: everything into an empty database, from a file to a server or back."""

from gettext import gettext as _

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import working

#: So much of a checksum is shown, [letters].
SHOWN = 16


@click.command("copy-to")
@click.argument("address", metavar="PATH-OR-URL")
@click.pass_obj
def copy_to(chosen: Chosen, address: str) -> None:
    """Copy everything to PATH-OR-URL, a new file or an empty database on a server.

    Every table is read back and compared before anything counts; otherwise nothing is copied. Others may
    go on working meanwhile, but what they save after the start is not in the copy.
    """
    from wearlog.workshop.copying import copy_to as copy_everything  # noqa: PLC0415 - start quickly

    bench = chosen.bench()
    with working(chosen) as progress:
        copied = copy_everything(bench, address, progress)
    for table in copied.tables:
        click.echo(f"{table.name:<16}{table.rows:>10}  {table.checksum[:SHOWN]}")
    click.echo(
        _("Copied to {address}: {rows} rows, the same on both sides.").format(
            address=copied.address, rows=copied.rows
        )
    )
