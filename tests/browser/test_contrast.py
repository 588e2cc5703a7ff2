"""Words can be read in the sun: our own check, which also judges what axe leaves open (1 : 1)."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page

from service.text.run_sheet import items_of_helper
from solver.plan import EVERYBODY
from tests.app import EVENT, Door, Served, put_in
from tests.browser.conftest import Open
from tests.conftest import sample_event, sample_plan

FIELD = ("/jobs/asta", "/jobs/asta/trouble", "/stations/mirror-1", "/sheet", "/now", "/board", "")
LEAST, LEAST_LARGE = 7.0, 4.5  # WCAG 2.2, 1.4.6 (AAA): for sun on a screen the stricter one
# Each piece of text with the ratio of its colour to the nearest painted ground beneath it.
RATIOS = """() => {
  const parse = (c) => (c.match(/[\\d.]+/g) ?? []).map(Number);
  const light = ([r, g, b]) => [r, g, b].map((v) => v / 255)
    .map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4))
    .reduce((sum, v, k) => sum + v * [0.2126, 0.7152, 0.0722][k], 0);
  const ground = (e) => {
    for (let at = e; at; at = at.parentElement) {
      const c = parse(getComputedStyle(at).backgroundColor);
      if (c.length === 3 || c[3] > 0.99) return c;
    }
    return [255, 255, 255];
  };
  const words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const out = [];
  while (words.nextNode()) {
    const text = words.currentNode.data.trim(), e = words.currentNode.parentElement;
    if (!text || e.closest("svg, script, style, option") || !e.getClientRects().length) continue;
    const box = e.getBoundingClientRect(), style = getComputedStyle(e);
    if (box.width <= 1 || style.visibility === "hidden") continue;
    const [a, b] = [light(parse(style.color)), light(ground(e))].sort((x, y) => y - x);
    const large = parseFloat(style.fontSize) >= 24
      || (parseFloat(style.fontSize) >= 18.66 && style.fontWeight >= 700);
    out.push({ text: text.slice(0, 40), ratio: (a + 0.05) / (b + 0.05), large });
  }
  return out;
}"""


def too_faint(tab: Page) -> list[str]:
    found = tab.evaluate(RATIOS)
    assert len(found) > 3
    return [
        f"{f['text']}: {f['ratio']:.1f}"
        for f in found
        if f["ratio"] < (LEAST_LARGE if f["large"] else LEAST)
    ]


@pytest.mark.parametrize("page", FIELD)
def test_every_word_of_a_field_page_stands_out(open_tab: Open, server: str, page: str) -> None:
    tab = open_tab()

    tab.goto(f"{server}/e/{EVENT}{page}")

    assert too_faint(tab) == []


@pytest.mark.parametrize("minutes", [-3, 0, 12])  # before it, due, late
def test_a_job_stands_out_before_it_when_it_is_due_and_when_it_is_late(
    open_tab: Open, tmp_path: Path, minutes: int
) -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    work = [i for i in items_of_helper(event, plan, "asta") if i.kind not in EVERYBODY]
    door = Door(tmp_path)
    door.now = work[0].at + timedelta(minutes=minutes)
    door(put_in)
    served = Served(door)
    tab = open_tab()

    tab.goto(f"{served.base}/e/{EVENT}/jobs/asta")
    faint = too_faint(tab)
    served.stop()

    assert faint == []


def test_the_check_finds_white_on_white(open_tab: Open, server: str) -> None:
    tab = open_tab()
    tab.goto(f"{server}/e/{EVENT}/jobs/asta")

    tab.evaluate("() => { document.querySelector('h1').style.color = '#ffffff'; }")

    assert too_faint(tab) != []
