"""The queue: re-plans first, then plans, then advice; whoever was served least lately is next."""

from __future__ import annotations

from dataclasses import dataclass
from threading import Thread

from service.application.lanes import ALL_LANES, Lane, Lanes, Order, gives_way

PLANS = frozenset((Lane.REPLAN, Lane.PLAN))


@dataclass(frozen=True)
class Item:
    order: Order
    name: str = ""


def served(lanes: Lanes[Item], count: int, of: frozenset[Lane] = ALL_LANES) -> list[Item]:
    items = [lanes.take(of) for _ in range(count)]
    return [item for item in items if item is not None]


def test_a_day_in_progress_goes_first_and_advice_last() -> None:
    lanes = Lanes[Item]()
    for lane in (Lane.ADVICE, Lane.PLAN, Lane.REPLAN, Lane.PLAN):
        lanes.put(Item(Order(lane, "e", "a")))

    assert [i.order.lane for i in served(lanes, 4)] == [
        Lane.REPLAN,
        Lane.PLAN,
        Lane.PLAN,
        Lane.ADVICE,
    ]


def test_one_clients_forty_events_do_not_keep_another_waiting() -> None:
    """On 0.2 another's plan was not there after 101 s: the queue was first come, first served."""
    lanes = Lanes[Item]()
    for n in range(40):
        lanes.put(Item(Order(Lane.PLAN, f"many-{n}", "one client")))
    first = served(lanes, 1)
    lanes.put(Item(Order(Lane.PLAN, "lunch", "another")))

    assert first[0].order.event_id == "many-0"
    assert served(lanes, 1)[0].order.event_id == "lunch"


def test_events_of_one_client_take_turns() -> None:
    lanes = Lanes[Item]()
    for event in ("a", "a", "a", "b", "c"):
        lanes.put(Item(Order(Lane.ADVICE, event, "client")))

    assert [i.order.event_id for i in served(lanes, 5)] == ["a", "b", "c", "a", "a"]


def test_what_serves_plans_alone_leaves_advice() -> None:
    lanes = Lanes[Item]()
    lanes.put(Item(Order(Lane.ADVICE), "advice"))
    lanes.put(Item(Order(Lane.PLAN), "plan"))

    assert served(lanes, 1, PLANS)[0].name == "plan"
    assert [i.name for i in lanes.waiting()] == ["advice"]


def test_who_waits_is_woken_by_work_and_by_the_end() -> None:
    lanes, got = Lanes[Item](), []
    thread = Thread(target=lambda: got.extend([lanes.take(), lanes.take()]))
    thread.start()
    item = Item(Order())
    lanes.put(item)
    while lanes.waiting():
        pass

    lanes.close()
    thread.join()

    assert got == [item, None]


def test_what_waits_can_be_taken_out_once() -> None:
    lanes, item = Lanes[Item](), Item(Order())
    lanes.put(item)

    assert lanes.remove(item)
    assert not lanes.remove(item)
    assert lanes.close() == []


def test_as_much_advice_gives_way_as_plans_wait_the_newest_first() -> None:
    plan, *advice = (Item(Order(lane, "e", "a"), name) for lane, name in RUNNING)
    plans = [Order(Lane.PLAN, "x", "b"), Order(Lane.REPLAN, "y", "c")]

    def puts_back(waiting: list[Order]) -> list[str]:
        running = [plan, *advice]
        return [item.name for item in running if gives_way(item, running, waiting)]

    assert puts_back([]) == []
    assert puts_back([Order(Lane.ADVICE, "x", "b")]) == []
    assert puts_back(plans[:1]) == ["newest"]
    assert puts_back(plans) == ["middle", "newest"]
    assert puts_back(plans * 4) == ["oldest", "middle", "newest"]


RUNNING = [
    (Lane.PLAN, "plan"),
    (Lane.ADVICE, "oldest"),
    (Lane.ADVICE, "middle"),
    (Lane.ADVICE, "newest"),
]
