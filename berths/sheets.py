"""The survey as spreadsheets: berths, fastenings, and what each berth calls its fastenings."""

from django.core.exceptions import ValidationError

from berths.models import Berth, BerthFastening, Face, Fastening, Pier, Water
from marina.base.sheets import Sheet, reference


class PierSheet(Sheet):
    class Meta(Sheet.Meta):
        model = Pier
        import_id_fields = ("name",)
        exclude = ("id",)


class BerthSheet(Sheet):
    """A column `datum`, where there is one, must name the datum of the berth's water: heights from another
    zero are refused, not shifted by guess."""

    pier = reference("pier", Pier, "name", "pier")
    water = reference("water", Water, "name", "water")

    class Meta(Sheet.Meta):
        model = Berth
        import_id_fields = ("code",)
        exclude = ("id",)

    def before_import_row(self, row, **kwargs):
        datum = str(row.get("datum") or "").strip()
        water = Water.objects.filter(name=str(row.get("water") or "").strip()).first()
        if datum and water and datum != water.datum:
            raise ValidationError(
                f"heights are given above '{datum}', but {water} counts from '{water.datum or 'not known'}'; "
                "convert the sheet first"
            )


class FasteningSheet(Sheet):
    class Meta(Sheet.Meta):
        model = Fastening
        import_id_fields = ("label",)
        exclude = ("id",)


class FaceSheet(Sheet):
    class Meta(Sheet.Meta):
        model = Face
        import_id_fields = ("label",)
        exclude = ("id",)


class BerthFasteningSheet(Sheet):
    berth = reference("berth", Berth, "code", "berth")
    fastening = reference("fastening", Fastening, "label", "fastening")

    class Meta(Sheet.Meta):
        model = BerthFastening
        import_id_fields = ("berth", "code")
        exclude = ("id",)
