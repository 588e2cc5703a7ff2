"""A certificate for each entry of a contest, once the count is closed."""

from __future__ import annotations

from typing import Literal

from events.model import Event
from service.application.contest import Results
from service.paper.pdf import typeset
from service.paper.station_card import Facts
from service.text import contest as words
from service.text import formatting


def certificates_pdf(
    event: Event, results: Results, *, paper: Literal["a4", "us-letter"] = "a4"
) -> bytes:
    """Return a page for each entry that was judged: its place, and the visitors' choice."""
    return typeset("certificates.typ", certificate_facts(event, results), paper)


def certificate_facts(event: Event, results: Results) -> Facts:
    """Return the certificates' words, best place first; who has too few sheets took part."""
    shared = [p.place for p in results.standing.places]
    told = [
        (p.entry_id, words.place_words(p.place, shared=shared.count(p.place) > 1))
        for p in results.standing.places
    ]
    told += [(entry_id, words.TOOK_PART) for entry_id in results.standing.too_few]
    chosen = _visitors_choice(results)
    return {
        "title": event.title,
        "day": formatting.long_date(event.date),
        "site": event.site.name,
        "signed": words.SIGNED,
        "sheets": [
            {
                "place": said,
                "team": event.team(event.entry(entry_id).team).name,
                "entry": event.entry(entry_id).name,
                "also": words.VISITORS_CHOICE if entry_id in chosen else "",
            }
            for entry_id, said in told
        ],
    }


def _visitors_choice(results: Results) -> set[str]:
    """Return the entries that most tickets picked; none where too few voted."""
    picks = results.votes.picks if results.votes else {}
    most = max(picks.values(), default=0)
    return {entry_id for entry_id, count in picks.items() if count == most > 0}
