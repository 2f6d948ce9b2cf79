"""Figures in tables stay on one line on a telephone of 360 pixels, and the page does not scroll sideways."""

import datetime as dt
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.browser.conftest import opened, sign_in
from tests.factories import CatchFactory, PoolFactory, keeper

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

BROKEN = """() => [...document.querySelectorAll("td.num")].filter(cell => {
  const lines = new Map();
  const walker = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    if (!walker.currentNode.textContent.trim()) continue;
    const range = document.createRange();
    range.selectNodeContents(walker.currentNode);
    const tops = new Set([...range.getClientRects()].filter(r => r.width > 0).map(r => Math.round(r.top)));
    if (tops.size > 1) return true;
  }
  return false;
}).map(cell => cell.innerText)"""


@pytest.fixture
def phone(chromium, live_server):
    yield from opened(chromium, live_server.url, "phone")


def test_the_figures_of_a_return_are_not_broken(phone):
    pool = PoolFactory()
    fishery = pool.beat.fishery
    for day in range(4, 24):
        caught = CatchFactory(
            pool=pool, beat=pool.beat, caught_on=dt.date(2026, 5, day), kind="msw", fate="released",
            weight_kg=Decimal("30.36"),
        )  # fmt: skip
    assert caught.pk
    sign_in(phone, keeper(fishery).email, path=reverse("house-return", args=[fishery.slug, 2026]))
    assert "607.20 kg" in phone.inner_text("table")
    assert phone.evaluate(BROKEN) == []
    assert phone.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
