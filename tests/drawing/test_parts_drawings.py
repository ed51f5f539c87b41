"""The demand drawing and the policy curve: what lies where, and what the words say."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from tests.makers.parts import TODAY, parts_line, some_parts
from wearlog.drawing.palette import palette
from wearlog.drawing.parts_demand import MOST_BARS, bars_shown, paint_demand, shown_chances
from wearlog.drawing.parts_words import (
    demand_text,
    joining_short_text,
    late_text,
    on_order_text,
    order_text,
    summary_text,
    why_text,
)
from wearlog.drawing.policy_chart import paint_policy, policy_scale
from wearlog.drawing.policy_words import best_text, flat_range, limit_text
from wearlog.fleet.parts import WearClass
from wearlog.workshop.policy_snapshot import PolicyOf

LOOK = palette("light")


def policy(best: float = 0.9) -> PolicyOf:
    """A curve with its least at a share; invented."""
    shares = tuple(0.4 + 0.05 * n for n in range(29))
    cost = tuple(10.0 + 20.0 * (share - best) ** 2 for share in shares)
    third = tuple(one / 3.0 for one in cost)
    return PolicyOf(
        wear_class=WearClass.OPEN_MOTORCYCLE_CHAIN,
        use_unit="km",
        chains=4,
        read_parts=20,
        chain_price=40.0,
        sprocket_price=60.0,
        fitting_cost=20.0,
        check_every=0.7,
        shares=shares,
        cost=cost,
        low=tuple(one - 1.0 for one in cost),
        high=tuple(one + 1.0 for one in cost),
        chain_cost=third,
        labour_cost=third,
        sprocket_cost=third,
        failure_cost=tuple(0.0 for _one in cost),
        life=tuple(10.0 * share for share in shares),
        past_chance=tuple(float(share >= 1.0) for share in shares),
        best=best,
        best_low=best - 0.1,
        best_high=best + 0.2,
    )


def painted(paint, width: int = 480, height: int = 320) -> QImage:
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(QColor(LOOK.ground))
    painter = QPainter(image)
    paint(painter, QRectF(0, 0, width, height))
    painter.end()
    return image


def test_bars_that_are_covered_are_filled_and_the_others_hollow(qapp):
    line = parts_line(1, "Chain", 0.5, 0.5, 0.5, on_hand=1)
    image = painted(lambda p, r: paint_demand(p, r, line, LOOK), 240, 100)
    step = 240 / bars_shown(line)
    fills = [image.pixelColor(int((n + 0.5) * step), 94).name() for n in range(4)]
    assert fills[0] == fills[1] == LOOK.bands[1].lower()
    assert fills[2] == fills[3] == LOOK.ground.lower()


def test_a_long_tail_is_added_to_the_last_bar():
    chances = [1.0 / 40] * 40
    shown = shown_chances(chances, MOST_BARS)
    assert len(shown) == MOST_BARS
    assert sum(shown) == pytest.approx(1.0)


def test_the_policy_curve_lies_on_its_scale_and_the_limit_is_a_firm_line(qapp):
    one = policy()
    image = painted(lambda p, r: paint_policy(p, r, one, LOOK))
    at = policy_scale(QRectF(0, 0, 480, 320), one)
    limit = at.point(1.0, 0.0)
    column = [image.pixelColor(int(limit.x()), y).lightness() for y in range(60, 120)]
    assert max(column) < 110
    low, high = at.point(0.9, one.cost_at(0.9)), at.point(1.7, one.cost_at(1.7))
    assert low.y() > high.y()
    assert low.x() < limit.x() < high.x()


def test_the_words_say_where_the_cost_is_least_and_that_the_limit_stands():
    assert "Cheapest in the long run at 90\u2009% of the allowance" in best_text(policy())
    low, high = flat_range(policy())
    assert low < 0.9 < high
    assert "limit stands all the same" in limit_text(policy(1.3))
    assert "limit stands all the same" not in limit_text(policy(0.9))


def test_a_line_says_how_many_by_when_and_how_late():
    snapshot = some_parts()
    chain = snapshot.lines[0]
    assert demand_text(chain) == "1 to 3"
    assert order_text(chain, TODAY) == f"{chain.order_now} now"
    assert late_text(chain, TODAY) == "10 days late"
    assert "1 would be" not in why_text(snapshot, chain)
    assert f"{chain.wanted} would be with 95 %" in why_text(snapshot, chain)
    coming = replace(chain, on_order=2, next_arrival=TODAY)
    assert on_order_text(coming, TODAY) == "2, 23 Nov"
    assert demand_text(snapshot.lines[2]) == "judged by eye"
    assert joining_short_text(snapshot.joining_links) == "3 × 428 rivet"


def test_enough_on_the_shelf_says_so():
    snapshot = replace(some_parts(), lines=(parts_line(1, "Chain", 0.01, on_hand=3),))
    assert summary_text(snapshot) == "Enough for the next 8 weeks with 95 %."
