"""Invented files of other programs: waypoints, a photo that says where it was taken, a table of trees."""

from PIL import Image
from PIL.TiffImagePlugin import IFDRational

LAT, LON = 48.1, 9.2


def file(folder, name, text, encoding="utf-8"):
    path = folder / name
    path.write_bytes(text.encode(encoding))
    return path


def gpx(folder, *points, more=""):
    marks = "".join(f'<wpt lat="{lat}" lon="{lon}"><name>{name}</name></wpt>' for lat, lon, name in points)
    return file(folder, "points.gpx", '<?xml version="1.0" encoding="UTF-8"?><gpx version="1.1" '
                f'xmlns="http://www.topografix.com/GPX/1/1">{marks}{more}</gpx>')  # fmt: skip


def photo(folder, name, lat=LAT, lon=LON, letters="NE", looks=None, error=None, taken=None):
    """A picture of one colour that says where it was taken."""
    picture = Image.new("RGB", (8, 8))
    exif = picture.getexif()
    place = exif.get_ifd(0x8825)

    def dms(value):
        whole, rest = divmod(abs(value) * 3600, 3600)
        minutes, seconds = divmod(rest, 60)
        return IFDRational(int(whole)), IFDRational(int(minutes)), IFDRational(round(seconds * 1e5), 100_000)

    if lat is not None:
        place.update({1: letters[0], 2: dms(lat), 3: letters[1], 4: dms(lon)})
    if looks is not None:
        place.update({16: "M", 17: IFDRational(round(looks * 10), 10)})
    if error is not None:
        place[31] = IFDRational(round(error * 10), 10)
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken
    picture.save(folder / name, exif=exif)
    return folder / name


TABLE = "Nr;Baumart;Stammumfang (cm);Höhe (m);lat;lon;Bemerkung\n" + "\n".join(
    f"{i};{kind};{girth};{18 + i},5;48,10{i};9,2;{note}" for i, (kind, girth, note) in enumerate([
        ("Tilia cordata", "142,5", "gesund"), ('Linde "Greenspire"', "99", "x" * 200), ("nonsense", "80", ""),
        ("Tilia cordata", "1500000", "")], 1))  # fmt: skip
