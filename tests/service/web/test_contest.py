"""The contest from draw to results: who sees what when, sheets, votes, the count, its closing."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Coroutine
from datetime import UTC, datetime
from typing import Any

import httpx
import pytest
from pypdf import PdfReader

from events.model import Event
from service.application.contest_secrets import CODE_SIGNS, ContestSecrets, check_sign
from service.text import allergens
from solver.contest_plan import ContestPlan
from tests.app import HTML, Door, with_sample
from tests.conftest import sample_event, sample_plan

NAME = "twelve-pots-and-one-sun-2027-06-19"
PAGE, TASTING = f"/e/{NAME}", datetime(2027, 6, 19, 12, 0, tzinfo=UTC)  # 14:00 there
END = datetime(2027, 6, 19, 14, 30, tzinfo=UTC)
Work = Callable[[httpx.AsyncClient], Coroutine[Any, Any, Any]]


@pytest.fixture
def cook_off(door: Door) -> Door:
    """Return a door to the cook-off, in the middle of its tastings."""
    door.now = TASTING
    return with_sample(door, "twelve-pots")


def event() -> Event:
    return sample_event("twelve-pots")


def contest() -> ContestPlan:
    plan = sample_plan("twelve-pots").contest
    assert plan is not None
    return plan


async def write_all(door: Door, client: httpx.AsyncClient, *, but: set[str] = frozenset()) -> None:  # type: ignore[assignment]  # empty
    """Have every judge write every sheet: points by the entry's rank, one judge stricter."""
    service = door.services.contest
    entry_of = {number: entry for entry, number in service.numbers(NAME).items()}
    for n, judge in enumerate(event().judges):
        if judge.id in but:
            continue
        code = service.secrets(NAME).judge_code(judge.id)
        for number in service.asked(NAME, judge.id):
            points = (int(entry_of[number][1:]) + 3) // 2 - (n == 0)
            form = {"number": number, "id": f"{n}-{number}"}
            form |= {c.id: points for c in event().criteria}
            answer = await client.post(f"/judge/{NAME}/{code}", data=form)
            assert answer.status_code == 303, answer.text


def test_the_contest_shows_every_tasting_and_never_a_number(cook_off: Door) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[str, list[int]]:
        page = await client.get(f"{PAGE}/contest", headers=HTML)
        return page.text, list(cook_off.services.contest.numbers(NAME).values())

    text, numbers = cook_off(work)

    for entry in event().entries:
        assert entry.name in text
    assert "417 263 558" in text
    assert "Place 13 (poplar)" in text, "what is left out is named"
    assert not [n for n in numbers if f">{n}<" in text]


def test_numbers_can_not_be_mistaken_and_do_not_follow_from_the_seed() -> None:
    ids = [f"e{n}" for n in range(60)]

    numbers = ContestSecrets("a").numbers(ids)

    assert len(set(numbers.values())) == 60
    assert all(n % 11 == 100 % 11 for n in numbers.values())
    assert ContestSecrets("b").numbers(ids) != numbers


def test_a_misread_code_is_none() -> None:
    own = ContestSecrets("a")
    code = own.vote_code(7)

    assert code[-1] == check_sign(code[:-1])
    for place in range(7):
        for sign in CODE_SIGNS.replace(code[place], ""):
            assert check_sign(code[:place] + sign + code[place + 1 : -1]) != code[-1]
    assert len({own.vote_code(n) for n in range(5000)}) == 5000


def test_a_judge_sees_numbers_only_and_no_sheet_of_others(cook_off: Door) -> None:
    async def work(client: httpx.AsyncClient) -> str:
        await write_all(cook_off, client, but={"j1"})
        code = cook_off.services.contest.secrets(NAME).judge_code("j1")
        return (await client.get(f"/judge/{NAME}/{code}", headers=HTML)).text

    text = cook_off(work)

    for entry in event().entries:
        assert entry.name not in text
    assert "Taste 0" not in text
    assert not re.search(r"Taste \d+,", text), "no points: this judge wrote none"


def test_a_judge_is_not_asked_for_kin_or_what_they_avoid(cook_off: Door) -> None:
    async def work(_: httpx.AsyncClient) -> tuple[list[int], int]:
        service = cook_off.services.contest
        return service.asked(NAME, "j4"), service.numbers(NAME)["e05"]

    asked, number = cook_off(work)
    assert number not in asked
    assert len(asked) == len(event().entries) - 1


def test_a_sheet_sent_twice_counts_once_and_a_newer_one_instead(cook_off: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[int]:
        service = cook_off.services.contest
        code, number = service.secrets(NAME).judge_code("j1"), service.asked(NAME, "j1")[0]
        for id, points in (("a", 4), ("a", 9), ("b", 7)):
            form = {"number": number, "id": id, "taste": points, "done": 5, "sun": 5}
            await client.post(f"/judge/{NAME}/{code}", data=form)
            seen.append(service.sheets_of(NAME, "j1")[number].points["taste"])
        return seen

    seen: list[int] = []

    assert cook_off(work) == [4, 4, 7]


@pytest.mark.parametrize("points", ["11", "-1", "", "x"])
def test_a_sheet_out_of_range_or_unfinished_is_not_taken(cook_off: Door, points: str) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[int, int]:
        service = cook_off.services.contest
        code, number = service.secrets(NAME).judge_code("j1"), service.asked(NAME, "j1")[0]
        form = {"number": number, "id": "a", "taste": points, "done": 5, "sun": 5}
        answer = await client.post(f"/judge/{NAME}/{code}", data=form, headers=HTML)
        return answer.status_code, len(service.sheets_of(NAME, "j1"))

    assert cook_off(work) == (422, 0)


def test_before_closing_nobody_is_told_sums_and_the_hour_must_have_come(cook_off: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[int]:
        await write_all(cook_off, client)
        early = await client.post(f"{PAGE}/contest/count/close")
        results = await client.get(f"{PAGE}/results", headers=HTML)
        count = await client.get(f"{PAGE}/contest/count", headers=HTML)
        assert "Every sheet is there" in count.text
        return [early.status_code, results.status_code]

    assert cook_off(work) == [503, 404]


def test_the_count_is_closed_places_are_told_and_nothing_more_is_taken(cook_off: Door) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[str, int]:
        await write_all(cook_off, client)
        cook_off.now = END
        await client.post(f"{PAGE}/contest/count/close")
        code = cook_off.services.contest.secrets(NAME).judge_code("j1")
        number = cook_off.services.contest.asked(NAME, "j1")[0]
        form = {"number": number, "id": "late", "taste": 1, "done": 1, "sun": 1}
        late = await client.post(f"/judge/{NAME}/{code}", data=form)
        return (await client.get(f"{PAGE}/results", headers=HTML)).text, late.status_code

    text, late = cook_off(work)

    order = [e.name for e in event().entries]
    at = [text.index(f'class="food">{name} ') for name in order]
    assert at[11] < at[8] < at[5] < at[2], "more points come first"
    assert "the place is shared" in text, "e11 and e12 have as much by every rule"
    assert late == 503


@pytest.mark.slow
def test_a_count_that_is_opened_again_says_why_for_good(cook_off: Door) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[int, str]:
        await write_all(cook_off, client)
        cook_off.now = END
        await client.post(f"{PAGE}/contest/count/close")
        reason = {"reason": "A paper sheet had been forgotten"}
        await client.post(f"{PAGE}/contest/count/reopen", data=reason)
        between = await client.get(f"{PAGE}/results", headers=HTML)
        await client.post(f"{PAGE}/contest/count/close")
        return between.status_code, (await client.get(f"{PAGE}/results", headers=HTML)).text

    between, text = cook_off(work)

    assert between == 404
    assert "A paper sheet had been forgotten" in text


def test_a_code_votes_once(cook_off: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[str]:
        service = cook_off.services.contest
        code, number = service.codes(NAME)[3], service.numbers(NAME)["e03"]
        form = {"code": code.lower(), "pick": number}
        answers = [await client.post(f"/vote/{NAME}", data=form, headers=HTML) for _ in range(2)]
        wrong = await client.post(f"/vote/{NAME}", data={**form, "code": "22222222"}, headers=HTML)
        assert service.ballots(NAME) == 1
        return [a.text for a in (*answers, wrong)]

    first, second, wrong = cook_off(work)

    assert "Your vote is counted" in first
    assert "This ticket has voted already" in second
    assert "No ticket has that code" in wrong


def test_a_ballot_holds_nothing_by_which_it_could_be_traced(cook_off: Door) -> None:
    from events.storage import tables

    assert {c.name for c in tables.ballot.columns} == {"event_id", "id", "picks"}
    assert {c.name for c in tables.used_code.columns} == {"event_id", "digest"}


def test_votes_are_shown_from_so_many_ballots_on(cook_off: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[str]:
        service, pages = cook_off.services.contest, []
        await write_all(cook_off, client)
        for n, code in enumerate(service.codes(NAME)[:5]):
            if n == 4:
                cook_off.now = END
                await client.post(f"{PAGE}/contest/count/close")
                pages.append((await client.get(f"{PAGE}/results", headers=HTML)).text)
                await client.post(f"{PAGE}/contest/count/reopen", data={"reason": "more"})
                cook_off.now = TASTING
            form = {"code": code, "pick": service.numbers(NAME)["e03"]}
            await client.post(f"/vote/{NAME}", data=form)
        cook_off.now = END
        await client.post(f"{PAGE}/contest/count/close")
        return [*pages, (await client.get(f"{PAGE}/results", headers=HTML)).text]

    four, five = cook_off(work)

    assert "Visitors’ choice" not in four
    assert "5 tickets voted" in five


@pytest.mark.slow
def test_a_new_seed_draws_anew_and_stays_on_record(cook_off: Door) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[str, list[str]]:
        page = await client.get(f"{PAGE}/contest", headers=HTML)
        etag = re.findall(r'name="etag" value="([^"]+)"', page.text)[0]
        form = {"seed": " 111  222 333 ", "etag": etag}
        await client.post(f"{PAGE}/contest/draw", data=form)
        draws = [r.body for r in cook_off.services.contest.draws(NAME)]
        return (await client.get(f"{PAGE}/contest", headers=HTML)).text, draws

    text, draws = cook_off(work)

    assert "111 222 333" in text
    assert len(draws) == 1
    assert "111 222 333" in draws[0]


def test_a_teams_page_says_when_to_load_and_who_does_not_know_numbers(cook_off: Door) -> None:
    async def work(client: httpx.AsyncClient) -> str:
        return (await client.get(f"{PAGE}/contest/team/t03", headers=HTML)).text

    tasting = next(t for t in contest().tastings if t.entry_id == "e03")
    zone = event().zone

    text = cook_off(work)

    assert f"{tasting.loaded_at.astimezone(zone):%H:%M}" in text
    assert f"{tasting.at.astimezone(zone):%H:%M}" in text
    assert "Green mirror" in text


def test_the_paper_has_a_sheet_for_each_judge_and_every_ticket(cook_off: Door) -> None:
    from io import BytesIO

    from pypdf import PdfReader

    async def work(client: httpx.AsyncClient) -> tuple[bytes, list[str]]:
        codes = cook_off.services.contest.codes(NAME)
        return (await client.get(f"{PAGE}/contest.pdf")).content, codes

    data, codes = cook_off(work)

    text = "\n".join(page.extract_text() for page in PdfReader(BytesIO(data)).pages)
    for judge in event().judges:
        assert f"Sheet of {judge.name}" in text
    for code in codes:
        assert code in text
    assert "417 263 558" in text


def test_a_wrong_judges_code_opens_nothing(cook_off: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[int]:
        paths = (f"/judge/{NAME}/{'0' * 32}", f"/judge/{NAME}/j1")
        return [(await client.get(p, headers=HTML)).status_code for p in paths]

    assert cook_off(work) == [404, 404]


def test_what_every_number_contains_stands_where_it_is_tasted_and_voted_on(cook_off: Door) -> None:
    sentences = {e.id: allergens.sentence(event(), e.dish) for e in event().entries}
    assert any("ot known" in s for s in sentences.values())

    async def work(client: httpx.AsyncClient) -> None:
        service = cook_off.services.contest
        numbers = service.numbers(NAME)
        code = service.secrets(NAME).judge_code("j1")
        judge = (await client.get(f"/judge/{NAME}/{code}")).text
        vote = (await client.get(f"/vote/{NAME}")).text
        board = (await client.get(f"{PAGE}/board")).text
        paper = (await client.get(f"{PAGE}/contest.pdf")).content
        printed = " ".join(p.extract_text() for p in PdfReader(io.BytesIO(paper)).pages)
        for entry, number in numbers.items():
            said = sentences[entry]
            sheet = judge.split(f"Number {number}\n")[1].split("</summary>")[0]
            assert said in sheet
            assert f"<b>{number}</b> {said}" in vote
            row = board.split(f"Number {number}</h2>")[1].split("</li>")[0]
            assert said in row
            assert event().entry(entry).name not in row
        for said in set(sentences.values()):
            pages = "".join(printed.split())
            asked = sum(said == s for s in sentences.values())
            assert pages.count("".join(said.split())) >= asked * 2  # beside the plates, on sheets

    cook_off(work)


def test_a_phones_queue_is_told_which_sheet_is_safe_and_when_it_comes_too_late(
    cook_off: Door,
) -> None:
    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        service = cook_off.services.contest
        code, number = service.secrets(NAME).judge_code("j1"), service.asked(NAME, "j1")[0]
        form = {"number": number, "id": "0123456789abcdef01234567", "at": TASTING.isoformat()}
        form |= {c.id: 5 for c in event().criteria}
        json = {"accept": "application/json"}
        path = f"/judge/{NAME}/{code}"
        taken = await client.post(path, data=form, headers=json)
        twice = await client.post(path, data=form, headers=json)
        wrong = await client.post(path, data={**form, "id": "b", "taste": 99}, headers=json)
        assert list(service.sheets_of(NAME, "j1")) == [number]
        cook_off.now = END
        service.close(NAME)
        late = await client.post(path, data={**form, "id": "c"}, headers=json)
        return [taken, twice, wrong, late]

    taken, twice, wrong, late = cook_off(work)

    assert taken.json()["confirms"] == twice.json()["confirms"] == "0123456789abcdef01234567"
    assert (wrong.status_code, late.status_code) == (422, 422)
    assert "points" in wrong.json()["faults"][0]["limit"]
    assert "The count is closed" in late.json()["faults"][0]["limit"]


def test_a_judges_page_has_a_sheet_for_every_number_and_asks_for_no_news(cook_off: Door) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[str, list[int]]:
        service = cook_off.services.contest
        code = service.secrets(NAME).judge_code("j1")
        return (await client.get(f"/judge/{NAME}/{code}", headers=HTML)).text, service.asked(
            NAME, "j1"
        )

    text, asked = cook_off(work)

    for number in asked:
        assert f'data-says="Sheet of {number}"' in text
    assert text.count("<details data-number") == text.count("data-queued") == len(asked)
    assert len(re.findall(r"<details data-number[^>]* open>", text)) == 1
    assert "data-state=" not in text, "a code opens no state: the line would be called ended"
    assert "data-live=" not in text


@pytest.mark.slow
def test_certificates_are_there_once_the_count_is_closed_a_page_for_each_entry(
    cook_off: Door,
) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[httpx.Response, httpx.Response, str]:
        path = f"{PAGE}/results/certificates.pdf"
        early = await client.get(path, headers=HTML)
        await write_all(cook_off, client)
        cook_off.now = END
        cook_off.services.contest.close(NAME)
        results = (await client.get(f"{PAGE}/results", headers=HTML)).text
        return early, await client.get(path), results

    early, made, results = cook_off(work)

    assert early.status_code == 404
    assert "/results/certificates.pdf" in results
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(made.content)).pages]
    assert len(pages) == len(event().entries)
    assert "1st place" in pages[0]
    for entry in event().entries:
        (own,) = [page for page in pages if entry.name in page]
        assert event().team(entry.team).name in own
        assert "place" in own
        assert "For the judges" in own
