"""A log is read whatever its logger wrote: separators, decimals, clocks, degrees; what cannot be known is asked."""

from __future__ import annotations

import datetime

import numpy as np
import pytest

from demoule.errors import BadInput, Mistakes
from demoule.files.logs import log_of, read_log

CELSIUS = [20.0, 15.5, 3.0, -1.2, -12.5, -18.25]


def rows(
    form, *, sep=",", head="time,temp", stamp="{:%Y-%m-%d %H:%M:%S}", start=datetime.datetime(2026, 11, 12, 14, 0)
):
    lines = [head.replace(",", sep)]
    for number, degree in enumerate(CELSIUS):
        moment = start + datetime.timedelta(minutes=number)
        lines.append(sep.join([stamp.format(moment, n=number), form(degree)]))
    return "\n".join(lines) + "\n"


WRITTEN = {
    "dates, commas": rows(str),
    "German: semicolons, decimal commas, days first": rows(
        lambda c: str(c).replace(".", ","), sep=";", head="Zeit,Temperatur °C", stamp="{:%d.%m.%Y %H:%M}"
    ),
    "tabs": rows(str, sep="\t"),
    "°F by its header": rows(lambda c: str(round(c * 1.8 + 32, 3)), head="Date/Time,Temperature (°F)"),
    "°F told by each value": rows(lambda c: f"{c * 1.8 + 32:.3f} F"),
    "degrees with each value": rows(lambda c: f"{c} °C"),
    "date and clock apart": rows(str, head="date,clock,probe", stamp="{0:%Y-%m-%d},{0:%H:%M:%S}"),
    "12 hours": rows(str, stamp="{:%m/%d/%Y %I:%M:%S %p}"),
    "ISO with T and zone": rows(str, stamp="{:%Y-%m-%dT%H:%M:%S}+01:00"),
    "minutes": rows(str, head="time (min),temp", stamp="{n}"),
    "seconds": "elapsed s,temp\n" + "\n".join(f"{60 * n},{c}" for n, c in enumerate(CELSIUS)),
    "row numbers and a preamble": "Logger A;;\nSerial 77;;\n\n"
    + rows(str, sep=";", head="No.,Time,T1 [°C]", stamp="{n};{0:%Y-%m-%d %H:%M:%S}"),
    "minus as a sign of its own": rows(lambda c: str(c).replace("-", "−")),
    "past midnight without dates": rows(str, stamp="{:%H:%M}", start=datetime.datetime(2026, 1, 1, 23, 57)),
    "commas for columns and decimals": rows(lambda c: f"{c:.2f}".replace(".", ","), head="time,temp"),
    "a first reading that is missing": rows(str).replace("\n", "\n2026-11-12 13:59:00,---\n", 1),
    "temperature before the time": "temp,time (min)\n" + "\n".join(f"{c},{n}" for n, c in enumerate(CELSIUS)),
    "seconds since 1970": "time,temp\n" + "\n".join(f"{1763121600 + 60 * n},{c}" for n, c in enumerate(CELSIUS)),
}


@pytest.mark.parametrize("how", WRITTEN)
def test_every_way_of_writing_gives_the_same_record(how):
    record = log_of(WRITTEN[how], "log.csv").record()
    assert record.time == pytest.approx(60.0 * np.arange(6))
    assert record.temperature == pytest.approx(np.array(CELSIUS) + 273.15, abs=0.01)


def test_a_date_is_kept_and_its_order_said_when_it_could_be_another():
    record = log_of(WRITTEN["German: semicolons, decimal commas, days first"], "log.csv").record()
    assert record.begun == datetime.datetime(2026, 11, 12, 14, 0)
    slashes = rows(str, stamp="{:%d/%m/%Y %H:%M:%S}")
    record = log_of(slashes, "log.csv").record()
    assert record.begun == datetime.datetime(2026, 11, 12, 14, 0)
    assert any("day first" in note for note in record.notes)
    far = rows(str, stamp="{:%m/%d/%Y %H:%M:%S}", start=datetime.datetime(2026, 11, 25, 8, 0))
    assert log_of(far, "log.csv").record().begun == datetime.datetime(2026, 11, 25, 8, 0)


def test_days_first_or_months_first_is_told_by_the_run_of_the_log():
    # Two rows across midnight: read with the month first they would lie months apart.
    text = "t;T °C\n01/02/2026 23:30;20\n01/02/2026 23:50;1\n02/02/2026 00:10;-9\n02/02/2026 00:30;-15\n"
    assert log_of(text, "log").record().time[-1] == 3600.0


def test_gaps_doubles_and_a_clock_set_back_are_mended_and_said():
    text = "time,°C\n" + "\n".join(
        f"2026-10-25 {h:02}:{m:02}:00,{t}"
        for h, m, t in [(2, 40, 9.0), (2, 50, 5.0), (2, 0, 1.0), (2, 10, -2.0), (2, 10, -2.0), (2, 20, -5.0)]
    )
    record = log_of(text, "log").record()
    assert list(record.time) == [0.0, 600.0, 1200.0, 1800.0, 2400.0]
    assert any("hour" in note for note in record.notes)
    assert any("already told" in note for note in record.notes)
    gap = "min,°C\n" + "\n".join(f"{n},{20 - n}" for n in [0, 1, 2, 3, 33, 34, 35]) + "\n36,\n"
    record = log_of(gap, "log").record()
    assert len(record.time) == 7
    assert any("gap is 30 min" in note for note in record.notes)
    assert any("without a reading" in note for note in record.notes)


def test_several_columns_are_asked_for_by_name():
    text = "time;core °C;air °C;humidity %\n" + "\n".join(f"2026-01-01 10:{n:02};{9 - n};-30;55" for n in range(9))
    log = log_of(text, "log")
    assert [name for name, _ in log.columns] == ["core °C", "air °C"]
    assert log.record("Core").temperature[0] == pytest.approx(282.15)
    with pytest.raises(BadInput, match="2 columns"):
        log.record()
    with pytest.raises(BadInput, match="no column called"):
        log.record("heart")


def test_degrees_that_may_be_either_are_asked_for():
    text = "min,T\n" + "\n".join(f"{n},{40 - n}" for n in range(30))
    with pytest.raises(BadInput, match="°C or °F"):
        log_of(text, "log").record()
    assert log_of(text, "log").record(scale="F").temperature[0] == pytest.approx((40 - 32) / 1.8 + 273.15)


@pytest.mark.parametrize(
    "text",
    ["", "hello\n", "a,b\nc,d\n", "time,T\n", "2026-01-01 10:00:00\n2026-01-01 10:01:00\n", "time,word\n10:00,warm\n"],
)
def test_what_is_no_log_is_refused(text):
    with pytest.raises((Mistakes, BadInput)):
        log_of(text, "log").record()


def test_a_time_column_without_a_unit_is_asked_for():
    with pytest.raises(BadInput, match="does not say in what"):
        log_of("T,°C\n" + "\n".join(f"{n},{20 - n}" for n in range(20)), "log")


def test_a_row_that_is_broken_is_named():
    text = WRITTEN["dates, commas"].replace("2026-11-12 14:03:00", "2026-11-42 14:03:00")
    with pytest.raises(Mistakes, match="2026-11-42"):
        log_of(text, "log.csv")


def test_files_that_cannot_be_read_are_told(tmp_path):
    with pytest.raises(Mistakes, match="no such file"):
        read_log(tmp_path / "none.csv")
    with pytest.raises(Mistakes, match="folder"):
        read_log(tmp_path)
    (tmp_path / "zip.csv").write_bytes(b"PK\x03\x04" + bytes(100))
    with pytest.raises(Mistakes, match="not a text file"):
        read_log(tmp_path / "zip.csv")
    (tmp_path / "old.csv").write_bytes("time;T °C\n10:00;5,5\n10:01;4,5\n10:02;-20\n".encode("latin-1"))
    assert read_log(tmp_path / "old.csv").record().temperature[0] == pytest.approx(278.65)
    (tmp_path / "wide.csv").write_bytes("time,T °C\n10:00,5\n10:01,4\n10:02,-20\n".encode("utf-16"))
    assert len(read_log(tmp_path / "wide.csv").record().time) == 3
