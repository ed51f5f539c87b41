"""Write the SQL text of a small database in today's form: ``python -m tests.old_databases.write_dump``.

One file for each released form of the tables stays here for good; only the newest is ever written anew,
and only until it is released.
"""

import re
import sqlite3
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.store.kept import NOW, one_of_each
from wearlog.store import migrations
from wearlog.store.database import Database


def write_dump(folder: Path) -> Path:
    with TemporaryDirectory() as scratch:
        file = Path(scratch) / "small.sqlite"
        database = Database.open(file, now=NOW)
        with database.writing(by="Robin", at=NOW, what="set up") as records:
            one_of_each(records)
            records.set_setting("caution", "0.9")
            records.keep_draft("sheet LR-001", '{"length": "153."}')
            records.store_fit("chains", "{}", 1)
            records.remember_row_keys({"a1": "readings.csv row 1"})
        database.close()
        with closing(sqlite3.connect(file)) as connection:
            lines = "\n".join(connection.iterdump())
    target = folder / f"{migrations.newest_revision()}.sql"
    # SQLite's own dump writes infinity as a word that it does not read again.
    target.write_text(re.sub(r"(?<=,)(-?)Inf(?=[,)])", r"\g<1>9.0e999", lines) + "\n", encoding="utf-8")
    return target


if __name__ == "__main__":
    write_dump(Path(__file__).parent)
