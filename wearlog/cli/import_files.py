"""`wearlog import`: bring in CSV and spreadsheet files."""

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
    """Bring in CSV files, folders of them, or spreadsheets with the same names as sheets.

    All or nothing, and the same rows only once. The columns of other sheets are matched in the window.
    """
    from wearlog.exchange.brought_text import (  # noqa: PLC0415 - start quickly
        brought_text,
        question_counts_text,
        questions_text,
    )
    from wearlog.exchange.format_book import read_all  # noqa: PLC0415
    from wearlog.workshop.bring_in import bring_in  # noqa: PLC0415
    from wearlog.workshop.import_matches import known_for_import  # noqa: PLC0415

    with working(chosen) as progress:
        bench = chosen.bench()
        rows = read_all(paths, known_for_import(bench), progress)
        brought = bring_in(bench, rows, progress)
    click.echo(brought_text(brought))
    asked = questions_text(brought) if questions else question_counts_text(brought)
    if asked:
        click.echo(asked, err=True)
