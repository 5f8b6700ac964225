"""A photograph as it is kept: looked at for what it is, made smaller, and without what the camera noted."""

from io import BytesIO

from django.core.exceptions import ValidationError
from PIL import Image, ImageOps, UnidentifiedImageError

KINDS = ("JPEG", "PNG", "WEBP")
LARGEST_FILE = 15 * 1024 * 1024  # bytes: what a phone's camera makes at its best
MOST_DOTS = 60_000_000  # a file of some kilobytes can unpack to more than a machine has
LONG_SIDE = 1600  # dots: a cleat and its turns can be made out, and sixty of them fit a phone's day
QUALITY = 80


def as_kept(upload):
    """The bytes that are kept of an uploaded photograph.

    Parameters
    ----------
    upload : django.core.files.File
        As it came; its name and stated type are not believed.

    Returns
    -------
    bytes
        A JPEG, upright, at most 1600 dots long, without position, time or maker.

    Raises
    ------
    ValidationError
        If it is too large, or no photograph.
    """
    if upload.size > LARGEST_FILE:
        raise ValidationError(
            f"The picture has {upload.size / 1024**2:.0f} MB; at most {LARGEST_FILE // 1024**2} MB are taken. "
            "Send a smaller one."
        )
    try:
        with Image.open(upload, formats=KINDS) as picture:
            if picture.width * picture.height > MOST_DOTS:
                raise ValidationError("The picture has too many dots; send a smaller one.")
            upright = ImageOps.exif_transpose(picture).convert("RGB")
    except (UnidentifiedImageError, OSError, SyntaxError, Image.DecompressionBombError) as fault:
        raise ValidationError("That is no photograph; JPEG, PNG and WebP are taken.") from fault
    upright.thumbnail((LONG_SIDE, LONG_SIDE))
    plain = Image.new("RGB", upright.size)
    plain.paste(upright)  # only the dots go over, nothing that hung on the file
    kept = BytesIO()
    plain.save(kept, "JPEG", quality=QUALITY, optimize=True)
    return kept.getvalue()
