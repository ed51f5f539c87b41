"""`wearlog verify`: looks through the whole database for what cannot be right."""

import json
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

import click

from wearlog.cli.program import Chosen
from wearlog.cli.shared import OUTPUT, working, write_text

if TYPE_CHECKING:
    from wearlog.workshop.keeping_snapshot import VerifySnapshot

#: The exit code when something was found.
FOUND = 8


@click.command("verify")
@click.option(
    "--format", "format_", type=click.Choice(("text", "json")), default="text", help=_("By default text.")
)
@OUTPUT
@click.pass_context
def verify(ctx: click.Context, format_: str, output: Path | None) -> None:
    """Look through the whole database for what cannot be right.

    The file, references, the chain of the audit trail, every row against the trail, meters that run
    backwards, parts in two places, readings of parts that were not there. Nothing is changed. Ends with
    code 8 if anything is found.
    """
    from wearlog.workshop.keeping import verify as look_through  # noqa: PLC0415 - start quickly

    chosen = ctx.find_object(Chosen)
    assert chosen is not None  # noqa: S101 - the group has made it
    bench = chosen.bench()
    with working(chosen) as progress:
        snapshot = look_through(bench, progress)
    write_text(_json(snapshot) if format_ == "json" else _text(snapshot), output)
    if not snapshot.is_clean:
        ctx.exit(FOUND)


def _text(snapshot: "VerifySnapshot") -> str:
    lines = [str(finding) for finding in snapshot.findings]
    lines += [_("Note: {note}").format(note=note) for note in snapshot.notes]
    looked = _("{rows} rows held against {entries} entries of the trail in {database}").format(
        rows=snapshot.rows, entries=snapshot.entries, database=snapshot.address
    )
    if snapshot.is_clean:
        lines.append(_("{looked}: nothing found.").format(looked=looked))
    else:
        lines.append(_("{looked}: {count} findings.").format(looked=looked, count=len(snapshot.findings)))
    return "\n".join(lines) + "\n"


def _json(snapshot: "VerifySnapshot") -> str:
    told = {
        "database": snapshot.address,
        "rows": snapshot.rows,
        "entries": snapshot.entries,
        "findings": [{"where": one.where, "what": one.what, "todo": one.todo} for one in snapshot.findings],
        "notes": list(snapshot.notes),
    }
    return json.dumps(told, ensure_ascii=False, indent=2) + "\n"
