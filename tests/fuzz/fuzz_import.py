"""Coverage-guided fuzzing of the import, from the bytes of a file to the rows that would be added.

``python tests/fuzz/fuzz_import.py -runs=100000`` (needs atheris: ``pip install atheris``). Whatever is in a
file, it is read or refused with a `WearlogError` that names it, and the database is as it was.
"""

import atexit
import io
import sys
import tempfile
import zipfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import atheris

with atheris.instrument_imports(include=["wearlog.exchange", "wearlog.units", "wearlog.workshop"]):
    from tests.makers.import_folder import new_bench, write_folder
    from wearlog.exchange.csv_folder import read_import
    from wearlog.exchange.matched_rows import missing, understand
    from wearlog.exchange.matching import purposes
    from wearlog.exchange.sheet_words import guess_match
    from wearlog.exchange.spreadsheet import read_book
    from wearlog.fleet.problem import WearlogError
    from wearlog.workshop.bring_in import bring_in, try_in
    from wearlog.workshop.import_matches import known_for_import

FOLDER = Path(tempfile.mkdtemp(prefix="wearlog-fuzz-"))
BENCH = new_bench(FOLDER / "bench.sqlite")
bring_in(BENCH, read_import([write_folder(FOLDER / "fleet")]))
KNOWN = known_for_import(BENCH)
VERSION = BENCH.data_version()
FILE = FOLDER / "any.csv"
PURPOSES = ("", *purposes())
HEADERS = (
    "Bike,Date,Km,Stretch %,Slack mm,Chain 20 links mm,New chain,Lube,Notes",
    "vehicle;date;meter;event;old meter",
    "tag\tdescription\tkind\tdepot\tmeter unit",
    "vehicle,stage,date,meter,measurand,method,spots [mm],instrument,pitches",
    "vehicle,stage,position,part type,fitted on,fitted at",
)
COUNTS = {"read": 0, "refused": 0, "tried": 0}

SHEET = (
    '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
    "<sheetData>{}</sheetData></worksheet>"
)
SMALL_PARTS = {
    "[Content_Types].xml": (
        '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
        '<Default Extension="xml" ContentType="application/xml"/>'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        "</Types>"
    ),
    "_rels/.rels": (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        '<Relationship Id="r1" Target="xl/workbook.xml" Type="http://schemas.openxmlformats.org/'
        'officeDocument/2006/relationships/officeDocument"/></Relationships>'
    ),
    "xl/workbook.xml": (
        '<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" '
        'xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships">'
        '<sheets><sheet name="S" sheetId="1" r:id="r1"/></sheets></workbook>'
    ),
    "xl/_rels/workbook.xml.rels": (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        '<Relationship Id="r1" Target="worksheets/sheet1.xml" Type="http://schemas.openxmlformats.org/'
        'officeDocument/2006/relationships/worksheet"/></Relationships>'
    ),
}


def workbook(rows: str) -> bytes:
    """Return a workbook whose one sheet holds some XML."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name, text in SMALL_PARTS.items():
            archive.writestr(name, text)
        archive.writestr("xl/worksheets/sheet1.xml", SHEET.format(rows).encode("utf-8", "surrogatepass"))
    return stream.getvalue()


def as_file(provider: "atheris.FuzzedDataProvider") -> bytes:
    """Return the bytes of a file: anything, a text under known headers, an archive, or a sheet of cells."""
    way = provider.ConsumeIntInRange(0, 5)
    if way == 0:
        return provider.ConsumeBytes(provider.remaining_bytes())
    if way == 1:
        return b"PK\x03\x04" + provider.ConsumeBytes(provider.remaining_bytes())
    if way == 2:
        return workbook(provider.ConsumeUnicode(provider.remaining_bytes()))
    if way == 3:
        cells = []
        for row in range(provider.ConsumeIntInRange(1, 5)):
            given = "".join(
                f'<c r="{chr(65 + place)}{row + 1}" t="{kind}"><v>'
                f"{provider.ConsumeUnicodeNoSurrogates(8)}</v></c>"
                for place in range(provider.ConsumeIntInRange(1, 9))
                for kind in [provider.PickValueInList(["n", "str", "b", "d", "e", "s", "inlineStr"])]
            )
            cells.append(f'<row r="{row + 1}">{given}</row>')
        return workbook("".join(cells))
    head = provider.PickValueInList(list(HEADERS))
    body = provider.ConsumeUnicode(provider.remaining_bytes())
    encoding = "utf-8" if way == 4 else "utf-16"
    return f"{head}\n{body}".encode(encoding, "surrogatepass")


def check(error: WearlogError) -> None:
    """Fail if a problem does not name the file."""
    for problem in error.problems:
        assert "any.csv" in problem.where, str(problem)


def test_one(data: bytes) -> None:
    """Read, match, understand and try one file."""
    provider = atheris.FuzzedDataProvider(data)
    purpose = provider.PickValueInList(list(PURPOSES))
    FILE.write_bytes(as_file(provider))
    try:
        book = read_book(FILE)
    except WearlogError as error:
        COUNTS["refused"] += 1
        check(error)
        return
    COUNTS["read"] += 1
    sheet = book.sheets[0]
    match = guess_match(sheet, None, purpose)
    found = understand(sheet, match, KNOWN, file="any.csv")
    missing(match, KNOWN, found)
    assert all("any.csv" in problem.where for problem in found.problems)
    if not len(found.rows):
        return
    COUNTS["tried"] += 1
    try:
        try_in(BENCH, found.rows)
    except WearlogError as error:
        check(error)
    assert BENCH.data_version() == VERSION


#: What is changed from: a way, a purpose and rows that mean something.
SEEDS = (
    "\0\4LR-001,2026-07-01,2700,0.5,34,254.6,x,wax,ok\nLC-01,1.7.2026,900,0.4,,,,,",
    "\1\4LR-001;2026-07-01;2.700,5;read;\nLT-01;3/4/2026;120,5;replaced;110",
    "\2\4LR-009\tbike\te-moto\tUpper\tmiles\n",
    "\3\4LR-001,final drive,2026-07-01,2700,chain elongation,drop-in gauge,0.5 in; 0.75 out,Gauge,",
    "\0\3LR-001 2026-07-01 254,6 1e9 #DIV/0! TRUE",
)

if __name__ == "__main__":
    corpus = FOLDER / "corpus"
    corpus.mkdir()
    for number, seed in enumerate(SEEDS):
        (corpus / str(number)).write_bytes(seed.encode())
    atexit.register(lambda: sys.stderr.write(f"{COUNTS}\n"))
    atheris.Setup([*sys.argv, "-max_len=600", "-len_control=0", str(corpus)], test_one)
    atheris.Fuzz()
