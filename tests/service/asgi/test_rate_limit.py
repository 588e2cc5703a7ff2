"""How much may be asked: by key where one has opened something, else by address."""

from __future__ import annotations

from dataclasses import replace

import httpx

from service.asgi.rate_limit import REMEMBERED_MOST, Limits
from tests.app import EVENT, Door, put_in

ADDRESS = "192.0.2.7"


def limits(a_minute: int = 60) -> Limits:
    return Limits(a_minute, clock=lambda: 0.0)


def allowed(of: Limits, asker: str, method: str = "GET", path: str = "/") -> int:
    """Return how many requests are allowed at once."""
    return next(n for n in range(1000) if not of.allows(asker, method, path))


def test_a_bucket_holds_a_minutes_worth_and_fills_again() -> None:
    now = 0.0
    some = Limits(60, clock=lambda: now)
    assert allowed(some, ADDRESS) == 60

    now = 10.0

    assert allowed(some, ADDRESS) == 10


def test_writes_and_links_have_smaller_buckets_of_their_own() -> None:
    some = limits()

    assert allowed(some, ADDRESS, "POST") == 20
    assert allowed(some, ADDRESS, "GET", "/l/token") == 15
    assert allowed(some, ADDRESS) == 60


def test_a_key_that_has_opened_something_is_counted_by_itself() -> None:
    some = limits()
    some.trust("known")

    assert some.asker(ADDRESS, "known") == "known"
    assert some.asker(ADDRESS, "made up") == ADDRESS
    assert some.asker("2001:db8:1:2:a::1", "") == some.asker("2001:db8:1:2:b::2", "")


def test_keys_and_addresses_are_forgotten_one_by_one() -> None:
    some = limits(1)
    assert some.allows(ADDRESS, "GET", "/")
    for n in range(REMEMBERED_MOST - 1):
        some.allows(str(n), "GET", "/")
        some.trust(f"key {n}")

    assert not some.allows(ADDRESS, "GET", "/"), "others do not empty it"
    some.trust("one more")
    some.trust("and one")
    assert some.asker(ADDRESS, "key 0") == ADDRESS
    assert some.asker(ADDRESS, "key 9") == "key 9"


def test_phones_behind_one_router_do_not_use_up_each_others_limit(door: Door) -> None:
    """On 0.2, 500 phones behind one router got 1,838 refusals of 2,204."""
    door.settings = replace(door.settings, open=False, requests_a_minute=60)

    async def work(client: httpx.AsyncClient) -> None:
        key = (await put_in(client)).json()["organiser_token"]
        for n in range(100):
            made_up = {"authorization": f"Bearer {n}"}
            await client.get("/about", headers=made_up)
        with_key = {"authorization": f"Bearer {key}"}
        other = await client.get("/about")
        mine = await client.get(f"/api/events/{EVENT}", headers=with_key)

        assert other.status_code == 429
        assert mine.status_code == 429, "its first request is counted with the address"

    door(work)

    async def again(client: httpx.AsyncClient) -> None:
        key = (await put_in(client)).json()["organiser_token"]
        name = (await client.get("/about")).status_code
        assert name == 200
        listed = door.services.links
        link = listed.resolve_token(key)
        assert link is not None
        url = f"/api/events/{link.event_id}"
        assert (await client.get(url)).status_code == 200
        client.headers.pop("authorization")
        for _ in range(70):
            await client.get("/about")
        with_key = {"authorization": f"Bearer {key}"}
        assert (await client.get("/about")).status_code == 429
        assert (await client.get(url, headers=with_key)).status_code == 200

    door(again)
