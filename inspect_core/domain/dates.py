"""Calendar sums for due dates and ages."""

from __future__ import annotations

import calendar
from datetime import date


def add_months(day: date, months: int) -> date:
    """The same day `months` later, or that month's last day where the month is shorter; date.min or date.max past
    the calendar.

    >>> add_months(date(2024, 1, 31), 1)
    datetime.date(2024, 2, 29)
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if year > date.max.year:
        return date.max
    if year < date.min.year:
        return date.min
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))
