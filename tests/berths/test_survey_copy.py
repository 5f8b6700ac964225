"""A surveyed berth repeated along the pier: shared piles are one, what was not found out is not known."""

import re
from decimal import Decimal
from html import unescape

import pytest
from django.core.exceptions import ValidationError

from berths.models import Berth, BerthFastening, Fastening
from berths.services import survey as services
from berths.surveycopy import codes_from, copies
from tests.cast import NOON, fix_clock, make_berth

pytestmark = pytest.mark.django_db
# The cast's slip has its piles at y +-2.3 m, so at a pitch of 4.6 m the next one shares two of the four.
PITCH = Decimal("4.6")


@pytest.fixture
def slip(cast):
    fix_clock(NOON)
    return make_berth(kind="slip", code="B1")


def made(berth, **told):
    given = {"number": 2, "pitch": PITCH, "side": "right", "first": "B2"}
    return copies(berth, **given | told)


def words(answer):
    html = answer.content.decode()
    html = html[html.find("<main") :]
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)))


class TestCopies:
    def test_shared_piles_are_one_row(self, cast, slip):
        services.keep_all(surveys=made(slip).surveys, by=cast.harbourmaster)
        assert list(Berth.objects.order_by("walking_order").values_list("code", flat=True)) == [
            "B1",
            "B2",
            "B3",
        ]
        # Four piles and two cleats, then twice two piles and two cleats more.
        assert Fastening.objects.count() == 6 + 4 + 4
        for berth in Berth.objects.all():
            assert berth.fastenings.count() == 6
        shared = BerthFastening.objects.get(berth__code="B1", code="P2").fastening
        assert set(shared.berths.values_list("berth__code", "code")) == {("B1", "P2"), ("B2", "P1")}
        between = BerthFastening.objects.get(berth__code="B2", code="P4").fastening
        assert set(between.berths.values_list("berth__code", flat=True)) == {"B2", "B3"}
        assert between.label == "B2/P4"

    def test_every_berth_lies_a_pitch_on(self, cast, slip):
        right = made(slip).surveys
        assert [(s.berth.east, s.berth.north) for s in right] == [
            (slip.east, slip.north - PITCH),
            (slip.east, slip.north - 2 * PITCH),
        ]
        left = made(slip, side="left").surveys
        assert left[0].berth.north == slip.north + PITCH

    def test_what_must_be_found_out_at_each_place_is_not_known_there(self, cast, slip):
        services.keep_all(surveys=made(slip).surveys, by=cast.harbourmaster)
        new = Berth.objects.get(code="B3")
        assert (new.bed_z, new.bed_kind, new.sounded_on, new.sounded_by) == (None, "", None, "")
        cleat = new.fastenings.get(code="D1").fastening
        assert (cleat.strength, cleat.strength_basis, cleat.condition, cleat.last_checked) == (
            None,
            "",
            "",
            None,
        )
        assert (cleat.z, new.length) == (Decimal("3.7"), slip.length)

    def test_it_is_taken_over_where_somebody_says_it_is_the_same(self, cast, slip):
        same = made(slip, same_bed=True, same_strength=True).surveys
        services.keep_all(surveys=same, by=cast.harbourmaster)
        new = Berth.objects.get(code="B3")
        assert (new.bed_z, new.sounded_by) == (-3, "hand 1")
        assert new.fastenings.get(code="D1").fastening.strength == 25_000

    def test_nothing_is_kept_where_one_of_them_cannot_be(self, cast, slip):
        whole = made(slip)
        whole.surveys[1].berth.length = Decimal(-1)
        with pytest.raises(ValidationError, match="Length must be above 0"):
            services.keep_all(surveys=whole.surveys, by=cast.harbourmaster)
        assert (Berth.objects.count(), Fastening.objects.count()) == (1, 6)

    def test_a_long_face_is_shared_and_a_short_one_repeated(self, cast):
        quay = make_berth(kind="quay", code="Q1")
        face = quay.faces.get().face
        face.east2 = face.east1 + 24
        face.save()
        one, two = made(quay, pitch=Decimal(12), first="Q2").surveys
        assert one.faces[0].thing == face
        assert two.faces[0].thing.pk is None
        assert two.faces[0].thing.east1 == face.east1 + 24

    def test_something_oddly_near_is_named(self, cast, slip):
        close = made(slip, pitch=Decimal("5.2"), number=1).close
        assert "P1 of B2 would stand 0.60 m from B1/P2." in close
        assert made(slip, number=1).close == []

    def test_where_a_berth_lies_already_is_named(self, slip):
        make_berth(kind="slip", code="Z9", east=slip.east, north=slip.north - PITCH, fitted=False)
        assert "B2 would lie on Z9." in made(slip, number=1).close

    def test_codes_are_counted_up_or_refused(self, slip):
        assert codes_from("B09", 3) == ["B09", "B10", "B11"]
        with pytest.raises(ValidationError, match="ends in no number"):
            codes_from("East", 2)
        make_berth(code="b3", fitted=False)
        with pytest.raises(ValidationError, match="of that code already: b3"):
            made(slip)


class TestPage:
    def test_shown_before_it_is_kept(self, client, cast, slip):
        client.force_login(cast.harbourmaster)
        url = "/berths/B1/copy/"
        assert 'value="B2"' in client.get(url).content.decode()
        asked = {"number": "2", "pitch": "4.6", "side": "right", "first": "B2"}
        answer = client.get(url, asked)
        told = words(answer)
        assert answer.status_code == 200 and "<svg" in answer.content.decode()
        assert "2 berths: B2 , B3 . 8 new fastenings, 4 shared." in told
        assert Berth.objects.count() == 1, "shown, not kept"
        assert client.post(url, asked).status_code == 302
        assert Berth.objects.count() == 3

    def test_a_fault_stands_at_its_field_and_nothing_typed_is_lost(self, client, cast, slip):
        client.force_login(cast.harbourmaster)
        answer = client.get(
            "/berths/B1/copy/", {"number": "2", "pitch": "wide", "side": "right", "first": "B1"}
        )
        assert answer.status_code == 422
        told = words(answer)
        assert "'wide' is no length" in told
        assert 'value="wide"' in answer.content.decode()

    def test_a_fixed_number_of_questions(self, client, cast, slip, django_assert_max_num_queries):
        client.force_login(cast.harbourmaster)
        asked = {"number": "20", "pitch": "4.6", "side": "right", "first": "B2"}
        with django_assert_max_num_queries(14):
            assert client.get("/berths/B1/copy/", asked).status_code == 200
