"""No two rows of a group overlap: the form's answer and the database's are the same on both engines."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, migrations, models, transaction
from django.db.models import F

from berths.models import Stay
from marina.base.constraints import NoOverlap
from tests.cast import NOON, days, make_berth, make_stay, make_vessel
from tests.marina.tables import Table, create

# The stay that is there lasts from day 2 to day 6. Allen's relations of two intervals, and open ends.
PAIRS = [
    ("before", 0, 1, False),
    ("meets: she leaves as the other comes", 0, 2, False),
    ("overlaps its start", 1, 3, True),
    ("starts with it", 2, 3, True),
    ("during", 3, 5, True),
    ("equal", 2, 6, True),
    ("contains it", 1, 7, True),
    ("overlaps its end", 5, 7, True),
    ("met by", 6, 8, False),
    ("after", 7, 8, False),
    ("open from before", 1, None, True),
    ("open from its end", 6, None, False),
]


def refused(deed):
    """Whether the database refuses; the transaction of the test goes on."""
    try:
        with transaction.atomic():
            deed()
    except IntegrityError as error:
        return str(error)
    return ""


@pytest.mark.django_db
@pytest.mark.parametrize(("arrive", "depart", "clash"), [p[1:] for p in PAIRS], ids=[p[0] for p in PAIRS])
def test_form_and_database_agree(arrive, depart, clash):
    there = make_stay(arrive=NOON + days(2), depart=NOON + days(6))
    new = Stay(
        vessel=make_vessel(),
        berth=there.berth,
        arrive=NOON + days(arrive),
        depart=None if depart is None else NOON + days(depart),
    )
    if clash:
        with pytest.raises(ValidationError, match="This berth is taken then"):
            new.full_clean()
    else:
        new.full_clean()
    assert bool(refused(new.save)) is clash


@pytest.mark.django_db
def test_an_open_stay_blocks_all_that_comes_later():
    there = make_stay(depart=None)
    assert "stay_no_overlap" in refused(
        lambda: make_stay(berth=there.berth, arrive=NOON + days(400), depart=None)
    )


@pytest.mark.django_db
def test_a_microsecond_is_an_overlap():
    there = make_stay()
    late = there.depart - timedelta(microseconds=1)
    assert refused(lambda: make_stay(berth=there.berth, arrive=late, depart=late + days(1)))
    assert not refused(lambda: make_stay(berth=there.berth, arrive=there.depart, depart=late + days(1)))


@pytest.mark.django_db
def test_bulk_create_and_update_meet_the_rule():
    berth, first = make_berth(), make_stay()
    pair = [Stay(vessel=make_vessel(), berth=berth, arrive=NOON, depart=NOON + days(n)) for n in (1, 2)]
    assert "stay_no_overlap" in refused(lambda: Stay.objects.bulk_create(pair))
    second = make_stay(berth=berth)
    assert "stay_no_overlap" in refused(lambda: Stay.objects.filter(pk=second.pk).update(berth=first.berth))
    later = make_stay(berth=berth, arrive=second.depart, depart=None)
    earlier = {"arrive": F("arrive") - timedelta(minutes=1)}
    assert "stay_no_overlap" in refused(lambda: Stay.objects.filter(pk=later.pk).update(**earlier))


@pytest.mark.django_db
def test_a_cancelled_stay_frees_the_berth_and_cannot_come_back():
    there = make_stay()
    Stay.objects.filter(pk=there.pk).update(state="cancelled")
    make_stay(berth=there.berth)
    assert "stay_no_overlap" in refused(lambda: Stay.objects.filter(pk=there.pk).update(state="booked"))
    there.state = "booked"
    with pytest.raises(ValidationError, match="taken"):
        there.full_clean()


@pytest.mark.django_db
def test_each_place_of_a_raft_is_its_own():
    berth = make_berth(raft_depth=2)
    make_stay(berth=berth)
    make_stay(berth=berth, raft_place=1)
    assert refused(lambda: make_stay(berth=berth, raft_place=1))


@pytest.mark.django_db
def test_a_boat_is_in_one_berth_but_may_stop_at_another():
    there = make_stay()
    assert "stay_one_berth_at_a_time" in refused(lambda: make_stay(vessel=there.vessel))
    make_stay(vessel=there.vessel, purpose="short_stop", short_until=NOON + timedelta(hours=1))


@pytest.mark.django_db
def test_a_form_that_leaves_out_the_state_still_checks():
    """The condition names `state`; a form without that field once ended in an error instead of an answer."""
    there = make_stay()
    new = Stay(vessel=make_vessel(), berth=there.berth, arrive=there.arrive, depart=there.depart)
    with pytest.raises(ValidationError, match="taken"):
        new.full_clean(exclude=["state"])


# --- the rule survives changes of the table ---

RULE = NoOverlap(
    name="slot_rule", group=("place",), start="starts", end="ends", condition=~models.Q(gone=True)
)


@pytest.fixture
def table(transactional_db):
    table = Table()
    yield table
    table.drop()


ALTERATIONS = {
    "nothing": [],
    "add a field": [migrations.AddField("slot", "note", models.CharField(max_length=9, default=""))],
    "add a field without default": [migrations.AddField("slot", "note", models.IntegerField(null=True))],
    "alter a field": [migrations.AlterField("slot", "place", models.BigIntegerField(db_index=True))],
    "add an index": [migrations.AddIndex("slot", models.Index(fields=["place"], name="slot_place"))],
    "rename the table": [migrations.AlterModelTable("slot", "trial_other_name")],
    "take the rule away and put it back": [
        migrations.RemoveConstraint("slot", "slot_rule"),
        migrations.AddConstraint("slot", RULE),
    ],
}


@pytest.mark.parametrize("operations", ALTERATIONS.values(), ids=ALTERATIONS)
def test_the_rule_survives(table, operations):
    table.change(create(RULE), *operations)
    table.rows.create(place=1, starts=NOON, ends=NOON + days(2))
    table.rows.create(place=1, starts=NOON, ends=NOON + days(2), gone=True)
    table.rows.create(place=2, starts=NOON, ends=NOON + days(2))
    clash = {"place": 1, "starts": NOON + days(1), "ends": None}
    assert "slot_rule" in refused(lambda: table.rows.create(**clash))
    assert "slot_rule" in refused(lambda: table.rows.filter(place=2).update(place=1))


def test_the_rule_survives_a_new_name_of_the_model(table):
    table.change(create(RULE), migrations.RenameModel("Slot", "Place"))
    table.name = "Place"
    table.rows.create(place=1, starts=NOON, ends=None)
    assert "slot_rule" in refused(lambda: table.rows.create(place=1, starts=NOON + days(1), ends=None))


def test_a_column_the_rule_names_gets_a_new_name(table):
    renamed = NoOverlap(
        name="slot_rule", group=("place",), start="starts", end="ends", condition=~models.Q(cancelled=True)
    )
    table.change(
        create(RULE),
        migrations.RemoveConstraint("slot", "slot_rule"),
        migrations.RenameField("slot", "gone", "cancelled"),
        migrations.AddConstraint("slot", renamed),
    )
    table.rows.create(place=1, starts=NOON, ends=None, cancelled=True)
    table.rows.create(place=1, starts=NOON, ends=None)
    assert "slot_rule" in refused(lambda: table.rows.filter(cancelled=True).update(cancelled=False))


def test_a_rule_taken_away_is_gone(table):
    table.change(create(RULE), migrations.RemoveConstraint("slot", "slot_rule"))
    for _ in range(2):
        table.rows.create(place=1, starts=NOON, ends=None)


def test_a_rule_is_not_laid_over_rows_that_break_it(table):
    table.change(create())
    for _ in range(2):
        table.rows.create(place=1, starts=NOON, ends=None)
    with pytest.raises(IntegrityError):
        table.change(migrations.AddConstraint("slot", RULE))


def test_whole_days_are_ranges_of_dates(table):
    dated = [
        migrations.RemoveConstraint("slot", "slot_rule"),
        migrations.RemoveField("slot", "starts"),
        migrations.RemoveField("slot", "ends"),
        migrations.AddField("slot", "starts", models.DateField(default=NOON.date())),
        migrations.AddField("slot", "ends", models.DateField(null=True)),
        migrations.AddConstraint("slot", RULE),
    ]
    table.change(create(RULE), *dated)
    today = NOON.date()
    table.rows.create(place=1, starts=today, ends=today + days(1))
    table.rows.create(place=1, starts=today + days(1), ends=None)
    assert "slot_rule" in refused(lambda: table.rows.create(place=1, starts=today, ends=today + days(1)))
