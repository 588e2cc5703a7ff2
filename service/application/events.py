"""Events: put in, changed, read; each change has the day planned again."""

from __future__ import annotations

from datetime import date

from events.errors import Busy, NotFound, StaleVersion, VersionMissing
from events.model import Event
from events.reading.forecast_file import weather_from
from events.reading.write import write_event
from events.site import Weather
from events.storage.tables import EventLine, StoredEvent
from events.table import changed
from service.application.asker import ASKER
from service.application.context import Context
from service.application.links import link_end
from service.application.plans import PlanService
from service.application.price import require_plannable
from solver.feasibility.changes import apply
from solver.live.reconcile import reconcile
from solver.plan import Plan

WAITING_MOST = 30  # plans and questions of one asker
PAGE = 100  # events of a list at a time


class EventService:
    """Events by name, each in its present version."""

    def __init__(self, context: Context, plans: PlanService) -> None:
        self._context, self._store, self._plans = context, context.store.events, plans

    def get(self, name: str) -> StoredEvent:
        """Return an event; raises NotFound."""
        return self._store.get(name)

    def has(self, name: str) -> bool:
        """Return whether an event of that name is here."""
        return self._store.has(name)

    def page(self, *, first: int = 0, most: int = PAGE) -> list[EventLine]:
        """Return some events, latest first."""
        return self._store.page(first=first, most=most)

    def file(self, name: str) -> str:
        """Return an event as a file's text."""
        return write_event(self._store.get(name).event)

    def put_in(self, event: Event) -> StoredEvent:
        """Store a new event and have it planned."""
        require_plannable(event)
        self._require_room()
        stored = self._store.add(event, now=self._context.now())
        self._plans.ask(stored.id, stored.version)
        return stored

    def _require_room(self) -> None:
        """Raise Busy where many days of the same asker wait to be planned."""
        asker, standing = ASKER.get(), self._context.solvers.standing()
        if sum(work.order.origin == asker for work in standing) >= WAITING_MOST and asker:
            raise Busy(f"{WAITING_MOST} days from here wait to be planned. Wait for some of them.")

    def change(self, name: str, event: Event, *, etag: str | None) -> StoredEvent:
        """Store a new version of an event and have it planned; `etag` is that of the one before.

        On the day itself another forecast moves nobody: the plan stays in force, the watch looks
        at the day under the new sky, and what is better is offered.
        """
        old = self._store.get(name)
        if not etag:
            raise VersionMissing("Send If-Match with the ETag you read: another may change it too.")
        require_plannable(event)
        begun_under = self._plans.begun_under(old, old.version + 1)
        if begun_under and event.date == old.date:
            reconcile(event, begun_under, self._context.now())
        stays = self._plan_stays(old, event, begun_under)
        now = self._context.now()
        stored = self._store.change(name, event, fingerprint=_fingerprint(etag), now=now)
        self._plans.make_way(name)
        if event.date > old.date:
            self._context.store.links.renew_all(name, link_end(event.date, now), now=now)
        if stays and begun_under:
            self._plans.keep(name, stored.version, begun_under)
        else:
            self._plans.ask(stored.id, stored.version)
        return stored

    def _plan_stays(self, old: StoredEvent, event: Event, begun_under: Plan | None) -> bool:
        """Return whether nothing but the forecast differs on a day that runs by its own plan."""
        only_sky = event != old.event and changed(old.event, weather=event.weather) == event
        return bool(begun_under) and only_sky and self._plans.in_force(old.id).state == "done"

    @property
    def forecast_credit(self) -> str:
        """Return whose forecast can be fetched at a press; nothing where none can."""
        forecasts = self._context.forecasts
        return forecasts.credit if forecasts.is_on else ""

    def change_weather(self, name: str, text: str | None, *, etag: str | None) -> StoredEvent:
        """Take an event's hours from a table or a feed's text; None fetches it, where it may."""
        stored = self._store.get(name)
        site, source = stored.event.site, "uploaded forecast"
        if text is None:
            forecasts = self._context.forecasts
            text = forecasts.text(site.latitude_deg, site.longitude_deg)
            source = f"{forecasts.credit}, fetched {self._context.now():%Y-%m-%d %H:%M} UTC"
        weather = weather_from(text, source=source, day=stored.date, zone=stored.event.zone)
        today = self._context.now().astimezone(stored.event.zone).date()
        weather = changed(weather, days_ahead=max((stored.date - today).days, 0))
        return self.change(name, changed(stored.event, weather=weather), etag=etag)

    def improve(self, name: str, *improvement_ids: str, etag: str | None) -> StoredEvent:
        """Make changes that would help, all in one new version; the event is planned again."""
        stored = self._store.get(name)
        if etag and _fingerprint(etag) != stored.fingerprint:
            raise StaleVersion(name, stored.fingerprint)
        better = apply(stored.event, *improvement_ids)
        if better is None:
            raise NotFound(f"No change “{', '.join(improvement_ids)}” for {name}.")
        return self.change(name, better, etag=etag)

    def move_day(self, name: str, day: date, *, etag: str | None) -> StoredEvent:
        """Move an event to another date; its forecast, which was for the old one, goes."""
        event = self._store.get(name).event
        return self.change(name, changed(event, date=day, weather=Weather()), etag=etag)

    def set_sunlit(
        self, name: str, sunlit_pct: tuple[int, ...], *, etag: str | None
    ) -> StoredEvent:
        """Store a site's sunny hours of 100 by month; none: typical of its latitude."""
        event = self._store.get(name).event
        site = changed(event.site, sunlit_pct=sunlit_pct)
        return self.change(name, changed(event, site=site), etag=etag)

    def undo(self, name: str, *, etag: str | None) -> StoredEvent:
        """Take the last change back: the version before becomes the newest."""
        before = self._store.earlier_version(name, self._store.get(name).version - 1)
        return self.change(name, before, etag=etag)

    def is_taken_back(self, name: str) -> bool:
        """Return whether the last change was an undo: undoing it would make the change again."""
        version, times = self._store.get(name).version, 0
        of = self._store.version
        while version - times > 2 and of(name, version - times) == of(name, version - times - 2):
            times += 1  # undone, made again, undone …
        return times % 2 == 1


def _fingerprint(etag: str) -> str:
    """Return the event's fingerprint that an ETag carries."""
    return etag.removeprefix("W/").strip('"')
