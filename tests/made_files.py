"""Invented files of other programs: waypoints, a photo that says where it was taken, a table of trees."""

import zipfile

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


def codes(found):
    """Codes of what is told, those within a file's remark too."""
    return [inner.code for one in found.told for inner in (one, *dict(one.values).get("says", ()),
                                                           *dict(one.values).get("why", ()))]  # fmt: skip


def why_not(found):
    return {dict(one.values).get("line", dict(one.values)["file"]): [why.code for why in dict(one.values)["why"]]
            for one in found.told if one.code in ("fi-not-taken", "fi-photo-not-taken")}  # fmt: skip


TABLE = "Nr;Baumart;Stammumfang (cm);Höhe (m);lat;lon;Bemerkung\n" + "\n".join(
    f"{i};{kind};{girth};{18 + i},5;48,10{i};9,2;{note}" for i, (kind, girth, note) in enumerate([
        ("Tilia cordata", "142,5", "gesund"), ('Linde "Greenspire"', "99", "x" * 200), ("nonsense", "80", ""),
        ("Tilia cordata", "1500000", "")], 1))  # fmt: skip


def workbook(path, sheets, hidden=()):
    """An XLSX with what pyogrio does not write: titles, blank rows, hidden sheets (form: memory)."""
    office = "http://schemas.openxmlformats.org/"
    main, within = f"{office}spreadsheetml/2006/main", f"{office}officeDocument/2006/relationships"
    form = "application/vnd.openxmlformats-officedocument.spreadsheetml."
    parts = {f"/xl/s{i}.xml": f"{form}worksheet+xml" for i in range(len(sheets))}
    types = "".join(f'<Override PartName="{part}" ContentType="{kind}"/>'
                    for part, kind in {"/xl/workbook.xml": f"{form}sheet.main+xml", **parts}.items())  # fmt: skip
    listed = "".join(f'<sheet name="{title}" sheetId="{i + 1}" r:id="r{i}"'
                     + (' state="hidden"/>' if title in hidden else "/>") for i, title in enumerate(sheets))
    files = {
        "[Content_Types].xml": f'<Types xmlns="{office}package/2006/content-types"><Default Extension="rels" '
                               f'ContentType="{form[:30]}-package.relationships+xml"/>{types}</Types>',
        "_rels/.rels": _leads(office, {"r": ("/xl/workbook.xml", f"{within}/officeDocument")}),
        "xl/workbook.xml": f'<workbook xmlns="{main}" xmlns:r="{within}"><sheets>{listed}</sheets></workbook>',
        "xl/_rels/workbook.xml.rels": _leads(office, {f"r{i}": (part, f"{within}/worksheet")
                                                      for i, part in enumerate(parts)}),
    }  # fmt: skip
    for part, rows in zip(parts, sheets.values()):
        text = "".join(f'<row r="{r}">{"".join(_cell(f"{chr(65 + c)}{r}", cell) for c, cell in enumerate(row))}</row>'
                       for r, row in enumerate(rows, 1))  # fmt: skip
        files[part[1:]] = f'<worksheet xmlns="{main}"><sheetData>{text}</sheetData></worksheet>'
    with zipfile.ZipFile(path, "w") as archive:
        for name, text in files.items():
            archive.writestr(name, text)
    return path


def _leads(office, parts):
    inner = "".join(f'<Relationship Id="{i}" Target="{to}" Type="{kind}"/>' for i, (to, kind) in parts.items())
    return f'<Relationships xmlns="{office}package/2006/relationships">{inner}</Relationships>'


def _cell(at, cell):
    if isinstance(cell, str):
        return f'<c r="{at}" t="inlineStr"><is><t>{cell}</t></is></c>'
    return f'<c r="{at}"><v>{cell}</v></c>'
