"""One fastening: what is found of it is recorded by any hand, and what rests on it is told before and after."""

import re
from html import unescape

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from berths.models import Berth, BerthFastening, Fastening, Pier, TieUp
from berths.services import survey as services
from tests.cast import NOON, fix_clock, make_berth, make_pier, make_stay, make_tie_up, make_vessel

pytestmark = pytest.mark.django_db


@pytest.fixture
def pile(cast):
    """A pile that two slips share, each with a boat whose tie-up is up to date."""
    fix_clock(NOON)
    one, two = make_berth(kind="slip", code="B1"), make_berth(kind="slip", code="B2")
    pile = one.fastenings.get(code="P3").fastening
    BerthFastening.objects.create(berth=two, fastening=pile, code="P9", words="shared pile")
    for berth, name in ((one, "Tin Whistle"), (two, "Quiet Ladle")):
        make_tie_up(stay=make_stay(berth=berth, vessel=make_vessel(name=name)))
    TieUp.objects.update(stale=False)
    return pile


def words(answer):
    html = answer.content.decode()
    html = html[html.find("<main") :]
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)))


def found(**told):
    return {
        "condition": "sound",
        "last_checked": "2027-10-14",
        "checked_by": "hand 1",
        "use": "yes",
        "note": "",
    } | told


class TestPage:
    def test_what_it_touches_is_told_before(self, client, cast, pile):
        client.force_login(cast.hand)
        told = words(client.get(f"/fastenings/{pile.pk}/"))
        assert "Pile B1/P3" in told and "B1 P3" in told and "B2 P9 , shared pile" in told
        assert "out of date, in all berths that share it: Tin Whistle at B1 , Quiet Ladle at B2" in told
        assert "Strength, kN" not in told, "a hand is not asked what it bears"

    def test_a_hand_puts_it_out_of_use_and_both_tie_ups_are_out_of_date(self, client, cast, pile):
        client.force_login(cast.hand)
        url = f"/fastenings/{pile.pk}/"
        answer = client.post(url, found(use="no", note="split above the water"), follow=True)
        told = words(answer)
        assert "Out of date now: 2 tie-ups." in told and "out of use : split above the water" in told
        pile.refresh_from_db()
        assert not pile.in_use
        assert TieUp.objects.filter(stale=True, stale_why__contains="fastening B1/P3").count() == 2

    def test_a_note_alone_touches_no_tie_up(self, client, cast, pile):
        client.force_login(cast.hand)
        same = found(last_checked=pile.last_checked.isoformat(), note="weed on it")
        told = words(client.post(f"/fastenings/{pile.pk}/", same, follow=True))
        assert "No tie-up rests on what changed" in told
        assert not TieUp.objects.filter(stale=True).exists()

    def test_out_of_use_without_a_reason_is_refused_and_what_was_typed_stays(self, client, cast, pile):
        client.force_login(cast.hand)
        answer = client.post(f"/fastenings/{pile.pk}/", found(use="no", condition="worn"))
        assert answer.status_code == 422
        assert "Out of use: say why." in words(answer)
        assert re.search(r'<option value="worn" selected', answer.content.decode())
        pile.refresh_from_db()
        assert pile.in_use and pile.condition == "sound"

    def test_a_day_to_come_is_refused(self, client, cast, pile):
        client.force_login(cast.hand)
        answer = client.post(f"/fastenings/{pile.pk}/", found(last_checked="2027-10-15"))
        assert "still to come" in words(answer)

    def test_the_office_records_what_it_bears(self, client, cast, pile):
        client.force_login(cast.harbourmaster)
        more = {
            "strength_kn": "12.5",
            "strength_basis": "pull test (invented)",
            "takes": "3",
            "top_z": "4.6",
            "stop": "",
        }
        answer = client.post(f"/fastenings/{pile.pk}/", found(**more))
        assert answer.status_code == 302, words(answer)
        pile.refresh_from_db()
        assert (pile.strength, pile.takes, pile.stop) == (12_500, 3, "")

    def test_a_hand_cannot_change_what_it_bears_nor_move_it(self, client, cast, pile):
        client.force_login(cast.hand)
        client.post(f"/fastenings/{pile.pk}/", found(strength_kn="900", east="1"))
        pile.refresh_from_db()
        assert pile.strength == 25_000
        for field in ({"strength": 1}, {"east": 1}):
            with pytest.raises(ValidationError, match="Only the harbour office"):
                services.record_fastening(fastening=pile, by=cast.hand, **field)
        assert client.get("/berths/B1/survey/").status_code == 403

    def test_the_same_questions_however_many_share_it(
        self, client, cast, pile, django_assert_max_num_queries
    ):
        for _ in range(4):
            berth = make_berth(kind="slip")
            BerthFastening.objects.create(berth=berth, fastening=pile, code="S1")
            make_tie_up(stay=make_stay(berth=berth))
        client.force_login(cast.hand)
        with django_assert_max_num_queries(9):
            client.get(f"/fastenings/{pile.pk}/")


class TestRulesInTheDatabase:
    """Through `update` and `bulk_create`, past every form and every `clean`."""

    def refused(self, write):
        with pytest.raises(IntegrityError), transaction.atomic():
            write()

    def test_out_of_use_says_why(self, pile):
        rows = Fastening.objects.filter(pk=pile.pk)
        self.refused(lambda: rows.update(in_use=False))
        assert rows.update(in_use=False, note="split") == 1

    def test_a_code_once_whatever_letters(self, pile):
        self.refused(lambda: Berth.objects.filter(code="B2").update(code="b1"))

    @pytest.mark.parametrize("code", ["", "B/7"])
    def test_a_code_stands_in_addresses(self, pile, code):
        self.refused(lambda: Berth.objects.filter(code="B2").update(code=code))

    def test_a_pier_once_whatever_letters(self, db):
        make_pier(name="Gull Pier"), make_pier(name="Heron Pier")
        self.refused(lambda: Pier.objects.filter(name="Heron Pier").update(name="gull pier"))
