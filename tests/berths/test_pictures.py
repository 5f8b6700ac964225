"""Photographs: looked at for what they are, without the place the camera noted, and shown to nobody else."""

from io import BytesIO
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from berths.models import Picture
from berths.pictures import LARGEST_FILE, as_kept
from tests.cast import NOON, make_berth, make_stay, make_vessel
from vessels.models import Owner

GPS = 0x8825  # where a camera notes its place: Exif 2.3, tag GPSInfo


def photograph(kind="JPEG", size=(2400, 1200), turned=None):
    exif = Image.Exif()
    exif.get_ifd(GPS)[2] = (54.0, 30.0, 0.0)
    exif[0x010F] = "A maker"
    if turned:
        exif[0x0112] = turned
    out = BytesIO()
    Image.new("RGB", size, (90, 120, 150)).save(out, kind, exif=exif)
    return SimpleUploadedFile("IMG_1.jpg", out.getvalue())


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_place_and_the_maker_are_gone_and_it_is_small(kind):
    sent = photograph(kind)
    assert Image.open(sent).getexif().get_ifd(GPS)
    sent.seek(0)
    kept = Image.open(BytesIO(as_kept(sent)))
    assert (kept.format, kept.size) == ("JPEG", (1600, 800))
    assert not kept.getexif() and "exif" not in kept.info


def test_it_stands_upright():
    assert Image.open(BytesIO(as_kept(photograph(turned=6)))).size == (800, 1600)


@pytest.mark.parametrize(
    "data", [b"", b"%PDF-1.7", b"GIF89a", b"\xff\xd8\xff\xe0broken", b"<svg onload='x'/>"]
)
def test_what_is_no_photograph_is_refused(data):
    with pytest.raises(ValidationError, match="no photograph"):
        as_kept(ContentFile(data, name="photo.jpg"))


def test_too_large_a_file_is_told_with_its_size():
    with pytest.raises(ValidationError, match=r"16 MB; at most 15 MB"):
        as_kept(ContentFile(b"\0" * (LARGEST_FILE + 1024**2), name="photo.jpg"))


@pytest.fixture
def stay(clock_at, cast):
    clock_at(NOON)
    cast.holder, cast.stranger  # noqa: B018 (they exist)
    owner = Owner.objects.get(user=cast.holder)
    return make_stay(vessel=make_vessel(owner=owner), berth=make_berth(kind="floating"))


def test_staff_and_her_owner_send_and_see_them_and_no_stranger(client, cast, stay):
    for person in (cast.hand, cast.holder):
        client.force_login(person)
        client.post(f"/stays/{stay.pk}/pictures/", {"picture": photograph(), "words": "stern line"})
    assert Picture.objects.count() == 2
    picture = Picture.objects.first()
    shown = client.get(f"/pictures/{picture.pk}/")
    assert shown["Content-Type"] == "image/jpeg" and Image.open(BytesIO(shown.content)).format == "JPEG"
    assert f'src="/pictures/{picture.pk}/"' in client.get(f"/stays/{stay.pk}/").content.decode()
    client.force_login(cast.stranger)
    assert client.get(f"/pictures/{picture.pk}/").status_code == 404
    assert client.post(f"/stays/{stay.pk}/pictures/", {"picture": photograph()}).status_code == 404


def test_one_that_cannot_be_read_is_told_and_nothing_is_kept(client, cast, stay):
    client.force_login(cast.hand)
    answer = client.post(
        f"/stays/{stay.pk}/pictures/", {"picture": ContentFile(b"x", name="a.jpg")}, follow=True
    )
    assert "Not kept: That is no photograph" in answer.content.decode()
    assert not Picture.objects.exists()


def test_one_goes_with_the_deed_of_making_fast(client, cast, stay):
    client.force_login(cast.hand)
    told = {
        "client_id": str(uuid4()), "at": "2027-10-14T12:00", "more1-description": "blue, 14 mm", "reason": "by radio",
    }  # fmt: skip
    page = f"/stays/{stay.pk}/made-fast/"
    refused = client.post(page, told | {"picture": ContentFile(b"x", name="a.jpg")})
    assert refused.status_code == 422 and "no photograph" in refused.content.decode()
    assert client.post(page, told | {"picture": photograph()}).status_code == 302
    picture = Picture.objects.get()
    assert (picture.stay, picture.made_fast) == (stay, stay.made_fast.get())
