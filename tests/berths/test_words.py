"""What an owner tells stands on the day until it is answered, and nobody else's boat can be learnt of by it."""

from io import BytesIO

import pytest
from django.core.files.base import ContentFile
from django.urls import reverse
from PIL import Image

from berths.models import LineSet, LineUse, OwnersWord, Picture, SetPosition, Sighting
from berths.selectors.board import day
from marina.base import house
from tests.cast import NOON, days, fix_clock, make_berth, make_line, make_stay, make_tie_up, make_vessel

pytestmark = pytest.mark.django_db
CODE = "8a1c6f0e-0d58-4f5e-9a10-6a3f3f7d6c11"


@pytest.fixture
def boat(cast):
    fix_clock(NOON)
    boat = make_vessel(name="Slow Biscuit", owner=cast.holder.owner)
    berth = make_berth(kind="slip", code="B3")
    make_stay(vessel=boat, berth=berth, state="fast", depart=None, arrive=NOON - days(9))
    line_set = LineSet.objects.create(
        berth=berth, vessel=boat, owner=cast.holder.owner, starts=(NOON - days(9)).date()
    )
    for number in (1, 2, 3):
        place = SetPosition.objects.create(
            line_set=line_set, number=number, role="stern line", length=4,
            boat_end=boat.fittings.get(code="stern_port"), shore_end=berth.fastenings.get(code="D1"),
        )  # fmt: skip
        LineUse.objects.create(line=make_line(state="out"), position=place, at=NOON - days(8))
    return boat


def url(boat, kind):
    return reverse("berths:word-new", args=[boat.pk, kind])


def photograph():
    kept = BytesIO()
    Image.new("RGB", (40, 30), "navy").save(kept, "JPEG")
    return ContentFile(kept.getvalue(), name="a.jpg")


def test_a_worry_with_a_picture_stands_on_the_day_until_it_is_answered(client, boat, cast):
    client.force_login(cast.holder)
    place = SetPosition.objects.get(number=3)
    told = {
        "client_id": CODE,
        "text": "The sleeve has slipped.",
        "position": place.pk,
        "picture": photograph(),
    }
    assert client.post(url(boat, "worry"), told).status_code == 302
    assert client.post(url(boat, "worry"), told | {"picture": photograph()}).status_code == 302
    word = OwnersWord.objects.get()
    assert (word.berth.code, word.position, word.by) == ("B3", place, cast.holder)
    picture = reverse("berths:picture", args=[Picture.objects.get().pk])
    assert client.get(picture).status_code == 200 and picture in client.get("/").content.decode()
    assert "Not answered yet." in client.get("/").content.decode()

    client.force_login(cast.harbourmaster)
    assert "The sleeve has slipped." in client.get("/").content.decode()
    page = reverse("berths:word", args=[word.pk])
    assert picture in client.get(page).content.decode()
    assert client.post(page, {"answer": " "}).status_code == 422
    assert client.post(page, {"answer": "Tied on again."}).status_code == 302
    assert client.post(page, {"answer": "Twice."}).status_code == 422
    assert day(cast.harbourmaster)["words"] == []

    client.force_login(cast.stranger)
    assert client.get(picture).status_code == 404
    client.force_login(cast.holder)
    assert "Tied on again." in client.get("/").content.decode()


def test_a_worry_without_words_is_not_sent(client, boat, cast):
    client.force_login(cast.holder)
    answer = client.post(url(boat, "worry"), {"client_id": CODE, "text": "", "position": ""})
    assert answer.status_code == 422 and "Write in a few words" in answer.content.decode()
    spoilt = ContentFile(b"x", name="a.jpg")
    answer = client.post(url(boat, "worry"), {"client_id": CODE, "text": "It rubs.", "picture": spoilt})
    assert answer.status_code == 422 and "It rubs." in answer.content.decode()
    assert not OwnersWord.objects.exists()


def test_i_will_come_is_recorded_with_or_without_when(client, boat, cast):
    client.force_login(cast.holder)
    assert client.post(url(boat, "coming"), {"client_id": CODE, "text": ""}).status_code == 302
    (word,) = day(cast.hand)["words"]
    assert (word.kind, word.vessel.name) == ("coming", "Slow Biscuit")


@pytest.mark.parametrize("rule", ["freely", "after_check"])
def test_a_changed_line_puts_the_set_on_the_day_and_its_result_out_of_date(client, boat, cast, rule):
    house.set_rule(key="H19", value=rule, by=cast.harbourmaster, reason="test")
    line_set = LineSet.objects.get()
    of_set = make_tie_up(line_set=line_set)
    of_stay = make_tie_up(stay=boat.stays.get())
    other = make_tie_up()
    client.force_login(cast.holder)
    place = line_set.positions.get(number=3)
    told = {
        "client_id": CODE,
        "text": "Old one was worn.",
        "position": place.pk,
        "diameter_mm": "12",
        "length": "3.5",
    }
    assert client.post(url(boat, "changed"), told).status_code == 302
    seen = Sighting.objects.get()
    assert (seen.position, seen.tag, seen.diameter_found_mm, seen.berth.code) == (place, "", 12, "B3")
    for kept, stale in ((of_set, True), (of_stay, True), (other, False)):
        kept.refresh_from_db()
        assert kept.stale is stale
    client.force_login(cast.hand)
    page = reverse("berths:word", args=[OwnersWord.objects.get().pk])
    says = "counts when somebody has looked" in client.get(page).content.decode()
    assert says is (rule == "after_check")
    html = client.get(reverse("berths:set", args=[line_set.pk])).content.decode()
    assert "was changed by her owner" in html


def test_where_the_rule_says_never_nothing_is_changed(client, boat, cast):
    house.set_rule(key="H19", value="never", by=cast.harbourmaster, reason="test")
    client.force_login(cast.holder)
    assert url(boat, "changed") not in client.get("/").content.decode()
    assert "owners do not change lines" in client.get(url(boat, "changed")).content.decode()
    told = {"client_id": CODE, "text": "x", "position": SetPosition.objects.first().pk}
    assert client.post(url(boat, "changed"), told).status_code == 422
    assert not Sighting.objects.exists() and not OwnersWord.objects.exists()


def test_which_line_must_be_said_and_only_an_own_one(client, boat, cast):
    other = LineSet.objects.create(berth=make_berth(), vessel=make_vessel(), starts=NOON.date())
    strange = SetPosition.objects.create(line_set=other, number=1)
    client.force_login(cast.holder)
    for place in ("", strange.pk):
        told = {"client_id": CODE, "text": "x", "position": place}
        assert client.post(url(boat, "changed"), told).status_code == 422
    assert not Sighting.objects.exists()


def test_not_yours_is_not_there_and_other_roles_are_refused(client, boat, cast):
    for user, status in ((cast.stranger, 404), (cast.hand, 403), (cast.harbourmaster, 403)):
        client.force_login(user)
        assert client.post(url(boat, "worry"), {"client_id": CODE, "text": "x"}).status_code == status
    client.force_login(cast.holder)
    assert client.get(url(boat, "nonsense")).status_code == 404
    word = OwnersWord.objects.create(kind="worry", vessel=boat, text="x", at=NOON)
    assert client.get(reverse("berths:word", args=[word.pk])).status_code == 403


def test_a_boat_that_is_away_is_told_of_by_her_set(client, boat, cast):
    stay = boat.stays.get()
    stay.state, stay.depart = "left", NOON - days(1)
    stay.save()
    client.force_login(cast.holder)
    told = {"client_id": CODE, "text": "A line floats.", "picture": photograph()}
    assert client.post(url(boat, "worry"), told).status_code == 302
    assert OwnersWord.objects.get().berth.code == "B3" and Picture.objects.get().stay is None
