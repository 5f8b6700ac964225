"""A survey that cannot be kept: every fault at its field, nothing typed is lost, nothing half kept."""

from html import unescape

import pytest

from berths.models import Berth, Fastening
from tests.berths.typed import begun, keep, row_of, typed, words
from tests.cast import NOON, fix_clock, make_berth, make_pier, make_water

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client, cast):
    fix_clock(NOON)
    client.force_login(cast.harbourmaster)
    return client


@pytest.fixture
def harbour(office):
    return {"pier": make_pier(name="Gull Pier").pk, "water": make_water(name="sea").pk}


class TestFaults:
    """Each fault at its field, all at once, and nothing typed is lost."""

    SPOILT = [
        ("", "code", "", "not given yet"),
        ("", "code", "B/1", "No / in a berth's code"),
        ("", "length", "0", "must be above 0"),
        ("", "length", "600", "at most 500 m"),
        ("", "clear_width", "wide", "is no length"),
        ("", "bed_z", "-200", "Level of the bed must be at least -100"),
        ("", "sounded_on", "2027-10-15", "still to come"),
        ("", "outward", "400", "less than or equal to 360"),
        ("", "ladders_at", "about 7", "write from and to"),
        ("", "power_along", "3", "both along the dock and out"),
        ("P3", "along", "", "How far along"),
        ("P3", "out", "700", "500 m or more"),
        ("P3", "code", "P4", "Two rows of this berth have this name"),
        ("P3", "code", "", "Give it a name"),
        ("P3", "kind", "", "Say what it is"),
        ("P3", "strength_kn", "much", "Enter a number"),
        ("P3", "last_checked", "2028-01-01", "still to come"),
        ("P3", "high_turn_z", "5", "top of the pile must not be below"),
        ("P3", "takes", "50", "Lines it takes must be at least 0"),
        ("P3", "in_use", None, "say why"),
        ("P3", "same_as", "Q9/P9", "no fastening named Q9/P9"),
    ]

    ELSEWHERE = {"high_turn_z": "top_z", "in_use": "note", "power_along": "power_out"}

    @pytest.mark.parametrize(("row", "field", "value", "told"), SPOILT)
    def test_one(self, office, harbour, row, field, value, told):
        form = begun(office, harbour)
        prefix = f"f-{row_of(form, row)}-" if row else ""
        if (field, value) == ("code", "P4"):
            at_field = f"f-{row_of(form, 'P4')}-code"  # the second of the two
        else:
            at_field = prefix + self.ELSEWHERE.get(field, field)
        name = prefix + field
        form[name] = value
        if value is None:
            del form[name]
        answer = keep(office, form)
        html = unescape(answer.content.decode())
        assert answer.status_code == 422 and told in words(answer), words(answer)
        at = html.index(told, html.index('id="sheet"'))
        beside = html[html.rindex('<div class="field', 0, at) : at]
        assert f'name="{at_field}"' in beside
        assert typed(answer) == form
        assert not Berth.objects.exists() and not Fastening.objects.exists()

    def test_all_are_named_at_once_with_a_way_to_each(self, office, harbour):
        form = begun(office, harbour)
        n = row_of(form, "P3")
        form |= {"length": "", "bed_z": "deep", f"f-{n}-out": "", "e-0-along2": "0"}
        told = words(keep(office, form))
        head = told[told.index("Nothing was kept") : told.index("The berth Code")]
        for place in (
            "Length of the berth",
            "Level of the bed",
            "Fastening P3, Out from the dock",
            "Face dock, To",
        ):
            assert place in head

    def test_faces_have_faults_of_their_own(self, office, harbour):
        form = begun(office, harbour)
        told = words(keep(office, form | {"e-0-along2": "0", "e-0-out2": "0", "e-0-underside_z": "5"}))
        assert "Both ends of the face are at the same place." in told
        assert "The underside of a face must be below its top." in told

    def test_a_code_that_is_taken_is_refused_whatever_letters(self, office, harbour):
        form = begun(office, harbour)
        make_berth(code="b1", fitted=False)
        assert "There is a berth b1 already." in words(keep(office, form))

    def test_so_is_one_that_was_taken_while_somebody_typed(self, office, harbour, monkeypatch):
        form = begun(office, harbour)
        make_berth(code="b1", fitted=False)
        monkeypatch.setattr("berths.surveyforms.BerthForm.clean_code", lambda self: self.cleaned_data["code"])
        monkeypatch.setattr("django.db.models.Model.validate_constraints", lambda *a, **k: None)
        answer = keep(office, form)
        assert answer.status_code == 422 and "There is a berth of that code already." in words(answer)
        assert not Fastening.objects.filter(label__startswith="B1/").exists(), "nothing half kept"
