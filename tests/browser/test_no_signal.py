"""A hand on a round where the signal goes: pages kept with their age, looks kept and sent once, nothing left behind."""

from datetime import timedelta

from berths.models import Look, MadeFast, Recheck, Round, Stay
from berths.services.rounds import begin
from tests.browser.harbour import NOON, PASSWORD, make_harbour


def ready(hand):
    hand.page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    hand.page.wait_for_function("navigator.serviceWorker.controller !== null")


def waits(hand, number):
    """How many deeds wait on this phone."""
    hand.page.wait_for_function(
        """async (number) => await new Promise((done) => {
          const asked = indexedDB.open('later', 1);
          asked.onupgradeneeded = () => asked.result.createObjectStore('deeds', { keyPath: 'id' });
          asked.onsuccess = () => {
            const all = asked.result.transaction('deeds').objectStore('deeds').getAll();
            all.onsuccess = () => { asked.result.close(); done(all.result.length === number); };
          };
        })""",
        arg=number,
    )


def test_looks_without_a_signal_are_kept_and_go_once_when_it_is_back(cast, visit):
    make_harbour(cast)
    stays = list(
        Stay.objects.filter(state="fast").select_related("berth").order_by("berth__walking_order")[:2]
    )
    first, second = (stay.berth for stay in stays)
    walk = begin(name="Evening round", berths=[first, second], by=cast.hand)
    Recheck.objects.create(stay=stays[0], why="first_low", due=NOON - timedelta(minutes=5))
    hand = visit()
    hand.sign_in(cast.hand, PASSWORD)
    ready(hand)
    hand.page.goto(f"/rounds/{walk.pk}/")
    hand.check()
    assert hand.small_targets() == []
    hand.page.wait_for_function(
        "async (path) => !!(await (await caches.open('pages-2')).match(path))",
        arg=f"/rounds/{walk.pk}/{second.code}/",
    )

    hand.context.set_offline(True)
    hand.page.goto(f"/rounds/{walk.pk}/{first.code}/")
    assert "No signal. This page is as it was at" in hand.page.locator("main").inner_text()
    hand.page.get_by_label("Not as planned").check()
    hand.page.get_by_label("What is otherwise").fill("spring slack, taken in")
    hand.page.get_by_role("button", name="Keep it").click()
    assert "kept on this phone" in hand.page.locator("main").inner_text()
    hand.page.get_by_role("link", name="On to the next berth").click()
    assert hand.page.locator("h1").inner_text().startswith(second.code)
    hand.page.get_by_label("As planned", exact=True).check()
    hand.page.get_by_role("button", name="Keep it").click()
    waits(hand, 2)
    assert not Look.objects.exists()

    hand.context.set_offline(False)
    hand.page.goto("/")
    hand.page.get_by_text("Sent now, with the time at which it was done: 2.").wait_for()
    waits(hand, 0)
    assert list(Look.objects.order_by("berth__walking_order").values_list("words", flat=True)) == [
        "spring slack, taken in",
        "",
    ]
    assert Recheck.objects.get(stay=stays[0]).done_at is not None
    hand.page.goto("/")
    hand.page.wait_for_timeout(500)
    assert Look.objects.count() == 2
    hand.complaints.clear()  # the browser tells of the connection it lost


def test_what_the_site_does_not_take_is_shown_with_all_that_was_entered(cast, visit):
    make_harbour(cast)
    stay = Stay.objects.filter(state="fast").select_related("berth").first()
    walk = begin(name="Evening round", berths=[stay.berth], by=cast.hand)
    hand = visit()
    hand.sign_in(cast.hand, PASSWORD)
    ready(hand)
    hand.page.goto(f"/rounds/{walk.pk}/{stay.berth.code}/")
    hand.context.set_offline(True)
    hand.page.get_by_label("Not as planned").check()
    hand.page.get_by_label("What is otherwise").fill("a fender is gone")
    hand.page.get_by_role("button", name="Keep it").click()
    waits(hand, 1)
    walk.closed = NOON
    walk.save()
    hand.context.set_offline(False)
    hand.page.goto("/")
    hand.page.get_by_text("Not taken by the site").wait_for()
    assert "words: a fender is gone" in hand.page.locator("#waiting").inner_text()
    hand.check()
    hand.page.get_by_role("button", name="Forget this entry").click()
    waits(hand, 0)
    hand.complaints.clear()


def test_signing_out_takes_the_kept_pages_off_the_phone(cast, visit):
    make_harbour(cast)
    hand = visit()
    hand.sign_in(cast.hand, PASSWORD)
    ready(hand)
    hand.page.goto("/looks/")
    hand.page.wait_for_function("async () => !!(await (await caches.open('pages-2')).match('/looks/'))")
    hand.page.get_by_role("button", name="Sign out").click()
    hand.page.wait_for_url("**/sign-in/")
    hand.page.wait_for_function(
        "async () => !(await caches.has('pages-2')) || !(await (await caches.open('pages-2')).match('/looks/'))"
    )
    assert not MadeFast.objects.exists() and not Round.objects.exists()
