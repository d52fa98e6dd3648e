"""A day at the desk in random order: every print is that of its patient. The long walk is `tests/hard/long_day.py`."""

from clinic import Clinic


def test_every_print_of_a_day_is_that_of_its_patient(page, tmp_path):
    """Source: rule of the desk: one plan, one person; the command's page of the plan that was typed."""
    day = Clinic(page, tmp_path, patients=6, seed=11)
    day.begin()
    for _ in range(30):
        day.step()
    day.print_record()
    assert day.prints > 2
