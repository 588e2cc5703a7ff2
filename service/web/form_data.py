"""A form's fields as they were typed, and the text of a file that was chosen."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Request, UploadFile

from events.errors import NOT_UTF8, FaultyEvent
from events.model import Event
from service.application.reading import SentFile
from service.application.services import Services

FIELDS_MOST = 10_000  # a page with all cookers or dishes of the largest event; bytes are bounded


async def form_fields(request: Request) -> dict[str, str]:
    """Return a form's fields; a field that stands several times is joined by commas."""
    form = await request.form(max_fields=FIELDS_MOST)
    return {key: ",".join(str(v) for v in form.getlist(key)) for key in form}


FormFields = Annotated[dict[str, str], Depends(form_fields)]


async def text_of(file: UploadFile) -> str:
    """Return a chosen file's text; raises FaultyEvent where it is none."""
    try:
        return (await file.read()).decode("utf-8")
    except UnicodeDecodeError:
        raise FaultyEvent(file.filename or "the file", [NOT_UTF8]) from None


async def event_of(text: str, source: str, services: Services) -> Event:
    """Return the event in a file's text, read beside; raises FaultyEvent."""
    answer = services.reading.event(SentFile(text=text, source=source))
    await answer.arrives(None)
    return answer.result()
