"""The warranty record: every digest reckoned anew here, from what its own file says about how."""

import hashlib
import json
from dataclasses import replace
from datetime import UTC, date, datetime

import pypdf
import pytest

from tests.exchange.paper_pictures import APPROVED_DPI, approved_picture, difference, page_picture
from tests.makers.bench import empty_bench
from tests.makers.torque import add_wrench, motorcycle_with_sheet, tighten
from wearlog.drawing.paper_warranty_words import digest_text
from wearlog.exchange.warranty_record import write_warranty_record
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.warranty import installation_named, warranty_record


@pytest.fixture
def record(sample):
    vehicle_id = fleet_state(sample).vehicle_tagged("LR-009").id
    return warranty_record(sample, installation_named(sample, vehicle_id, "final"))


def written(record, file):
    write_warranty_record(record, file, ShownUnits())
    return file


def data_of(record, tmp_path):
    return json.loads(written(record, tmp_path / "w.json").read_text(encoding="utf-8"))


def chain_of(entry):
    """Reckon an entry's chain as the file says (NIST FIPS 180-4 for SHA-256)."""
    at = datetime.fromisoformat(entry["at"]).astimezone(UTC).isoformat(timespec="microseconds")
    told = [
        entry["chain_before"],
        at,
        entry["by"],
        entry["work"],
        entry["record"],
        entry["record_number"],
        entry["vehicle_number"],
        entry["before"],
        entry["after"],
        entry["change"],
    ]
    return hashlib.sha256(json.dumps(told, separators=(",", ":")).encode("ascii")).hexdigest()


def test_every_chain_can_be_reckoned_from_the_file_alone(record, tmp_path):
    trail = data_of(record, tmp_path)["trail"]
    assert trail["is_whole"]
    assert len(trail["entries"]) > 20
    for entry in trail["entries"]:
        assert chain_of(entry) == entry["chain"]


def test_an_entry_altered_in_the_file_no_longer_fits(record, tmp_path):
    entry = data_of(record, tmp_path)["trail"]["entries"][3]
    assert chain_of({**entry, "by": "somebody else"}) != entry["chain"]


def test_the_digest_covers_the_whole_file(record, tmp_path):
    data = data_of(record, tmp_path)
    digest = data.pop("digest")

    def reckoned():
        text = json.dumps(data, sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(text.encode("ascii")).hexdigest()

    assert reckoned() == digest
    data["readings"][0]["typed"] = ["117.00"]
    assert reckoned() != digest


def test_readings_stand_as_typed_and_canonical_with_instrument_and_meter(record, tmp_path):
    data = data_of(record, tmp_path)
    one = next(reading for reading in data["readings"] if reading["measurand"] == "chain elongation")
    assert one["typed"] == [spot["typed"] for spot in one["spots"]]
    assert one["unit"] == "1"
    assert one["meter_value"] is not None
    names = {instrument["id"]: instrument for instrument in data["instruments"]}
    assert names[one["instrument_id"]]["calibration_due"] is not None
    assert {reading["id"] for reading in data["readings"]} == {reading.id for reading in record.readings}


def test_the_paper_says_the_same_and_bears_the_digest_on_each_page(record, tmp_path, qapp):
    digest = digest_text(data_of(record, tmp_path)["digest"])
    pages = pypdf.PdfReader(written(record, tmp_path / "w.pdf")).pages
    said = [" ".join(page.extract_text().split()) for page in pages]
    # A line may end within the digest, words of a line may be parted by a tab.
    assert all(digest in text for text in said)
    whole = " ".join(said)
    for reading in record.readings:
        for spot in reading.spots:
            assert spot.typed in whole
    assert f"All {record.trail_count} entries" in whole


def test_a_broken_trail_is_said_on_paper_and_in_the_data(record, tmp_path, qapp):
    broken = replace(record, broken_at=4711)
    data = data_of(broken, tmp_path)["trail"]
    assert (data["is_whole"], data["first_misfit"]) == (False, 4711)
    pages = pypdf.PdfReader(written(broken, tmp_path / "w.pdf")).pages
    assert "Entry 4711 of this database does not fit" in " ".join(
        " ".join(page.extract_text().split()) for page in pages
    )


def test_another_ending_is_refused_with_those_that_are_known(record, tmp_path):
    with pytest.raises(WearlogError, match=r"\.pdf or \.json"):
        written(record, tmp_path / "w.docx")


def test_the_record_looks_as_it_was_approved(tmp_path, approved_font):
    bench = empty_bench()
    chain = motorcycle_with_sheet(bench, readings=[(20.0, 0.0002), (1500.0, 0.003), (3800.0, 0.0081)])
    wrench = add_wrench(bench, due=date(2027, 5, 1))
    tighten(bench, chain.vehicle_id, rear_axle=52.0, instrument_id=wrench.id)
    content = written(warranty_record(bench, chain.id), tmp_path / "w.pdf").read_bytes()
    bench.database.close()
    picture = page_picture(content, APPROVED_DPI)
    assert difference(picture, approved_picture("warranty-record")) < 0.012
