"""Everybody's links at once: shown, shareable, never leading nowhere."""

from __future__ import annotations

import html
import re
import socket
from dataclasses import replace

import httpx
import pytest

from events.reading.samples import sample_text
from service.charts.qr_code import QrCode
from service.web import address, hand_out, links
from tests.app import EVENT, HTML, Door, put_in
from tests.conftest import sample_event

PAGE = f"/e/{EVENT}/links"
OUTSIDE = {"host": "cook.example", **HTML}


def test_one_press_makes_everybodys_links_with_codes_and_a_message(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[str, str]:
        made = await client.post(PAGE, data={"role": "all"}, headers=OUTSIDE)
        return made.text, (await client.get(PAGE, headers=OUTSIDE)).text

    made, again = ready(work)

    text = re.search(r'<textarea id="message"[^>]*>(.*?)</textarea>', made, re.S)
    assert text is not None
    message = html.unescape(text[1])
    for name in ("Asta", "Bo", "Wim"):
        assert re.search(rf"{name}, from [\d:]+: https?://cook\.example/l/[\w-]{{32}}", message)
    assert "Visitors’ board" not in message
    assert len(set(re.findall(r'data-copy="([^"]+)"', made))) == 4  # three helpers and the board
    assert made.count('class="qr"') == 4
    assert set(re.findall(r"/l/[\w-]+", again)) == set(re.findall(r"/l/[\w-]+", made))


def test_a_code_fills_its_place_so_that_a_phone_reads_it_from_a_metre(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> str:
        return (await client.post(PAGE, data={"role": "all"}, headers=OUTSIDE)).text

    page = ready(work)
    code = re.search(r"<svg[^>]*>", page[page.index('class="slip"') :])

    assert code is not None
    assert "viewBox" in code[0]
    assert "width=" not in code[0]


def test_new_links_end_the_old_ones(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[int]:
        old = await client.post(PAGE, data={"role": "all"}, headers=OUTSIDE)
        token = re.findall(r"/l/([\w-]+)", old.text)[0]
        before = (await client.get(f"/l/{token}")).status_code
        await client.post(PAGE, data={"role": "renew"}, headers=OUTSIDE)
        return [before, (await client.get(f"/l/{token}", headers=HTML)).status_code]

    assert ready(work) == [303, 404]


def test_at_an_address_of_this_machine_alone_no_code_leads_nowhere(
    ready: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(links, "own_addresses", lambda: ["192.168.7.20"])
    monkeypatch.setattr(hand_out, "own_addresses", lambda: ["192.168.7.20"])
    monkeypatch.setattr(links, "answering", lambda addresses, port: addresses if port else [])

    async def work(client: httpx.AsyncClient) -> tuple[str, str]:
        local = {"host": "127.0.0.1:8008", **HTML}
        alone = await client.post(PAGE, data={"role": "all"}, headers=local)
        chosen = await client.get(f"{PAGE}?at=192.168.7.20", headers=local)
        return alone.text, chosen.text

    alone, chosen = ready(work)

    assert "open on this computer only" in alone
    assert "?at=192.168.7.20" in alone
    assert 'class="qr"' not in alone
    assert "Phones in the same network can open them." in chosen
    assert "--host" not in chosen


def test_paper_takes_over_the_address_that_was_chosen(
    ready: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in (links, address):
        monkeypatch.setattr(module, "own_addresses", lambda: ["192.168.7.20"])
    monkeypatch.setattr(links, "answering", lambda addresses, port: addresses if port else [])

    async def work(client: httpx.AsyncClient) -> list[str]:
        local = {"host": "127.0.0.1:8008", **HTML}
        before = (await client.get(f"/e/{EVENT}/paper", headers=local)).text
        chosen = await client.get(f"{PAGE}?at=192.168.7.20", headers=local)
        cookie = {"cookie": chosen.headers["set-cookie"].partition(";")[0]}
        after = (await client.get(f"/e/{EVENT}/paper", headers=local | cookie)).text
        hand_out_again = (await client.get(PAGE, headers=local | cookie)).text
        monkeypatch.setattr(address, "own_addresses", lambda: ["10.0.0.3"])  # another network
        gone = (await client.get(f"/e/{EVENT}/paper", headers=local | cookie)).text
        return [before, after, hand_out_again, gone]

    before, after, again, gone = ready(work)

    value = 'name="base" value="http://192.168.7.20:8008"'
    assert [value in page for page in (before, after, gone)] == [False, True, False]
    assert "Links lead to 192.168.7.20" in again


def test_old_links_are_ended_only_once_there_are_some(door: Door) -> None:
    door.settings = replace(door.settings, open=False)

    async def work(client: httpx.AsyncClient) -> list[bool]:
        await put_in(client)
        before = (await client.get(PAGE, headers=HTML)).text
        after = (await client.post(PAGE, data={"role": "all"}, headers=HTML)).text
        return ["end the old ones" in page for page in (before, after)]

    assert door(work) == [False, True]


def test_an_address_at_which_nothing_answers_is_not_offered(
    ready: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(links, "own_addresses", lambda: ["192.0.2.7"])
    monkeypatch.setattr(links, "answering", lambda *_: [])

    async def work(client: httpx.AsyncClient) -> str:
        local = {"host": "127.0.0.1:8008", **HTML}
        return (await client.get(PAGE, headers=local)).text

    ready.settings = replace(
        ready.settings, start_for_network="noonfare serve --host 0.0.0.0 --port 8741"
    )
    page = ready(work)

    assert "Phones can’t open these links yet" in page
    assert "noonfare serve --host 0.0.0.0 --port 8741<" in page
    assert "192.0.2.7" not in page


def test_a_link_to_keep_says_where_it_opens_on_this_computer_only(
    door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(address, "own_addresses", lambda: ["192.168.7.20"])
    door.settings = replace(door.settings, open=False)
    local = {"host": "127.0.0.1:8008", **HTML}
    chosen = {"cookie": f"{address.CHOSEN}=192.168.7.20"}

    async def work(client: httpx.AsyncClient) -> list[str]:
        await put_in(client)
        pages = []
        for asks in (local, OUTSIDE, local | chosen):
            made = await client.post(f"/e/{EVENT}/keep", headers=asks)
            kept = made.headers["set-cookie"].partition(";")[0]
            cookies = "; ".join(filter(None, (kept, asks.get("cookie"))))
            page = await client.get(f"/e/{EVENT}/keep", headers=asks | {"cookie": cookies})
            pages.append(page.text)
        return pages

    here, outside, by_address = door(work)

    says = "This link opens on this computer only"
    assert [says in page for page in (here, outside, by_address)] == [True, False, False]
    assert ['class="qr"' in page for page in (here, outside, by_address)] == [False, True, True]
    assert "http://192.168.7.20:8008/l/" in by_address
    assert "works until 30 days after the event" in here


def test_a_service_answers_where_it_listens() -> None:
    with socket.create_server(("127.0.0.1", 0)) as listens:
        port = listens.getsockname()[1]
        assert hand_out.answering(["127.0.0.1", "127.0.0.9"], port) == ["127.0.0.1"]
    assert hand_out.answering(["127.0.0.1"], port) == []


SCHOOL = "lakeside-school-cooking-with-the-sun-2027-02-10"


def test_who_goes_with_a_group_is_handed_its_timetable_and_no_more(door: Door) -> None:
    door.settings = replace(door.settings, open=False)

    async def work(client: httpx.AsyncClient) -> tuple[str, httpx.Response, list[int]]:
        await put_in(client, sample_text("school-rounds"))
        made = await client.post(f"/e/{SCHOOL}/links", data={"role": "all"}, headers=OUTSIDE)
        text = html.unescape(made.text)
        url = re.search(r"Red: timetable for Mrs Achieng: http://cook\.example(/l/\S+)", text)
        assert url is not None
        client.cookies.clear()
        client.headers.pop("authorization", None)
        followed = await client.get(url[1], headers=HTML, follow_redirects=True)
        others = [f"/e/{SCHOOL}/rota/group/blue", f"/e/{SCHOOL}/jobs", f"/e/{SCHOOL}/plan/dishes"]
        return text, followed, [(await client.get(p, headers=HTML)).status_code for p in others]

    page, timetable, others = door(work)

    assert timetable.status_code == 200
    assert timetable.url.path == f"/e/{SCHOOL}/rota/group/red"
    assert others == [200, 404, 404]
    for group in sample_event("school-rounds").groups:
        assert f"{group.name}: timetable for {group.adult}" in page


def test_a_helper_who_opens_a_groups_link_stays_a_helper(door: Door) -> None:
    door.settings = replace(door.settings, open=False)

    async def work(client: httpx.AsyncClient) -> list[int]:
        await put_in(client, sample_text("school-rounds"))
        made = await client.post(f"/e/{SCHOOL}/links", data={"role": "all"}, headers=OUTSIDE)
        text = html.unescape(made.text)
        own = re.search(r"Wanja, from 08:00: http://cook\.example(/l/\S+)", text)
        group = re.search(r"Red: timetable for Mrs Achieng: http://cook\.example(/l/\S+)", text)
        assert own is not None
        assert group is not None
        client.cookies.clear()
        client.headers.pop("authorization", None)
        for link in (own[1], group[1]):
            await client.get(link, headers=HTML)
        return [(await client.get(f"/e/{SCHOOL}/jobs/wanja", headers=HTML)).status_code]

    assert door(work) == [200]


def test_the_message_says_when_each_begins() -> None:
    event = sample_event("school-rounds")
    people = hand_out.recipients(event, None)
    links_ = [hand_out.HandedOut(p, QrCode(f"http://cook.example/l/{p.key}")) for p in people]

    lines = hand_out.message(event, links_).splitlines()

    assert "Akinyi, from 07:30: http://cook.example/l/akinyi" in lines
    assert "Wanja, from 08:00: http://cook.example/l/wanja" in lines
    assert not [line for line in lines if line.startswith("Crew from")]
