"""The year's strip of the first page: each month with its hours of high sun, and a press."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from markupsafe import Markup

from service.application.year_strip import Month, months
from service.charts.year_strip import month_bars
from service.text.formatting import long_date, month_name


@dataclass(frozen=True)
class MonthShown:
    """A month as it stands on the page."""

    it: Month
    bars: Markup

    @property
    def name(self) -> str:
        """Return its name, short."""
        return month_name(self.it.first.month)[:3]

    @property
    def hours(self) -> str:
        """Return its hours of high sun."""
        return f"{self.it.mean_h:.1f} h"

    @property
    def label(self) -> str:
        """Return what the press says to whom does not see it."""
        name, day = month_name(self.it.first.month), long_date(self.it.offered)
        chosen = "the date is in it" if self.it.is_chosen else f"move the date to {day}"
        return f"{name}: {self.it.mean_h:.1f} hours a day; {chosen}"


def months_shown(latitude_deg: float, chosen: date, today: date) -> list[MonthShown]:
    """Return the year at a latitude, as it is offered."""
    return [MonthShown(m, month_bars(m.hours)) for m in months(latitude_deg, chosen, today)]
