"""A press as its form sends it: what was pressed, on what, and the reading as it was typed."""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from events.diary import Entry, EntryKind, PhoneTime
from events.errors import WHOLE_FILE, FaultyEvent
from events.reading.model_faults import faults_of


def new_press_id() -> str:
    """Return an id for a press that is offered: the same press sent twice counts once."""
    return secrets.token_urlsafe(9)


def press_id(event_id: str, about: str, kind: EntryKind, *, undone: int = 0) -> str:
    """Return the id of the press about a job: pressed twice, or on two phones, it is one press.

    `undone` counts how often it was undone: pressed again after that, it is another.
    """
    known_by = hashlib.sha256("\n".join((event_id, about, kind)).encode()).hexdigest()[:24]
    return f"{known_by}-{undone}"


class PressForm(BaseModel):
    """A press's fields. What is left empty is not said."""

    model_config = ConfigDict(frozen=True)

    kind: EntryKind
    back: Annotated[str, Field(max_length=200)] = ""
    id: str = ""
    plan: str = ""
    helper_id: str = ""
    cooker_id: str = ""
    placement_id: str = ""
    job_id: str = ""
    reading: Annotated[str, Field(max_length=12)] = ""
    degrees: Annotated[str, Field(max_length=2)] = "c"
    minutes: Annotated[str, Field(max_length=4)] = ""
    note: str = ""
    undoes: str = ""
    at: PhoneTime | None = None  # when it was pressed, by the service's clock or by the phone's
    sent_at: PhoneTime | None = None  # by the phone's clock, where the phone knows no better

    def entry(self, now: datetime) -> Entry:
        """Return the diary's entry of a press; raises FaultyEvent."""
        try:
            return Entry(
                id=self.id or new_press_id(),
                kind=self.kind,
                at=self.at or now,
                sent_at=self.sent_at,
                plan=self.plan,
                helper_id=self.helper_id or None,
                cooker_id=self.cooker_id or None,
                placement_id=self.placement_id or None,
                job_id=self.job_id or None,
                core_c=self._core_c(),
                minutes=int(self.minutes) if self.minutes else None,
                note=self.note,
                undoes=self.undoes or None,
            )
        except ValidationError as error:
            raise FaultyEvent("the press", faults_of(error, WHOLE_FILE)) from None
        except ValueError:
            typed = f"“{self.reading or self.minutes}”"
            fault = WHOLE_FILE.fault("reading", typed, "reading-not-a-number")
            raise FaultyEvent("the press", [fault]) from None

    def _core_c(self) -> float | None:
        """Return what the probe shows, in °C."""
        if not self.reading:
            return None
        shown = float(self.reading.replace(",", "."))
        return round((shown - 32) * 5 / 9, 1) if self.degrees.lower() == "f" else shown
