"""The forecast fetched over HTTP, where the operator set an address for it; else not at all.

NOONFARE_FORECAST_URL holds `{lat}` and `{lon}`; NOONFARE_FORECAST_CREDIT is shown with the plan.
Coordinates are rounded to a hundredth of a degree: about a kilometre, enough for a sky.
"""

from __future__ import annotations

import time

import httpx

from events.errors import Unreachable
from service.settings import Settings

FRESH_S = 30 * 60.0
LARGEST = 2_000_000


class Forecasts:
    """Fetches forecasts; each is good for half an hour."""

    def __init__(self, settings: Settings) -> None:
        self._url, self.credit = settings.forecast_url, settings.forecast_credit
        self._wait_s = settings.forecast_wait_s
        self._fetched: dict[str, tuple[float, str]] = {}

    @property
    def is_on(self) -> bool:
        """Return whether the operator lets forecasts be fetched."""
        return bool(self._url)

    def text(self, latitude_deg: float, longitude_deg: float) -> str:
        """Return the feed's text for a place; raises Unreachable with the reason."""
        if not self._url:
            raise Unreachable("No forecast address is set here. Put the hours in by hand.")
        url = self._url.replace("{lat}", f"{latitude_deg:.2f}").replace(
            "{lon}", f"{longitude_deg:.2f}"
        )
        at, text = self._fetched.get(url, (0.0, ""))
        if text and time.monotonic() - at < FRESH_S:
            return text
        try:
            answer = httpx.get(url, timeout=self._wait_s, follow_redirects=True)
            answer.raise_for_status()
        except (httpx.HTTPError, httpx.InvalidURL) as error:
            raise Unreachable(f"The forecast could not be fetched: {error}") from None
        if len(answer.content) > LARGEST:
            raise Unreachable(f"The forecast is over {LARGEST} bytes.")
        self._fetched[url] = (time.monotonic(), answer.text)
        return answer.text
