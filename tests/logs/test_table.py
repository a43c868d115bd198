"""Logs as they really are: spreadsheets, loggers and people, faults by line, nothing guessed."""

import numpy as np
import pytest

from barbwright.errors import InputError
from barbwright.logs.proof import read_proof
from barbwright.logs.table import read_table

FALL = [(0.0, 60.0), (1.0, 59.5), (2.0, 59.2), (3.0, 59.1), (4.0, 59.0), (5.0, 59.0)]
PSI = 0.00689475729


@pytest.fixture
def write(tmp_path):
    def written(text, encoding="utf-8"):
        path = tmp_path / "log.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
        return path

    return written


def rows(form="{},{}\n", head="time [min],pressure [psi]\n"):
    return head + "".join(form.format(*row) for row in FALL)


def pressures(path):
    return read_proof(read_table(path)).pressure_mpa / PSI


@pytest.mark.parametrize(
    "text",
    [
        rows(),
        "\ufeff" + rows(),
        rows().replace("\n", "\r\n"),
        rows("{};{}\n", "time [min];pressure [psi]\n").replace(".", ","),
        rows("{}\t{}\n", "Time (min)\tPressure (psi)\n"),
        rows(head="time_min,pressure_psi\n"),
        "Logger 7\nserial,1234\n\n" + rows(),
        rows("{},{} psi\n", "time [min],pressure\n"),
        rows() + "\n\n",
        rows('"{}","{}"\n'),
    ],
    ids=["plain", "byte order mark", "crlf", "decimal comma", "tabs", "suffixes", "preamble",
         "unit in the cell", "blank lines", "quotes"],
)  # fmt: skip
def test_one_record_in_many_spellings_reads_the_same(write, text):
    assert pressures(write(text)) == pytest.approx([p for _, p in FALL])


def test_utf_16_from_a_spreadsheet_reads_the_same(write):
    assert pressures(write(rows(), "utf-16")) == pytest.approx([p for _, p in FALL])


def test_a_header_written_again_with_another_unit_holds_from_there_on(write):
    text = rows() + "time [min],pressure [kPa]\n6,406.8\n7,406.8\n"
    record = read_proof(read_table(write(text)))
    assert record.pressure_mpa[-1] == pytest.approx(0.4068)
    assert any("written again" in note for note in record.notes)


def test_a_cell_may_carry_another_unit_than_its_header(write):
    text = rows() + "6,4.068 bar\n"
    assert pressures(write(text))[-1] == pytest.approx(59.0, abs=0.01)


def test_a_clock_and_midnight_are_read_as_times(write):
    text = "time,pressure [psi]\n23:58:00,60\n23:59:00,59\n00:00:00,59\n00:01:00,59\n00:02:30,59\n"
    assert read_proof(read_table(write(text))).seconds == pytest.approx([0, 60, 120, 180, 270])


def test_times_out_of_order_are_sorted_and_said(write):
    text = rows() + "2.5,59.15\n"
    record = read_proof(read_table(write(text)))
    assert (np.diff(record.seconds) >= 0.0).all()
    assert any("line 8: earlier than the line before" in note for note in record.notes)


def test_times_that_stand_twice_keep_both_readings(write):
    record = read_proof(read_table(write(rows() + "5,58.9\n")))
    assert len(record.seconds) == len(FALL) + 1
    assert any("line 8: a time that stands twice" in note for note in record.notes)


def test_a_gap_is_said_and_nothing_is_put_into_it(write):
    record = read_proof(read_table(write(rows() + "45,58.0\n")))
    assert len(record.seconds) == len(FALL) + 1
    assert any("a gap of 40.0 min after line 7" in note for note in record.notes)


def test_a_row_without_a_pressure_is_left_out_by_its_line(write):
    record = read_proof(read_table(write(rows() + "6,\n7,58.9\n")))
    assert any(note.startswith("line 8:") for note in record.notes)
    assert len(record.seconds) == len(FALL) + 1


def test_a_decimal_comma_between_commas_is_refused_by_its_lines(write):
    """0,25,82,5 is two numbers or four: read as four, the time would be 0 and the pressure 25."""
    with pytest.raises(InputError, match="line 3: more cells than the header has"):
        read_table(write("time [min],pressure [psi]\n0,82\n0,25,82,5\n"))


def test_rows_that_end_in_bare_separators_or_early_are_read(write):
    table = read_table(write("time [min],pressure [psi]\n0,82,,\n1,81\n2\n"))
    assert table.words("pressure") == ["82", "81", ""]
    table = read_table(write("time [min],pressure [psi],temperature [C]\n0,82\n1,81,20\n"))
    assert table.words("temperature") == ["", "20"]


def test_a_text_with_commas_is_read_in_quotes_and_refused_without(write):
    head = "time [min],pressure [psi],remark\n"
    assert len(read_table(write(head + '0,82,"wet, then dry"\n1,81,\n'))) == 2
    with pytest.raises(InputError, match="line 2: more cells"):
        read_table(write(head + "0,82,wet, then dry\n1,81,\n"))


def test_what_a_gauge_shows_vented_is_taken_off(write):
    record = read_proof(read_table(write(rows())), zero_mpa=1.5 * PSI)
    assert record.pressure_mpa[0] / PSI == pytest.approx(58.5)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (rows() + "6,abc\n", "line 8: "),
        (rows() + "6,5 apples\n", "line 8: "),
        (rows(head="time [min],pressure\n"), "names no unit of pressure"),
        (rows() + "6,4,5,6,oops\n" + "7,x\n", "line 8: more cells"),
        ("time [min],time [min],pressure [psi]\n0,0,60\n", "twice"),
        ("a,b\n1,2\n", "no log's"),
        ("", "empty"),
        ("time [min],pressure [psi]\n", "line 1: the log has no rows"),
        # Sorted by a spreadsheet, its header among the rows.
        ("0,60\n5,59\ntime [min],pressure [psi]\n", "lines above it: 2); do: put the header back"),
        (rows(head="time [min],pressure [furlong]\n"), "header's unit of pressure"),
        ("time [min],pressure [psi]\n0,60\n1,59\n", "too few"),
        (b"time [min],pressure [psi]\n\x00\x01", "no text file"),
    ],
)
def test_what_is_wrong_is_told_by_line_and_refused(write, text, said):
    with pytest.raises(InputError) as error:
        pressures(write(text))
    assert said in str(error.value)


def test_many_faults_are_told_at_once_and_not_all_of_them(write):
    text = rows() + "".join(f"{10 + n},x\n" for n in range(100))
    with pytest.raises(InputError) as error:
        pressures(write(text))
    assert len(error.value.faults) == 21
    assert "and 80 more lines" in error.value.faults[-1].what


def test_a_missing_file_is_one_message(tmp_path):
    with pytest.raises(InputError, match="cannot read the log"):
        read_table(tmp_path / "nowhere.csv")
