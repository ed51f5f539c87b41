"""`wearlog restore`: puts a backup in the place of the database."""

from datetime import UTC, datetime
from gettext import gettext as _
from pathlib import Path

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import working
from wearlog.preferences import default_database


@click.command("restore")
@click.argument("file", type=click.Path(path_type=Path))
@click.pass_obj
def restore(chosen: Chosen, file: Path) -> None:
    """Put the backup FILE in the place of the database.

    The backup is checked first; the file that is there now is kept aside under a dated name. Nobody may have
    the database open.
    """
    from wearlog.workshop.keeping import restore_database  # noqa: PLC0415 - start quickly

    if chosen.is_sample:
        raise click.UsageError(_("The sample fleet is thrown away; there is nothing to restore."))
    # The database is not opened before: it may be what is damaged.
    address = chosen.database or chosen.program.preferences.database or str(default_database())
    with working(chosen) as progress:
        done = restore_database(address, file, datetime.now(UTC), progress)
    click.echo(_("{file} is now the database {place}.").format(file=done.source, place=done.place))
    if done.aside is not None:
        click.echo(_("What was there is kept as {file}.").format(file=done.aside))
