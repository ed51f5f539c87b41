"""`wearlog import`: bring in CSV files."""

from gettext import gettext as _
from pathlib import Path

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import working


@click.command("import")
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="PATH...")
@click.option("--questions", is_flag=True, help=_("List every odd value that was brought in all the same."))
@click.pass_obj
def import_files(chosen: Chosen, paths: tuple[Path, ...], questions: bool) -> None:
    """Bring in CSV files.

    Single files or folders: all or nothing, and the same rows only once.
    """
    from wearlog.exchange.brought_text import (  # noqa: PLC0415 - start quickly
        brought_text,
        question_counts_text,
        questions_text,
    )
    from wearlog.exchange.csv_folder import read_import  # noqa: PLC0415
    from wearlog.workshop.bring_in import bring_in  # noqa: PLC0415

    with working(chosen) as progress:
        rows = read_import(paths, progress)
        brought = bring_in(chosen.bench(), rows, progress)
    click.echo(brought_text(brought))
    asked = questions_text(brought) if questions else question_counts_text(brought)
    if asked:
        click.echo(asked, err=True)
