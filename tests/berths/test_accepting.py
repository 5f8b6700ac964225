"""One flag is accepted by one person with a reason; it stays visible, and asks again after its day."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from berths.models import FlagAccepted, LineSet
from berths.selectors.standing import standings
from berths.services.accepting import accept
from marina.base import house
from tests.cast import NOON, days, fix_clock, make_stay, make_tie_up, make_vessel

pytestmark = pytest.mark.django_db

FLAGS = [
    {"code": "hangs_her", "severity": "stop", "line": "L1", "message": "She hangs.", "do": "Put on 9 m."},
    {"code": "no_spring", "severity": "fix", "message": "Nothing stops her going ahead."},
    {"code": "chafe", "severity": "fix", "line": "L2", "message": "Line L2 bends over an edge."},
    {"code": "chafe", "severity": "fix", "line": "L3", "message": "Line L3 bends over an edge."},
    {"code": "line_weak", "severity": "fix", "state": "not_known", "line": "L4", "message": "Not known."},
]


@pytest.fixture
def stay(cast):
    fix_clock(NOON)
    stay = make_stay(vessel=make_vessel(owner=cast.holder.owner), state="fast", depart=None)
    make_tie_up(stay=stay, flags=FLAGS, stops=1, answer="does_not_hold")
    return stay


def url(stay, code, place=""):
    return f"{reverse('berths:accept', args=[stay.pk])}?code={code}&place={place}"


def marks(stay):
    return {(m.code, m.place): m for m in standings([stay])[stay.pk].marks}


def test_the_page_says_what_is_accepted_and_one_answer_is_for_one_flag(client, stay, cast):
    client.force_login(cast.harbourmaster)
    assert "Line L2 bends over an edge." in client.get(url(stay, "chafe", "L2")).content.decode()
    assert client.post(url(stay, "chafe", "L2"), {"reason": "Sleeve is on its way."}).status_code == 302
    word = FlagAccepted.objects.get()
    assert (word.code, word.place, word.by, word.until) == ("chafe", "L2", cast.harbourmaster, None)
    assert marks(stay)["chafe", "L2"].accepted and not marks(stay)["chafe", "L3"].accepted
    html = client.get(reverse("berths:stay", args=[stay.pk])).content.decode()
    assert "Line L2 bends over an edge." in html and "because: Sleeve is on its way." in html


def test_without_a_reason_nothing_is_kept(client, stay, cast):
    client.force_login(cast.harbourmaster)
    answer = client.post(url(stay, "no_spring"), {"reason": " ", "last_day": "2027-10-20"})
    assert answer.status_code == 422
    assert "Write why" in answer.content.decode() and "2027-10-20" in answer.content.decode()
    assert not FlagAccepted.objects.exists()


def test_after_its_day_it_asks_again_and_may_be_accepted_anew(client, stay, cast):
    client.force_login(cast.harbourmaster)
    given = {"reason": "Looked at daily.", "last_day": NOON.date().isoformat()}
    assert client.post(url(stay, "hangs_her", "L1"), given).status_code == 302
    assert client.get(url(stay, "hangs_her", "L1")).status_code == 404
    assert not marks(stay)["hangs_her", "L1"].urgent
    fix_clock(NOON + timedelta(hours=12))
    assert marks(stay)["hangs_her", "L1"].urgent
    again = {"reason": "Still looked at.", "last_day": (NOON + days(1)).date().isoformat()}
    assert client.post(url(stay, "hangs_her", "L1"), again).status_code == 302
    assert FlagAccepted.objects.count() == 2 and not marks(stay)["hangs_her", "L1"].urgent


def test_a_day_that_is_over_is_refused(client, stay, cast):
    client.force_login(cast.harbourmaster)
    answer = client.post(url(stay, "no_spring"), {"reason": "x", "last_day": "2027-10-13"})
    assert answer.status_code == 422 and "That day is over" in answer.content.decode()


def test_a_hand_accepts_a_fix_as_the_house_rule_says_and_never_a_stop(client, stay, cast):
    client.force_login(cast.hand)
    assert client.post(url(stay, "hangs_her", "L1"), {"reason": "x"}).status_code == 403
    assert client.post(url(stay, "line_weak", "L4"), {"reason": "x"}).status_code == 403
    assert client.post(url(stay, "no_spring"), {"reason": "Spring comes at five."}).status_code == 302
    house.set_rule(key="H15", value="no", by=cast.harbourmaster, reason="test")
    assert client.post(url(stay, "chafe", "L2"), {"reason": "x"}).status_code == 403
    assert FlagAccepted.objects.count() == 1
    client.force_login(cast.holder)
    assert client.post(url(stay, "chafe", "L2"), {"reason": "x"}).status_code == 403


def test_no_flag_and_an_old_result_cannot_be_accepted(client, stay, cast):
    client.force_login(cast.harbourmaster)
    for code in ("too_long", "stale", ""):
        assert client.get(url(stay, code)).status_code == 404
    mark = marks(stay)["no_spring", ""]
    tie_up = stay.tie_ups.get()
    tie_up.stale, tie_up.stale_why, tie_up.stale_since = True, "berth changed", NOON
    tie_up.save()
    with pytest.raises(ValidationError, match="has changed since"):
        accept(mark=mark, tie_up=tie_up.pk, by=cast.harbourmaster, reason="x")
    assert client.get(url(stay, "stale")).status_code == 404


def test_two_who_press_at_once_leave_one_word(stay, cast):
    mark, tie_up = marks(stay)["no_spring", ""], stay.tie_ups.get()
    accept(mark=mark, tie_up=tie_up.pk, by=cast.harbourmaster, reason="First.")
    with pytest.raises(ValidationError, match="already"):
        accept(mark=mark, tie_up=tie_up.pk, by=cast.harbourmaster, reason="Second.")


def test_a_flag_of_a_set_is_accepted_on_the_sets_page(client, stay, cast):
    line_set = LineSet.objects.create(berth=stay.berth, vessel=stay.vessel, starts=NOON.date())
    make_tie_up(line_set=line_set, flags=FLAGS[1:2], answer="not_known")
    client.force_login(cast.harbourmaster)
    page = reverse("berths:set", args=[line_set.pk])
    address = f"{reverse('berths:set-accept', args=[line_set.pk])}?code=no_spring&place="
    assert address.replace("&", "&amp;") in client.get(page).content.decode()
    assert client.post(address, {"reason": "She is small."}).status_code == 302
    assert "because: She is small." in client.get(page).content.decode()
