"""Two people, or two tabs of one, write at the same moment from one machine: neither is refused for the other's sake."""

from __future__ import annotations

import shutil
import threading
from datetime import datetime
from pathlib import Path

from verifier.drawing.read import read_pour
from verifier.pipeline.people.acting import Act, open_record, record_event
from verifier.record.keys import device_signer
from verifier.record.ledger import Ledger
from verifier.store import objects

SAMPLE = Path(__file__).parents[2] / "sample_images"


def test_one_device_joins_once_when_two_write_at_the_same_moment(tmp_path: Path) -> None:
    signer = device_signer(tmp_path / "device.key")
    for number in range(6):
        folder = tmp_path / str(number)
        folder.mkdir()
        shutil.copy(SAMPLE / "pour.toml", folder)
        pour = read_pour(folder)
        first = Act("engineer-1", datetime.now().astimezone(), device_signer(tmp_path / "first.key"))
        open_record(folder, pour, first).close()
        both, refused = threading.Barrier(2), []

        def write(text: str) -> None:
            both.wait()  # noqa: B023 - joined before the next round begins
            act = Act("engineer-1", datetime.now().astimezone(), signer)
            try:
                ledger = open_record(folder, pour, act)  # noqa: B023 - joined before the next round begins
                record_event(ledger, "remark", {"text": text}, act)
                ledger.close()
            except Exception as error:
                refused.append(error)  # noqa: B023 - as above

        threads = [threading.Thread(target=write, args=(text,)) for text in ("one", "two")]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert refused == []
        ledger = Ledger.open(folder)
        said = [r.body.get("text") for r in ledger.records("remark")]
        joined = [r.by for r in ledger.records("device.enrol")]
        ledger.close()
        assert sorted(map(str, said)) == ["one", "two"]
        assert len(joined) == len(set(joined)) == 2


def test_a_file_that_its_writer_finishes_during_the_sweep_is_no_fault(tmp_path: Path) -> None:
    gone = tmp_path / "1-ab.part"
    assert not objects._older(gone, 1e12)
    gone.write_bytes(b"x")
    assert objects._older(gone, 1e12)
    assert not objects._older(gone, 0.0)
