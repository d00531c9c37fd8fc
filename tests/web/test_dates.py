"""Days as people type them."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from thenar.screens.dates import DayField, in_words


def test_a_day_to_come_may_be_two_years_off_but_not_a_slip_in_the_year() -> None:
    field = DayField(when="to_come")
    near, slip = timezone.localdate() + timedelta(days=730), timezone.localdate() + timedelta(days=732)
    assert field.clean(in_words(near)) == near
    with pytest.raises(ValidationError, match="Is the year right"):
        field.clean(in_words(slip))


@pytest.mark.parametrize("typed", ["2026-03-03", "3 March 2026", "3 Mar 2026"])
def test_a_day_is_read_as_it_is_written(typed: str) -> None:
    assert in_words(DayField().clean(typed)) == "3 March 2026"


def test_a_day_that_could_be_two_days_is_asked_back() -> None:
    with pytest.raises(ValidationError, match="word"):
        DayField().clean("03/04/2026")
