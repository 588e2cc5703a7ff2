"""A day's price: known before it is taken, over the limit refused with what to leave out."""

from __future__ import annotations

import httpx
import pytest

from events.errors import TooLarge
from events.reading.write import write_event
from events.table import changed
from service.application import events
from service.application.price import PRICE_MOST, price_of, require_plannable
from tests.app import TOML, Door, put_in
from tests.conftest import SAMPLES, sample_event
from tests.scale import grown


@pytest.mark.parametrize("name", SAMPLES)
def test_the_samples_cost_little(name: str) -> None:
    assert price_of(sample_event(name)) < PRICE_MOST / 10


def test_a_dish_that_names_its_cookers_costs_less() -> None:
    event = sample_event("cook-off")
    first = changed(event.dishes[0], only_in=(event.cookers[0].id,))

    assert price_of(changed(event, dishes=(first, *event.dishes[1:]))) < price_of(event)


def test_a_day_over_the_price_is_refused_with_its_figure_and_what_to_leave_out() -> None:
    with pytest.raises(TooLarge, match=r"250 dishes, 120 cookers.*loads to compare.*Take about"):
        require_plannable(grown(250, 120, 60))


def test_a_festival_of_three_hundred_dishes_is_let_in() -> None:
    require_plannable(grown(300, 120, 30))


@pytest.mark.slow
def test_a_day_that_is_too_large_is_neither_stored_nor_planned(door: Door) -> None:
    """Measured on 0.2: one event within the limits held the only solver for seven minutes."""

    async def work(client: httpx.AsyncClient) -> None:
        body = write_event(grown(250, 120, 60))
        answer = await client.post("/api/events", content=body, headers=TOML)

        assert answer.status_code == 422
        assert "is the most" in answer.json()["detail"]
        assert (await client.get("/api/events")).json() == []

    door(work)


def test_one_asker_has_only_so_many_days_waiting(
    door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On 0.2 one client had forty cook-offs accepted in half a minute; the queue had no end."""

    async def work(client: httpx.AsyncClient) -> list[int]:
        door.solvers.hold()
        return [(await put_in(client)).status_code for _ in range(4)]

    monkeypatch.setattr(events, "WAITING_MOST", 3)
    assert door(work) == [201] * 3 + [503]
